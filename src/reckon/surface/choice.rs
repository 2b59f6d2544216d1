//! Which surface to believe: the one that foretells glasses it has not seen.
//!
//! Each blend is left out in turn with all its glasses and repeats, for what was poured twice foretells itself. Of the models the
//! simplest is taken whose error is not above the best one's by more than the standard error of that difference (Breiman,
//! Friedman, Olshen and Stone 1984, the one-standard-error rule, on differences by blend). No fit is made anew: what a
//! rating is missed by when its blend is left out follows from the hat matrix.

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
    /// The squares of that by blend.
    by_blend: Option<Vec<f64>>,
}

/// How a model was chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Ground {
    /// It foretells blends left out as well as any, and is the simplest that does.
    LeftOut,
    /// No blend can be spared; its further terms explain more than chance would.
    FurtherTerms,
}

impl Candidate {
    /// Tries a model.
    pub fn new(tasting: &Tasting, model: Model, fit: Result<Fit, Unfit>) -> Candidate {
        let by_blend = fit.as_ref().ok().and_then(|fit| missed_when_left_out(tasting, fit));
        let counted = counted(tasting).iter().map(Vec::len).sum::<usize>();
        let missed_by = by_blend.as_ref().filter(|_| counted > 0).map(|by_blend| {
            (by_blend.iter().sum::<f64>() / counted as f64).sqrt()
        });
        Candidate { model, fit, missed_by, by_blend }
    }

    /// By how much more it misses than another, over all blends, and the standard error of that.
    fn misses_more_than(&self, other: &Candidate) -> Option<(f64, f64)> {
        let more: Vec<f64> =
            self.by_blend.as_ref()?.iter().zip(other.by_blend.as_ref()?).map(|(own, other)| own - other).collect();
        let (count, sum) = (more.len() as f64, more.iter().sum::<f64>());
        let scatter: f64 = more.iter().map(|more| (more - sum / count).powi(2)).sum();
        Some((sum, (count * scatter / (count - 1.0).max(1.0)).sqrt()))
    }
}

/// The position of the model to believe among those tried, the simplest of which comes first, and why.
#[must_use]
pub fn choose(candidates: &[Candidate]) -> (usize, Ground) {
    let left_out: Vec<usize> = (0..candidates.len()).filter(|&it| candidates[it].missed_by.is_some()).collect();
    let missed = |it: &usize| candidates[*it].missed_by.unwrap_or(f64::INFINITY);
    let best = left_out.iter().copied().min_by(|one, other| missed(one).total_cmp(&missed(other)));
    let as_good = |it: &usize| {
        best.and_then(|best| candidates[*it].misses_more_than(&candidates[best])).is_some_and(|(more, error)| more <= error)
    };
    let mut chosen = (left_out.iter().copied().find(as_good).or(best).unwrap_or(0), Ground::LeftOut);
    for (position, candidate) in candidates.iter().enumerate() {
        let (Ok(fit), None, Ok(simpler)) = (&candidate.fit, candidate.missed_by, &candidates[chosen.0].fit) else { continue };
        if position > chosen.0 && fit.against(simpler).is_some_and(|ratio| ratio.is_significant()) {
            chosen = (position, Ground::FurtherTerms);
        }
    }
    chosen
}

/// The ratings of each blend that tell something of it: those of tasters who had another to hold it against.
fn counted(tasting: &Tasting) -> Vec<Vec<usize>> {
    let mut rows = tasting.rows_by_blend();
    for rows in &mut rows {
        let own = |taster: usize, rows: &[usize]| rows.iter().filter(|&&row| tasting.rows[row].taster == taster).count();
        let all = rows.clone();
        rows.retain(|&row| {
            let taster = tasting.rows[row].taster;
            own(taster, &all) < tasting.ratings_by[taster]
        });
    }
    rows
}

/// For each blend the squares of what its ratings are missed by when it is left out: e = (I − H)⁻¹ r over its ratings
/// (Cook and Weisberg 1982). None where the fit cannot do without one of them.
fn missed_when_left_out(tasting: &Tasting, fit: &Fit) -> Option<Vec<f64>> {
    counted(tasting)
        .iter()
        .map(|rows| {
            let columns = fit.basis.select_rows(rows);
            let hat = &columns * columns.transpose();
            let remains = DMatrix::from_fn(rows.len(), rows.len(), |one, other| {
                let (first, second) = (tasting.rows[rows[one]], tasting.rows[rows[other]]);
                let same = if first.taster == second.taster { 1.0 / tasting.ratings_by[first.taster] as f64 } else { 0.0 };
                f64::from(u8::from(one == other)) - hat[(one, other)] - same
            });
            let residuals = DVector::from_iterator(rows.len(), rows.iter().map(|&row| fit.residuals[row]));
            let solver = remains.cholesky()?;
            let least = solver.l_dirty().diagonal().iter().fold(1.0_f64, |least, &entry| least.min(entry * entry));
            (least > REMAINS).then(|| solver.solve(&residuals).norm_squared())
        })
        .collect()
}
