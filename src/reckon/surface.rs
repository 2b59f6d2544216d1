//! The fitted surface of a mixture: how scores follow the shares, and which ratio the panel would like best.
//!
//! [`read`] fits the canonical polynomials of Scheffé (1958, "Experiments with mixtures") with an effect of each taster,
//! chooses between them and the plain mean, and, where the panel tells anything, seeks the best ratio that is allowed. It
//! needs scores: ranks say which glass is better, not by how much, and are taken as normal scores.
//!
//! Standard errors are about the mean of these tasters. What other tasters would find is told by drawing panels.
//!
//! **A surface** (`reckon::surface`) takes the tasters out beforehand (scores and terms less their means by taster) and builds terms on
//! coordinates of the room in which the poured blends lie, spread by one. So a narrow region stays solvable, a component that never moved
//! is named, and panels can be drawn by adding up small matrices: 20 tasters × 60 glasses × 6 components in about 26 ms.

mod as_good;
mod choice;
mod fit;
mod grid;
mod hull;
mod lack_of_fit;
mod optimum;
mod region;
mod resampled;
mod simpler;
mod tasting;
mod terms;
#[cfg(test)]
mod tests;
pub(super) mod words;

use nalgebra::DVector;
use serde::Serialize;
use thiserror::Error;

pub use self::as_good::Range;
pub use self::choice::{Candidate, Ground};
pub use self::fit::{ACCEPTED, Coefficient, Fit, Noise, Predicted, Ratio, Unfit};
pub use self::grid::{Spot, ternary, trace};
pub use self::hull::Hull;
pub use self::lack_of_fit::{ByBlend, LackOfFit};
pub use self::region::{Limit, Region};
pub use self::resampled::{Drawn, NEAR, Resampled};
pub use self::tasting::{Row, Tasting};
pub use self::terms::Model;

use self::optimum::{Quadratic, Starts};
use self::region::Polytope;
use super::mixture::RegionError;

/// How many panels are drawn by habit: enough that a share of them is told within three or four in a hundred.
pub const PANELS: usize = 200;
/// Into how many steps a simple ratio divides the whole: to 5 %, and to 10 %.
const SIMPLE: [i32; 2] = [20, 10];

/// A difference of scores less than this is rounding.
const ROUNDING: f64 = 1e-6;

/// One rating of a glass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rating {
    /// Who: a position among the tasters.
    pub taster: usize,
    /// In which of the taster's flights: scores of different flights are not held against one another.
    pub flight: usize,
    /// What: a position among the glasses.
    pub glass: usize,
    /// The score, or the rank.
    pub score: f64,
}

/// What the ratings are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Scale {
    /// Scores: more is better.
    #[default]
    Scores,
    /// Ranks: 1 is the best, ties have the mean of their ranks.
    Ranks,
}

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The names of the components.
    pub components: Vec<String>,
    /// The names of the tasters.
    pub tasters: Vec<String>,
    /// What each glass held: fractions of one, in the order of the components. Hidden repeats are glasses of their own.
    pub glasses: Vec<Vec<f64>>,
    /// The ratings, in any order; several by one taster of one glass too.
    pub ratings: Vec<Rating>,
    /// What they are.
    pub scale: Scale,
    /// Which blends are allowed; [`Region::within_glasses`] where nothing else is said.
    pub region: Region,
    /// How many panels to draw; [`PANELS`] by habit.
    pub panels: usize,
    /// The seed by which they are drawn.
    pub seed: u64,
}

/// Whether the panel tells anything of the ratio.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// It does.
    Tells,
    /// Chance explains what the surface explains.
    Alike,
    /// Blends that were left out are foretold as well without any surface.
    NoBetterThanMean,
    /// No surface can be fitted to so few glasses or ratings.
    TooFew,
}

/// How a blend compares with the best.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Compared {
    /// The blend.
    pub shares: Vec<f64>,
    /// What it is expected to score.
    pub predicted: Predicted,
    /// By how much that is below the best; below nought of a blend that is not allowed but liked better.
    pub below: f64,
    /// The standard error of that difference.
    pub error: f64,
    /// Whether it is further below than chance would explain.
    pub is_worse: bool,
}

/// A blend that was poured.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Poured {
    /// The glasses that held it, positions among those of the question.
    pub glasses: Vec<usize>,
    /// The blend.
    pub shares: Vec<f64>,
    /// How many ratings it has.
    pub ratings: usize,
    /// What it scored, for the mean taster; none where tasters had no glasses in common to link them.
    pub mean: Option<f64>,
    /// What the surface expects of it.
    pub predicted: Option<Predicted>,
    /// Whether it is allowed.
    pub allowed: bool,
}

/// A bound or limit that stops the best ratio.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stop {
    /// The least of a component.
    Least(usize),
    /// The most of a component.
    Most(usize),
    /// A linear limit, by its position.
    Limit(usize),
}

