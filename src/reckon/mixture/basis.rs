//! The terms of a model in a basis of their own, in which the candidates spread alike in every direction. Roundings then
//! do no harm, and what no candidate tells apart shows itself.

use super::interior::interior_points;
use super::matrix::{Square, Triangle};
use super::optimal::NoOptimum;
use super::region::Region;
use super::scheffe::Model;

/// So many points inside stand for the region where its mean cannot be had exactly: the mean variance is then good to about
/// one part in a hundred.
const SAMPLED: usize = 2_000;
/// The seed of that sample. It is always the same, so that two designs in a region are measured with one measure.
const SAMPLE_SEED: u64 = 1;

/// The basis.
pub struct Basis<'a> {
    region: &'a Region,
    model: Model,
    /// The root mean square of each term among the candidates.
    sizes: Vec<f64>,
    triangle: Triangle,
    /// The mean of the products of two terms over the region, in this basis.
    pub moments: Square,
    /// What the logarithm of a determinant in this basis lacks to that in shares.
    to_shares: f64,
}

impl<'a> Basis<'a> {
    /// The basis of some candidates; an error where they do not tell all terms apart.
    pub fn of(region: &'a Region, model: Model, candidates: &[Vec<f64>]) -> Result<Basis<'a>, NoOptimum> {
        let terms: Vec<Vec<f64>> =
            candidates.iter().map(|candidate| model.terms(&region.pseudocomponents(candidate))).collect();
        let count = candidates.len().max(1) as f64;
        let size = model.size(region.components());
        let mut spread = Square::of_products(size, terms.iter().map(Vec::as_slice));
        spread.scale(1.0 / count);
        let sizes: Vec<f64> = (0..size).map(|at| spread.row(at)[at].sqrt()).collect();
        let thin = |rank| NoOptimum::Thin { model: model.word(), terms: size, told_apart: rank };
        let known = sizes.iter().filter(|size| **size > 0.0).count();
        if known < size {
            return Err(thin(known));
        }
        let even = Square::from_fn(size, |row, column| spread.row(row)[column] / (sizes[row] * sizes[column]));
        let triangle = even.triangle().map_err(thin)?;
        let scale = libm::log(region.width()) * f64::from(model.scale_power(region.components()));
        let logs: f64 = sizes.iter().map(|size| 2.0 * libm::log(*size)).sum();
        let to_shares = logs + scale + triangle.log_determinant();
        let mut basis = Basis { region, model, sizes, triangle, moments: Square::nought(size), to_shares };
        basis.moments = basis.moments_of_region();
        Ok(basis)
    }

    fn moments_of_region(&self) -> Square {
        if self.region.is_simplex() {
            let exact = self.model.moments(self.region.components());
            let scaled = Square::from_fn(exact.size(), |row, column| {
                exact.row(row)[column] / (self.sizes[row] * self.sizes[column])
            });
            return self.triangle.whitened(&scaled);
        }
        let sample: Vec<Vec<f64>> =
            interior_points(self.region, SAMPLED, SAMPLE_SEED).iter().map(|point| self.terms(point)).collect();
        let mut moments = Square::of_products(self.sizes.len(), sample.iter().map(Vec::as_slice));
        moments.scale(1.0 / SAMPLED as f64);
        moments
    }

    /// How many terms there are.
    pub fn size(&self) -> usize {
        self.sizes.len()
    }

    /// A mixture's terms.
    pub fn terms(&self, mixture: &[f64]) -> Vec<f64> {
        let mut terms = self.model.terms(&self.region.pseudocomponents(mixture));
        terms.iter_mut().zip(&self.sizes).for_each(|(term, size)| *term /= size);
        self.triangle.solve(&mut terms);
        terms
    }

    /// The logarithm of the determinant of X'X in shares, from that in this basis.
    pub fn in_shares(&self, log_determinant: f64) -> f64 {
        log_determinant + self.to_shares
    }
}
