//! How the single blends lie about the surface.
//!
//! What a surface leaves over is of two kinds: what the panel itself does not agree on, and what the glasses have that the
//! surface does not. To part them, every blend is given a level of its own beside the effects of the tasters. What remains
//! then is the panel's error: with one taster what his repeats of a blend differ by, with several what is left of tasters ×
//! glasses. The surface is judged by that, and not by repeats alone, which would count it as a fault of the surface that
//! tasters like different things.
//!
//! **The panel's error** is what is left when each blend and each taster has a level of its own, repeats and tasters × glasses together.
//! Where blends scatter about a surface by more than that, its errors and tests go by that scatter.

use nalgebra::{DMatrix, DVector};
use serde::Serialize;

use super::fit::{Fit, Noise, Ratio};
use super::tasting::Tasting;

/// The panel by single blends.
#[derive(Clone, Debug, PartialEq)]
pub struct ByBlend {
    /// What each blend scored, for the mean taster; none where tasters had no blends in common to link them.
    pub means: Option<Vec<f64>>,
    /// What the panel does not agree on, squared and summed.
    pub error_sum: f64,
    /// Its degrees of freedom: none where no blend was rated often enough.
    pub error_freedom: usize,
    /// The test whether any blend differs from any other.
    pub differ: Option<Ratio>,
    slopes: usize,
    grain: f64,
}

/// Whether blends scatter about a surface more than the panel's error explains.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LackOfFit {
    /// What blends scatter, squared and summed.
    pub sum: f64,
    /// The panel's error that it is held against, squared and summed.
    pub error_sum: f64,
    /// The test.
    pub ratio: Ratio,
}

impl ByBlend {
    /// Gives each blend a level of its own.
    #[must_use]
    pub fn of(tasting: &Tasting) -> ByBlend {
        let (blends, tasters) = (tasting.blends.len(), tasting.tasters.len());
        let mut counts = DMatrix::<f64>::zeros(tasters, blends);
        let mut above = DVector::<f64>::zeros(blends);
        for row in &tasting.rows {
            counts[(row.taster, row.blend)] += 1.0;
            above[row.blend] += row.score - tasting.means[row.taster];
        }
        let islands = islands(&counts);
        let linked = islands.iter().max().map_or(0, |last| last + 1);
        let mut shares = counts.clone();
        for (taster, mut row) in shares.row_iter_mut().enumerate() {
            row /= tasting.ratings_by[taster] as f64;
        }
        // Levels of linked blends are known but for a constant: their sum is set to nought.
        let constant =
            DMatrix::from_fn(blends, blends, |one, other| f64::from(u8::from(islands[one] == islands[other])));
        let equations = DMatrix::from_diagonal(&counts.row_sum_tr()) - counts.tr_mul(&shares) + constant;
        let levels = equations.cholesky().map_or_else(|| DVector::zeros(blends), |solver| solver.solve(&above));
        let explained = levels.dot(&above).min(tasting.total);
        let slopes = blends - linked;
        let error_freedom = (tasting.rows.len() - tasters).saturating_sub(slopes);
        let error_sum = tasting.total - explained;
        let mut by_blend =
            ByBlend { means: None, error_sum, error_freedom, differ: None, slopes, grain: tasting.grain };
        by_blend.differ = by_blend.noise().and_then(|noise| Ratio::of(explained, slopes, noise));
        if linked == 1 {
            let of_tasters =
                tasting.means.iter().zip((&shares * &levels).iter()).map(|(mean, own)| mean - own).sum::<f64>();
            by_blend.means = Some(levels.iter().map(|level| level + of_tasters / tasters as f64).collect());
        }
        by_blend
    }

    fn noise(&self) -> Option<Noise> {
        let freedom = self.error_freedom;
        let mean_square = (self.error_sum / freedom as f64).max(self.grain);
        (freedom > 0).then_some(Noise { mean_square, freedom, of_glasses: false })
    }

    /// How a surface fits; none where it has as many terms as there are blends, or the panel's error is not known.
    #[must_use]
    pub fn lack_of_fit(&self, fit: &Fit) -> Option<LackOfFit> {
        let sum = (fit.residual_sum - self.error_sum).max(0.0);
        let further = self.slopes.saturating_sub(fit.slopes.len());
        let ratio = Ratio::of(sum, further, self.noise()?)?;
        Some(LackOfFit { sum, error_sum: self.error_sum, ratio })
    }
}

/// Which blends are linked by tasters who had both, directly or through others: a number for each.
fn islands(counts: &DMatrix<f64>) -> Vec<usize> {
    let blends = counts.ncols();
    let mut island: Vec<usize> = (0..blends).collect();
    for row in counts.row_iter() {
        let tasted: Vec<usize> = (0..blends).filter(|&blend| row[blend] > 0.0).collect();
        for pair in tasted.windows(2) {
            let (one, other) = (island[pair[0]], island[pair[1]]);
            island.iter_mut().filter(|number| **number == other).for_each(|number| *number = one);
        }
    }
    let mut names: Vec<usize> = island.clone();
    names.sort_unstable();
    names.dedup();
    island.iter().map(|number| names.binary_search(number).unwrap_or(0)).collect()
}