/// The best ratio that is allowed, and how sure it is.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Best {
    /// The ratio.
    pub shares: Vec<f64>,
    /// What it is expected to score, as the mean of this panel.
    pub predicted: Predicted,
    /// The band of that: 95 %.
    pub band: Range,
    /// What stops it, but for a component of which there cannot be less than nothing or more than all.
    pub stopped_by: Vec<Stop>,
    /// For each component, the shares of all blends that are not worse as far as the panel can tell.
    pub as_good: Vec<Range>,
    /// Where other panels would have found it.
    pub resampled: Option<Resampled>,
    /// The poured blend that is allowed and expected to score the most.
    pub best_poured: Option<Compared>,
    /// Ratios in whole steps of 5 % and of 10 %.
    pub simpler: Vec<Compared>,
}

/// What a tasting says of the ratio.
#[derive(Clone, Debug, PartialEq)]
pub struct Findings {
    /// The names of the components.
    pub components: Vec<String>,
    /// The names of the tasters.
    pub tasters: Vec<String>,
    /// What the ratings are.
    pub scale: Scale,
    /// Which blends are allowed.
    pub region: Region,
    /// The ratings.
    pub tasting: Tasting,
    /// The panel by single blends.
    pub by_blend: ByBlend,
    /// The blends.
    pub poured: Vec<Poured>,
    /// The models that were tried, the simplest first.
    pub candidates: Vec<Candidate>,
    /// The position of the one to believe.
    pub chosen: usize,
    /// Why that.
    pub ground: Ground,
    /// The test of the fullest surface that could be fitted against: all glasses are alike.
    pub alike: Option<Ratio>,
    /// Whether the panel tells anything.
    pub verdict: Verdict,
    /// The best ratio, if it does.
    pub best: Option<Best>,
    /// All that in sentences, the most important first.
    pub words: Vec<String>,
}

/// Why nothing can be said of the ratio.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation
pub enum NoSurface {
    #[error("A surface needs two components at least. Give each glass the shares of what was mixed in it.")]
    Components,
    #[error("There are no ratings. Enter what the tasters gave first.")]
    NoRatings,
    #[error("A rating is of glass {0}, which there is not.")]
    UnknownGlass(usize),
    #[error("A rating is of taster {0}, whom there is not.")]
    UnknownTaster(usize),
    #[error("{0} is no score.")]
    Score(f64),
    #[error("Glass {0} is no mixture. Give each component a share from 0 to 1; they must sum to 1.")]
    NoMixture(usize),
    #[error("All glasses held the same blend: nothing can be said of other ratios. Pour different blends.")]
    OneBlend,
    #[error(
        "No taster rated more than one glass, so that tasters cannot be told from glasses. Give each taster several."
    )]
    OneGlassEach,
    #[error("Every taster gave all glasses the same score: the panel prefers none of them.")]
    AllAlike,
    #[error(
        "Every flight of every taster held one glass, so that flights cannot be told from glasses. Give each flight several."
    )]
    OneGlassFlights,
    #[error(
        "The bounds or limits are wrong. Give each component a least and a most share from 0 to 1, and limits a number for each component."
    )]
    Bounds,
    #[error("The bounds and limits leave no blend. Loosen one of them.")]
    NothingAllowed,
    #[error("The bounds and limits leave one blend alone: there is no ratio to choose. Loosen one of them.")]
    OneRatio,
    #[error(transparent)]
    Allowed(RegionError),
    #[error(
        "No allowed blend is like the glasses: what kept one share or one proportion in all of them would have to change. Pour glasses in which it does, or loosen the bounds."
    )]
    OutsideGlasses,
}

/// Reads what a tasting says of the ratio.
pub fn read(question: &Question) -> Result<Findings, NoSurface> {
    if question.components.len() < 2 {
        return Err(NoSurface::Components);
    }
    question.region.check(question.components.len())?;
    let tasting = Tasting::of(question)?;
    let hull = Hull::of(&tasting.blends);
    if hull.dimensions() == 0 {
        return Err(NoSurface::OneBlend);
    }
    let polytope = Polytope::of(&question.region, &hull)?;
    let by_blend = ByBlend::of(&tasting);
    let candidates: Vec<Candidate> = Model::ALL
        .into_iter()
        .map(|model| {
            let fit = Fit::new(&tasting, &hull, model);
            Candidate::new(
                &tasting,
                model,
                fit.map(|fit| {
                    let lack = by_blend.lack_of_fit(&fit);
                    fit.judged_by(lack)
                }),
            )
        })
        .collect();
    let (chosen, ground) = choice::choose(&candidates);
    let alike = fullest(&candidates).and_then(Fit::against_alike);
    let mut findings = Findings {
        components: question.components.clone(),
        tasters: question.tasters.clone(),
        scale: question.scale,
        region: question.region.clone(),
        poured: Vec::new(),
        verdict: verdict(candidates[chosen].model, alike),
        tasting,
        by_blend,
        candidates,
        chosen,
        ground,
        alike,
        best: None,
        words: Vec::new(),
    };
    findings.poured = findings.poured();
    findings.best = findings.best(&polytope, (question.panels, question.seed));
    findings.words = words::sentences(&findings);
    Ok(findings)
}

