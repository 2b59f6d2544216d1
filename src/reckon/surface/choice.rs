//! Which surface to believe: the one that foretells glasses it has not seen.
//!
//! Each blend is left out in turn with all its glasses and repeats, for what was poured twice foretells itself. No fit is
//! made anew for that: what a rating is missed by when its blend is left out follows from the hat matrix. A surface is
//! taken over a simpler one if it foretells better and what it has beyond explains more than chance would: either alone is
//! led astray too often, the first by few glasses (leaving out one is known to like rich models), the second by a fit that
//! leans on one of them. Where no blend can be spared the test decides alone.
//!
//! **A polynomial is believed** if a test says so and blends left out are foretold better: the verdict by one test of the fullest surface
//! against "all glasses alike", the choice of the quadratic over the linear by both. In simulations with nothing to find 5 % of panels were
//! believed. The one-standard-error rule took a hill for a plane in ten tastings of a hundred where this does in three.

use nalgebra::{DMatrix, DVector};
use serde::Serialize;

use super::fit::{Fit, Unfit};
use super::tasting::Tasting;
use super::terms::Model;

/// A direction of which less than this part remains when a blend is left out cannot be told without it.
const REMAINS: f64 = 1e-8;

/// A model that was tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// The model.
    pub model: Model,
    /// Its fit, or why there is none.
    pub fit: Result<Fit, Unfit>,
    /// By how much it misses ratings of blends that it has not seen, in the mean: the root of the mean square. None where
    /// there is no fit, or it cannot do without one of the blends.
    pub missed_by: Option<f64>,
}

/// How a model was chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Ground {
    /// It foretells blends left out better than simpler ones.
    LeftOut,
    /// No blend can be spared; its further terms explain more than chance would.
    FurtherTerms,
}

impl Candidate {
    /// Tries a model.
    #[must_use]
    pub fn new(tasting: &Tasting, model: Model, fit: Result<Fit, Unfit>) -> Candidate {
        let missed_by = fit.as_ref().ok().and_then(|fit| missed_when_left_out(tasting, fit));
        Candidate { model, fit, missed_by }
    }
}

/// The position of the model to believe among those tried, the simplest of which comes first, and why.
///
/// A surface is taken over the mean if it foretells better; the test against that is made once, on the fullest surface.
#[must_use]
pub fn choose(candidates: &[Candidate]) -> (usize, Ground) {
    let mut chosen = (0, Ground::LeftOut);
    for (position, candidate) in candidates.iter().enumerate().skip(1) {
        let (Ok(fit), Ok(simpler)) = (&candidate.fit, &candidates[chosen.0].fit) else { continue };
        let tested = chosen.0 > 0 || candidate.missed_by.is_none();
        if tested && !fit.against(simpler).is_some_and(|ratio| ratio.is_significant()) {
            continue;
        }
        match (candidate.missed_by, candidates[chosen.0].missed_by) {
            (Some(own), Some(other)) if own >= other => {}
            (Some(_), _) => chosen = (position, Ground::LeftOut),
            (None, _) => chosen = (position, Ground::FurtherTerms),
        }
    }
    chosen
}

/// The ratings of each blend that tell something of it: those of tasters who had another to hold it against.
fn counted(tasting: &Tasting) -> Vec<Vec<usize>> {
    let mut rows = tasting.rows_by_blend();
    for rows in &mut rows {
        let own =
            |taster: usize, rows: &[usize]| rows.iter().filter(|&&row| tasting.rows[row].taster == taster).count();
        let all = rows.clone();
        rows.retain(|&row| {
            let taster = tasting.rows[row].taster;
            own(taster, &all) < tasting.ratings_by[taster]
        });
    }
    rows
}

/// By how much ratings are missed when their blend is left out, in the mean: e = (I − H)⁻¹ r over the ratings of a
/// blend (Cook and Weisberg 1982). None where the fit cannot do without one of them.
fn missed_when_left_out(tasting: &Tasting, fit: &Fit) -> Option<f64> {
    let counted = counted(tasting);
    let ratings: usize = counted.iter().map(Vec::len).sum();
    let mut squares = 0.0;
    for rows in counted.iter().filter(|rows| !rows.is_empty()) {
        let columns = fit.basis.select_rows(rows);
        let hat = &columns * columns.transpose();
        let remains = DMatrix::from_fn(rows.len(), rows.len(), |one, other| {
            let (first, second) = (tasting.rows[rows[one]], tasting.rows[rows[other]]);
            let same = if first.taster == second.taster { 1.0 / tasting.ratings_by[first.taster] as f64 } else { 0.0 };
            f64::from(u8::from(one == other)) - hat[(one, other)] - same
        });
        let residuals = DVector::from_iterator(rows.len(), rows.iter().map(|&row| fit.residuals[row]));
        let solver = remains.cholesky()?;
        if solver.l_dirty().diagonal().iter().any(|entry| entry * entry < REMAINS) {
            return None;
        }
        squares += solver.solve(&residuals).norm_squared();
    }
    (ratings > 0).then(|| (squares / ratings as f64).sqrt())
}
