//! How far blends lie apart: by the room that each direction has among the blends that are allowed.

use nalgebra::{DMatrix, DVector, SymmetricEigen};

/// A direction with less than this part of the widest one's room is none: what is fixed cannot be varied.
const FLAT: f64 = 1e-9;

/// Blends whose shares vary by no more than this squared are one blend.
const NO_ROOM: f64 = 1e-12;

/// The space of the blends that are allowed, turned and stretched so that they vary alike in every direction.
#[derive(Clone, Debug, PartialEq)]
pub struct Space {
    /// The mean of the blends that are allowed.
    middle: DVector<f64>,
    /// What turns and stretches: a column a direction.
    axes: DMatrix<f64>,
    /// The variance of each direction, the widest last.
    variances: Vec<f64>,
    /// The blends that stand for all that are allowed.
    reference: Vec<Vec<f64>>,
}

impl Space {
    /// The space of the blends that stand for all that are allowed, fractions of one in the order of the components.
    /// None where they are one blend.
    #[must_use]
    pub fn of(reference: &[Vec<f64>]) -> Option<Space> {
        let components = reference.first()?.len();
        let count = reference.len() as f64;
        let blends = DMatrix::from_fn(components, reference.len(), |component, at| reference[at][component]);
        let middle = blends.column_sum() / count;
        let mut about = blends;
        about.column_iter_mut().for_each(|mut blend| blend -= &middle);
        let contrasts = contrasts(components);
        let eigen = SymmetricEigen::new(contrasts.transpose() * (&about * about.transpose() / count) * &contrasts);
        let widest = eigen.eigenvalues.iter().copied().fold(0.0, f64::max);
        if widest <= NO_ROOM {
            return None;
        }
        let mut order: Vec<usize> = (0..components - 1).filter(|&at| eigen.eigenvalues[at] > FLAT * widest).collect();
        order.sort_by(|&one, &other| eigen.eigenvalues[one].total_cmp(&eigen.eigenvalues[other]));
        let mut axes = DMatrix::zeros(components, order.len());
        for (to, &from) in order.iter().enumerate() {
            axes.set_column(to, &(&contrasts * eigen.eigenvectors.column(from) / eigen.eigenvalues[from].sqrt()));
        }
        let variances = order.iter().map(|&at| eigen.eigenvalues[at]).collect();
        let mut space = Space { middle, axes, variances, reference: Vec::new() };
        space.reference = reference.iter().map(|blend| space.at(blend)).collect();
        Some(space)
    }

    /// Where a blend lies.
    #[must_use]
    pub fn at(&self, blend: &[f64]) -> Vec<f64> {
        (self.axes.transpose() * (DVector::from_column_slice(blend) - &self.middle)).iter().copied().collect()
    }

    /// The mean of the blends that are allowed.
    #[must_use]
    pub fn middle(&self) -> &[f64] {
        self.middle.as_slice()
    }

    /// Where the blends lie that stand for all.
    #[must_use]
    pub fn reference(&self) -> &[Vec<f64>] {
        &self.reference
    }

    /// The variance of the blends that are allowed, a direction each.
    #[must_use]
    pub fn variances(&self) -> &[f64] {
        &self.variances
    }
}

/// Directions in which the sum of all shares stays: orthonormal, each square to the blend of equal parts (Helmert 1876).
fn contrasts(components: usize) -> DMatrix<f64> {
    DMatrix::from_fn(components, components - 1, |row, column| {
        let after = (column + 1) as f64;
        match row.cmp(&(column + 1)) {
            std::cmp::Ordering::Less => 1.0 / (after * (after + 1.0)).sqrt(),
            std::cmp::Ordering::Equal => -after / (after * (after + 1.0)).sqrt(),
            std::cmp::Ordering::Greater => 0.0,
        }
    })
}

/// The square of the distance between two places.
#[must_use]
pub fn apart(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(one, other)| (one - other) * (one - other)).sum()
}