/// The richest surface that could be fitted.
fn fullest(candidates: &[Candidate]) -> Option<&Fit> {
    candidates.iter().rev().filter(|tried| tried.model > Model::Mean).find_map(|tried| tried.fit.as_ref().ok())
}

/// Both must speak for the surface: the test, which is made once and on a model named beforehand, so that it errs as
/// seldom as it says, and the choice.
fn verdict(chosen: Model, alike: Option<Ratio>) -> Verdict {
    match (alike, chosen) {
        (None, _) => Verdict::TooFew,
        (Some(ratio), _) if !ratio.is_significant() => Verdict::Alike,
        (Some(_), Model::Mean) => Verdict::NoBetterThanMean,
        (Some(_), Model::Linear | Model::Quadratic) => Verdict::Tells,
    }
}

impl Findings {
    /// The surface to look at: the chosen one, or the fullest where none is better than the mean. None where none can be
    /// fitted.
    #[must_use]
    pub fn fit(&self) -> Option<&Fit> {
        let chosen = &self.candidates[self.chosen];
        chosen.fit.as_ref().ok().filter(|_| chosen.model > Model::Mean).or_else(|| fullest(&self.candidates))
    }

    /// How a blend compares with the best; none where there is no best, or nothing can be said of such a blend.
    #[must_use]
    pub fn compare(&self, shares: &[f64]) -> Option<Compared> {
        let (fit, best) = (self.fit()?, self.best.as_ref()?);
        let best = DVector::from_vec(fit.hull.coordinates(&best.shares));
        Some(compare(fit, &best, shares, fit.predict(shares)?))
    }

    fn poured(&self) -> Vec<Poured> {
        let ratings = self.tasting.rows_by_blend();
        let of = |blend: usize| {
            let shares = &self.tasting.blends[blend];
            let holds = |glass: &usize| self.tasting.blend_of_glass[*glass] == Some(blend);
            Poured {
                glasses: (0..self.tasting.blend_of_glass.len()).filter(holds).collect(),
                shares: shares.clone(),
                ratings: ratings[blend].len(),
                mean: self.by_blend.means.as_ref().map(|means| means[blend]),
                predicted: self.fit().and_then(|fit| fit.predict(shares)),
                allowed: self.region.allows(shares),
            }
        };
        (0..self.tasting.blends.len()).map(of).collect()
    }

    fn best(&self, polytope: &Polytope, (panels, seed): (usize, u64)) -> Option<Best> {
        let fit = self.fit().filter(|_| self.verdict == Verdict::Tells)?;
        let coordinates = |shares: &[f64]| DVector::from_vec(fit.hull.coordinates(shares));
        let starts = Starts::of(polytope, self.tasting.blends.iter().map(|blend| coordinates(blend)));
        let at = starts.highest(&Quadratic::of(fit, &fit.slopes), polytope);
        let shares = self.region.settled(&fit.hull.shares(at.as_slice()));
        let predicted = fit.predict_at(at.as_slice());
        let half = fit.noise.two_sided() * predicted.error;
        let compared = |shares: &[f64]| Some(compare(fit, &at, shares, fit.predict(shares)?));
        let poured = self.poured.iter().filter(|poured| poured.allowed).filter_map(|poured| compared(&poured.shares));
        let simpler =
            SIMPLE.iter().filter_map(|&steps| compared(&simpler::rounded(fit, &self.region, &shares, steps)?));
        Some(Best {
            predicted,
            band: Range { least: predicted.score - half, most: predicted.score + half },
            stopped_by: self.region.stops(&shares),
            as_good: as_good::ranges(fit, polytope, &self.region, &at, &starts.0),
            resampled: resampled::resample((&self.tasting, fit), (polytope, &starts), &at, (panels, seed)),
            best_poured: poured.min_by(|one, other| one.below.total_cmp(&other.below)),
            simpler: simpler.collect(),
            shares,
        })
    }
}

fn compare(fit: &Fit, best: &DVector<f64>, shares: &[f64], predicted: Predicted) -> Compared {
    let (below, error) = fit.below(&fit.place(best.as_slice()), &fit.hull.coordinates(shares));
    let is_worse = below > fit.noise.one_sided() * error && below > ROUNDING;
    Compared { shares: shares.to_vec(), predicted, below, error, is_worse }
}
