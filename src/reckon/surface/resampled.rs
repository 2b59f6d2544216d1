//! Where the best would have been found by other panels like this one.
//!
//! Panels are drawn from the tasters with replacement (Efron 1979) and the surface is fitted to each; tasters are drawn, not
//! ratings, for a taster's ratings hang together. Of few tasters that says little, so that then the surface is drawn from
//! its own standard errors instead.

use nalgebra::{DMatrix, DVector};
use serde::Serialize;

use super::as_good::Range;
use super::fit::Fit;
use super::optimum::{Quadratic, Starts};
use super::region::Polytope;
use super::tasting::Tasting;
use crate::reckon::chance::Chance;

/// From so many tasters on panels are drawn from them (our choice).
const ENOUGH_TASTERS: usize = 6;
/// A share is near if it is not further off than this: the step to which blends are usually rounded.
pub const NEAR: f64 = 0.05;
/// From so many of the starts that lie highest each drawn surface is climbed, and from the best of the whole panel.
const STARTS: usize = 2;
/// Of the shares of the best so large a part at each end is left out of the range that is told.
const LEFT_OUT: f64 = 0.05;
/// A drawn panel tells the surface if no direction of it is known less well than by this part of the whole panel's.
const TOLD: f64 = 1e-4;

/// What was drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Drawn {
    /// Tasters.
    Tasters,
    /// Surfaces, from the fit's own errors: there are too few tasters.
    Errors,
}

/// Where the best of drawn panels lies.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Resampled {
    /// What was drawn.
    pub drawn: Drawn,
    /// How many of the drawn panels could tell the surface.
    pub panels: usize,
    /// How many of them have their best near this one's: no share further off than [`NEAR`].
    pub near: usize,
    /// For each component the share of the best in the middle nine tenths of them.
    pub ranges: Vec<Range>,
}

/// Draws so many panels. None where none of them could tell the surface.
#[must_use]
pub fn resample(
    (tasting, fit): (&Tasting, &Fit),
    (polytope, starts): (&Polytope, &Starts),
    best: &DVector<f64>,
    (count, seed): (usize, u64),
) -> Option<Resampled> {
    let mut chance = Chance::from_seed(seed);
    let drawn = if tasting.tasters.len() >= ENOUGH_TASTERS { Drawn::Tasters } else { Drawn::Errors };
    let parts = Parts::of(tasting, fit);
    let own = fit.hull.shares(best.as_slice());
    let mut shares: Vec<Vec<f64>> = vec![Vec::with_capacity(count); own.len()];
    let (mut panels, mut near) = (0, 0);
    for _ in 0..count {
        let slopes = match drawn {
            Drawn::Tasters => parts.drawn_panel(&mut chance),
            Drawn::Errors => Some(drawn_surface(fit, &mut chance)),
        };
        let Some(slopes) = slopes else { continue };
        let surface = Quadratic::of(fit, &slopes);
        let summits = [surface.climb(polytope, best), starts.best_of(&surface, polytope, STARTS)];
        let [from_best, other] = summits.map(|summit| (surface.at(&summit), summit));
        let summit = if other.0 > from_best.0 { other.1 } else { from_best.1 };
        let found = fit.hull.shares(summit.as_slice());
        panels += 1;
        near += usize::from(found.iter().zip(&own).all(|(found, own)| (found - own).abs() <= NEAR));
        shares.iter_mut().zip(found).for_each(|(shares, found)| shares.push(found));
    }
    (panels > 0).then(|| Resampled { drawn, panels, near, ranges: shares.into_iter().map(middle_range).collect() })
}

/// The range of the middle nine tenths of some shares, of which there is at least one.
fn middle_range(mut shares: Vec<f64>) -> Range {
    shares.sort_by(f64::total_cmp);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a part of a length
    let left_out = (shares.len() as f64 * LEFT_OUT) as usize;
    let end = |position: usize| shares[position].clamp(0.0, 1.0);
    Range { least: end(left_out), most: end(shares.len() - 1 - left_out) }
}

/// What each taster says of the surface, so that a panel is a sum.
struct Parts {
    products: Vec<DMatrix<f64>>,
    scores: Vec<DVector<f64>>,
}

impl Parts {
    fn of(tasting: &Tasting, fit: &Fit) -> Parts {
        let mut rows = vec![Vec::new(); tasting.tasters.len()];
        for (position, row) in tasting.rows.iter().enumerate() {
            rows[row.taster].push(position);
        }
        let given = &fit.residuals + &fit.basis * &fit.slopes;
        let columns: Vec<DMatrix<f64>> = rows.iter().map(|rows| fit.basis.select_rows(rows)).collect();
        let scores = columns.iter().zip(&rows).map(|(columns, rows)| columns.tr_mul(&given.select_rows(rows)));
        Parts { scores: scores.collect(), products: columns.iter().map(|columns| columns.tr_mul(columns)).collect() }
    }

    /// The surface of a drawn panel; none where it does not tell it.
    fn drawn_panel(&self, chance: &mut Chance) -> Option<DVector<f64>> {
        let width = self.scores.first()?.len();
        let (mut products, mut scores) = (DMatrix::zeros(width, width), DVector::zeros(width));
        for _ in &self.scores {
            let taster = chance.below(self.scores.len());
            products += &self.products[taster];
            scores += &self.scores[taster];
        }
        let solver = products.cholesky()?;
        let told = solver.l_dirty().diagonal().iter().all(|entry| entry * entry > TOLD);
        told.then(|| solver.solve(&scores))
    }
}

/// A surface drawn from the standard errors of a fit: normal numbers by Box and Muller 1958.
fn drawn_surface(fit: &Fit, chance: &mut Chance) -> DVector<f64> {
    let deviation = fit.noise.mean_square.sqrt();
    let mut normal = || {
        let (one, other) = (1.0 - chance.fraction(), chance.fraction());
        (-2.0 * libm::log(one)).sqrt() * libm::cos(std::f64::consts::TAU * other)
    };
    fit.slopes.map(|slope| slope + deviation * normal())
}
