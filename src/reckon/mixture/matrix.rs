//! Small symmetric matrices in plain loops.
//!
//! A library's product picks its instructions by the machine, and their roundings differ; here the same seed must choose the
//! same glasses everywhere.

/// A square matrix.
#[derive(Clone, Debug, PartialEq)]
pub struct Square {
    size: usize,
    rows: Vec<f64>,
}

/// What a pivot may shrink to, beside the term's own size, before the term counts as a sum of those before it.
const SINGULAR: f64 = 1e-11;

impl Square {
    /// Noughts.
    pub fn nought(size: usize) -> Square {
        Square { size, rows: vec![0.0; size * size] }
    }

    /// A value for each row and column.
    pub fn from_fn(size: usize, value: impl Fn(usize, usize) -> f64) -> Square {
        let rows = (0..size).flat_map(|row| (0..size).map(move |column| (row, column)));
        Square { size, rows: rows.map(|(row, column)| value(row, column)).collect() }
    }

    /// The sum of the products of vectors with themselves.
    pub fn of_products<'a>(size: usize, vectors: impl Iterator<Item = &'a [f64]>) -> Square {
        let mut sum = Square::nought(size);
        for vector in vectors {
            sum.add_product(1.0, vector, vector);
        }
        sum
    }

    /// Rows and columns.
    pub const fn size(&self) -> usize {
        self.size
    }

    /// A row.
    pub fn row(&self, row: usize) -> &[f64] {
        &self.rows[row * self.size..(row + 1) * self.size]
    }

    fn row_mut(&mut self, row: usize) -> &mut [f64] {
        &mut self.rows[row * self.size..(row + 1) * self.size]
    }

    /// Multiplies every element.
    pub fn scale(&mut self, by: f64) {
        for element in &mut self.rows {
            *element *= by;
        }
    }

    /// Adds a product of two vectors, so many times.
    pub fn add_product(&mut self, times: f64, one: &[f64], other: &[f64]) {
        for (row, factor) in one.iter().enumerate() {
            add_times(self.row_mut(row), times * factor, other);
        }
    }

    /// The product with a vector.
    pub fn times(&self, vector: &[f64]) -> Vec<f64> {
        (0..self.size).map(|row| dot(self.row(row), vector)).collect()
    }

    /// The product with another matrix of its size.
    pub fn product(&self, other: &Square) -> Square {
        let mut product = Square::nought(self.size);
        for row in 0..self.size {
            for (at, factor) in self.row(row).iter().enumerate() {
                add_times(product.row_mut(row), *factor, other.row(at));
            }
        }
        product
    }

    /// The sum of the products of the elements with those of another of its size.
    pub fn dot(&self, other: &Square) -> f64 {
        dot(&self.rows, &other.rows)
    }

    /// Cholesky's triangle L, with L L' this matrix, or how many of the terms are no sum of those before them where some are.
    pub fn triangle(&self) -> Result<Triangle, usize> {
        let mut lower = Square::nought(self.size);
        let mut rank = 0;
        for row in 0..self.size {
            for column in 0..row {
                let pivot = lower.row(column)[column];
                let rest = self.row(row)[column] - dot(&lower.row(row)[..column], &lower.row(column)[..column]);
                lower.row_mut(row)[column] = if pivot > 0.0 { rest / pivot } else { 0.0 };
            }
            let whole = self.row(row)[row];
            let rest = whole - dot(&lower.row(row)[..row], &lower.row(row)[..row]);
            if rest > SINGULAR * whole {
                lower.row_mut(row)[row] = rest.sqrt();
                rank += 1;
            }
        }
        if rank == self.size { Ok(Triangle(lower)) } else { Err(rank) }
    }
}

/// A triangle L of Cholesky's.
#[derive(Clone, Debug)]
pub struct Triangle(Square);

impl Triangle {
    /// Solves L x = b, in place.
    pub fn solve(&self, vector: &mut [f64]) {
        for row in 0..self.0.size {
            let (before, rest) = vector.split_at_mut(row);
            rest[0] = (rest[0] - dot(&self.0.row(row)[..row], before)) / self.0.row(row)[row];
        }
    }

    /// The inverse of L L'.
    pub fn inverse(&self) -> Square {
        let size = self.0.size;
        // The columns of L⁻¹, as rows.
        let columns: Vec<Vec<f64>> = (0..size)
            .map(|at| {
                let mut unit = vec![0.0; size];
                unit[at] = 1.0;
                self.solve(&mut unit);
                unit
            })
            .collect();
        Square::from_fn(size, |row, column| dot(&columns[row], &columns[column]))
    }

    /// L⁻¹ S L'⁻¹ of a symmetric matrix S.
    pub fn whitened(&self, matrix: &Square) -> Square {
        let half = |matrix: &Square| {
            let mut rows: Vec<Vec<f64>> = (0..matrix.size).map(|row| matrix.row(row).to_vec()).collect();
            for row in &mut rows {
                self.solve(row);
            }
            Square::from_fn(matrix.size, |row, column| rows[column][row])
        };
        half(&half(matrix))
    }

    /// The logarithm of the determinant of L L'. `libm` gives the same on every machine.
    pub fn log_determinant(&self) -> f64 {
        2.0 * (0..self.0.size).map(|at| libm::log(self.0.row(at)[at])).sum::<f64>()
    }
}

/// The sum of products.
pub fn dot(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(one, other)| one * other).sum()
}

/// Adds a vector, so many times.
pub fn add_times(sum: &mut [f64], times: f64, vector: &[f64]) {
    sum.iter_mut().zip(vector).for_each(|(sum, element)| *sum += times * element);
}
