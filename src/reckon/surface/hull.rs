//! The flat room in which the poured blends lie, with coordinates of its own.
//!
//! Shares sum to one, so that blends of q components lie in a room of q − 1 dimensions; of fewer where a component
//! stood at one share in all glasses, or two kept one proportion. Terms are built on coordinates that have no such
//! dependence and spread by one: that is what keeps a narrow region solvable.

use nalgebra::{DMatrix, DVector};

/// Blends that spread by less than this in a direction do not spread in it: a hundredth of a percent cannot be poured.
const SMALLEST_SPREAD: f64 = 1e-4;

/// The room.
#[derive(Clone, Debug, PartialEq)]
pub struct Hull {
    middle: DVector<f64>,
    axes: DMatrix<f64>,
    spreads: Vec<f64>,
}

impl Hull {
    /// The room of some blends, of which there is at least one.
    #[must_use]
    pub fn of(blends: &[Vec<f64>]) -> Hull {
        let components = blends.first().map_or(0, Vec::len);
        let points = DMatrix::from_fn(components, blends.len(), |row, column| blends[column][row]);
        let middle = points.column_mean();
        let mut away = points;
        away.column_iter_mut().for_each(|mut column| column -= &middle);
        let scatter = (&away * away.transpose() / blends.len() as f64).symmetric_eigen();
        let spread = |axis: usize| scatter.eigenvalues[axis].max(0.0).sqrt();
        let mut kept: Vec<usize> = (0..components).filter(|&axis| spread(axis) > SMALLEST_SPREAD).collect();
        kept.sort_by(|&one, &other| spread(other).total_cmp(&spread(one)));
        let axes = scatter.eigenvectors.select_columns(&kept);
        Hull { middle, axes, spreads: kept.into_iter().map(spread).collect() }
    }

    /// In how many directions the blends spread.
    #[must_use]
    pub fn dimensions(&self) -> usize {
        self.spreads.len()
    }

    /// Whether blends spread in every direction in which shares can.
    #[must_use]
    pub fn is_full(&self) -> bool {
        self.dimensions() + 1 == self.middle.len()
    }

    /// The coordinates of a blend; of the nearest point of the room where it lies outside.
    #[must_use]
    pub fn coordinates(&self, shares: &[f64]) -> Vec<f64> {
        let away = DVector::from_column_slice(shares) - &self.middle;
        let along = self.axes.tr_mul(&away);
        along.iter().zip(&self.spreads).map(|(along, spread)| along / spread).collect()
    }

    /// The coordinates of a blend; none where it lies outside the room, so that nothing can be said of it.
    #[must_use]
    pub fn coordinates_within(&self, shares: &[f64]) -> Option<Vec<f64>> {
        let coordinates = self.coordinates(shares);
        let nearest = self.shares(&coordinates);
        let within = nearest.iter().zip(shares).all(|(near, share)| (near - share).abs() <= SMALLEST_SPREAD);
        within.then_some(coordinates)
    }

    /// The shares at some coordinates.
    #[must_use]
    pub fn shares(&self, coordinates: &[f64]) -> Vec<f64> {
        let along = coordinates.iter().zip(&self.spreads).map(|(coordinate, spread)| coordinate * spread);
        let along = DVector::from_iterator(self.dimensions(), along);
        (&self.middle + &self.axes * along).iter().copied().collect()
    }

    /// A condition on shares, `coefficients · shares`, as one on coordinates: a slope and what it is at nought.
    #[must_use]
    pub fn condition(&self, coefficients: &[f64]) -> (Vec<f64>, f64) {
        let coefficients = DVector::from_column_slice(coefficients);
        let along = self.axes.tr_mul(&coefficients);
        let slope = along.iter().zip(&self.spreads).map(|(along, spread)| along * spread).collect();
        (slope, coefficients.dot(&self.middle))
    }

    /// The components whose share was the same in all blends, with that share.
    #[must_use]
    pub fn held(&self) -> Vec<(usize, f64)> {
        let moves = |component: usize| {
            self.axes
                .row(component)
                .iter()
                .zip(&self.spreads)
                .any(|(axis, spread)| (axis * spread).abs() > SMALLEST_SPREAD)
        };
        (0..self.middle.len()).filter(|&it| !moves(it)).map(|it| (it, self.middle[it])).collect()
    }
}
