//! The best choice of so many glasses for a model.
//!
//! Two criteria: D, the largest determinant of X'X, which makes the model's numbers as certain as can be; and I, the least
//! mean variance of what is predicted over the whole region. Many tries from starts of chance, of which the best is kept; the
//! exchange itself is in `exchange.rs`.
//!
//! **An optimal choice** exchanges glasses for candidates (Cook and Nachtsheim 1980) from starts of chance. Its matrices are plain loops
//! and its logarithms `libm`'s: a library's product rounds by what the processor has, and the same seed must lay out the same glasses
//! everywhere. Three times as many candidates gave no better D and an I better by half a percent, so shares between them are not tried. 60
//! glasses of eight components take a quarter of a second of the processor's time for D and two thirds of one for I (`cargo bench --bench
//! mixture`).

use std::collections::BTreeSet;

use thiserror::Error;

use super::basis::Basis;
use super::exchange::{Attempt, Field};
use super::interior::interior_points;
use super::matrix::{Square, dot};
use super::region::Region;
use super::scheffe::Model;
use crate::reckon::chance::Chance;
use crate::units::{by_count, counted};

/// The middles of faces are candidates only in regions of so few corners; else there are too many, and corners and edges
/// serve nearly as well.
const FEW_CORNERS: usize = 200;
/// So many candidates lie inside, by chance.
const INSIDE: usize = 100;
/// More candidates than this are thinned, corners last.
const MOST_CANDIDATES: usize = 6_000;

/// What makes a choice good.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Criterion {
    /// D: the largest determinant.
    Determinant,
    /// I: the least mean variance of prediction.
    Average,
}

/// What is asked.
#[derive(Clone, Debug)]
pub struct Task<'a> {
    /// Where the glasses may lie.
    pub region: &'a Region,
    /// The model that is to be fitted.
    pub model: Model,
    /// What makes a choice good.
    pub criterion: Criterion,
    /// The mixtures to choose from; the same may be chosen again and again. [`candidates`] gives good ones.
    pub candidates: &'a [Vec<f64>],
    /// Glasses that are poured anyway; they are the first of the choice.
    pub fixed: &'a [Vec<f64>],
    /// How many glasses there are to be in all.
    pub glasses: usize,
    /// How many starts are tried, at least one.
    pub tries: usize,
    /// The seed of chance.
    pub seed: u64,
}

/// How good a choice of glasses is for a model. Variances are in units of the variance of one taste of one glass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quality {
    /// The natural logarithm of the determinant of X'X, in shares.
    pub log_determinant: f64,
    /// D: the determinant's root of as many as there are terms, by glass, in shares.
    pub d: f64,
    /// G-efficiency: the number of terms, by glass and by the variance of the worst predicted candidate; 1 is the best there
    /// can be.
    pub g_efficiency: f64,
    /// What D is at least, as a part of the best D that any number of glasses from the candidates could have: exp(1 − 1/G)
    /// (Atwood 1969; so in the documentation of the R package `AlgDesign`).
    pub d_efficiency_at_least: f64,
    /// The mean variance of prediction over the region, exact for a simplex and from a sample else.
    pub average_variance: f64,
}

/// A choice.
#[derive(Clone, Debug, PartialEq)]
pub struct Optimum {
    /// The glasses: the fixed ones, then the chosen ones in the order of the candidates.
    pub mixtures: Vec<Vec<f64>>,
    /// How good they are.
    pub quality: Quality,
    /// How many starts were tried to their end.
    pub tried: usize,
    /// Whether all starts were tried; else it is the best so far.
    pub finished: bool,
}

/// Why nothing can be chosen.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation
pub enum NoOptimum {
    #[error("A {model} model has {} here, and {} cannot tell them apart. Take {terms} or more{}.", counted(*.terms, "term"), counted(*.glasses, "glass"), simpler(.model))]
    TooFew { model: &'static str, terms: usize, glasses: usize },
    #[error("{} {} given, and only {glasses} {} wanted. Ask for more or give fewer.", counted(*.fixed, "glass"), by_count(*.fixed, "is", "are"), by_count(*.glasses, "is", "are"))]
    TooManyFixed { fixed: usize, glasses: usize },
    #[error("A mixture has a share for each of {components} components, from 0 on, and they sum to one.")]
    NoMixture { components: usize },
    #[error("Only {told_apart} of the {terms} terms of a {model} model can be told apart inside these bounds. Loosen the bounds that hold a component fast, or leave that component out{}.", simpler(.model))]
    Thin { model: &'static str, terms: usize, told_apart: usize },
    #[error(
        "With {} given, the other {left} cannot tell the {} of a {model} model apart. Ask for more glasses.",
        counted(*.fixed, "glass"),
        counted(*.terms, "term")
    )]
    TooFewLeft { model: &'static str, terms: usize, fixed: usize, left: usize },
}

/// The simpler model, where there is one.
fn simpler(model: &str) -> &'static str {
    if model == Model::Quadratic.word() { ", or take the linear model" } else { "" }
}

/// Mixtures to choose from: the corners of a region, the middles of edges, faces and sides, the overall middle, points half
/// way from it to each corner, and some inside by chance.
#[must_use]
pub fn candidates(region: &Region, seed: u64) -> Vec<Vec<f64>> {
    let corners = region.corners();
    let middle = corners.middle();
    let half_way = |corner: &Vec<f64>| corner.iter().zip(&middle).map(|(one, other)| (one + other) / 2.0).collect();
    let mut others: Vec<Vec<f64>> = vec![middle.clone()];
    others.extend(corners.edge_middles());
    others.extend(corners.side_middles());
    if corners.points().len() <= FEW_CORNERS {
        others.extend(corners.face_middles());
    }
    others.extend(corners.points().iter().map(half_way));
    others.extend(interior_points(region, INSIDE, seed));
    let room = MOST_CANDIDATES.saturating_sub(corners.points().len());
    if others.len() > room {
        Chance::from_seed(seed).shuffle(&mut others);
        others.truncate(room);
    }
    let mut taken: BTreeSet<Vec<i64>> = BTreeSet::new();
    let all = corners.points().iter().cloned().chain(others);
    all.filter(|mixture| taken.insert(in_millionths(mixture))).collect()
}

/// What of a mixture tells it from another.
#[allow(clippy::cast_possible_truncation)] // shares
pub(super) fn in_millionths(mixture: &[f64]) -> Vec<i64> {
    mixture.iter().map(|share| (share * 1e6).round() as i64).collect()
}

/// Chooses the glasses.
///
/// Runs until all starts are tried or `stop` says so; `stop` is asked many times a second. Every better choice is given to
/// `better` as soon as it is found. The same task always gets the same answer, on every machine, unless it is stopped; even
/// then there is an answer, the best so far.
pub fn choose(
    task: &Task<'_>,
    stop: &dyn Fn() -> bool,
    better: &mut dyn FnMut(&Optimum),
) -> Result<Optimum, NoOptimum> {
    task.check()?;
    let basis = Basis::of(task.region, task.model, task.candidates)?;
    let field = Field::new(&basis, task.criterion, task.candidates);
    let fixed: Vec<Vec<f64>> = task.fixed.iter().map(|mixture| basis.terms(mixture)).collect();
    let mut chance = Chance::from_seed(task.seed);
    let mut best: Option<Optimum> = None;
    let (mut tried, mut finished) = (0, true);
    while finished && tried < task.tries.max(1) {
        // Each start has a chance of its own, so that the first of many are the same as few.
        let mut attempt = task.start(&field, &fixed, &mut Chance::from_seed(chance.number()))?;
        finished = attempt.improve(stop);
        tried += usize::from(finished);
        let Some(quality) = quality_of(&field, attempt.glasses()) else { continue };
        if best.as_ref().is_none_or(|best| quality.is_better(&best.quality, task.criterion)) {
            attempt.chosen.sort_unstable();
            let chosen = attempt.chosen.iter().map(|&at| task.candidates[at].clone());
            let mixtures = task.fixed.iter().cloned().chain(chosen).collect();
            let found = Optimum { mixtures, quality, tried, finished: false };
            better(&found);
            best = Some(found);
        }
    }
    // Where roundings spoilt every attempt, there was too little to tell the terms apart.
    best.map(|best| Optimum { tried, finished, ..best }).ok_or_else(|| task.too_few_left())
}

/// How good some glasses are; none where they do not tell the model's terms apart. The worst prediction is looked for among
/// the candidates.
#[must_use]
pub fn quality(region: &Region, model: Model, glasses: &[Vec<f64>], candidates: &[Vec<f64>]) -> Option<Quality> {
    let basis = Basis::of(region, model, candidates).ok()?;
    let field = Field::new(&basis, Criterion::Determinant, candidates);
    let terms: Vec<Vec<f64>> = glasses.iter().map(|glass| basis.terms(glass)).collect();
    quality_of(&field, terms.iter().map(Vec::as_slice))
}

/// The same, of glasses whose terms are known.
pub(super) fn quality_of<'a>(field: &Field<'_>, glasses: impl Iterator<Item = &'a [f64]>) -> Option<Quality> {
    let size = field.basis.size();
    let mut count = 0_u32;
    let triangle = Square::of_products(size, glasses.inspect(|_| count += 1)).triangle().ok()?;
    let inverse = triangle.inverse();
    let variance = |terms: &Vec<f64>| dot(&inverse.times(terms), terms);
    let worst = field.terms.iter().map(variance).fold(0.0_f64, f64::max);
    let (size, count) = (size as f64, f64::from(count));
    let log_determinant = field.basis.in_shares(triangle.log_determinant());
    let g_efficiency = size / (count * worst);
    Some(Quality {
        log_determinant,
        d: libm::exp(log_determinant / size) / count,
        g_efficiency,
        d_efficiency_at_least: libm::exp(1.0 - 1.0 / g_efficiency),
        average_variance: inverse.dot(&field.basis.moments),
    })
}

impl Quality {
    fn is_better(&self, other: &Quality, criterion: Criterion) -> bool {
        /// Choices that differ by less are alike, and the first found is kept.
        const ALIKE: f64 = 1e-9;
        match criterion {
            Criterion::Determinant => self.log_determinant > other.log_determinant + ALIKE,
            Criterion::Average => self.average_variance < other.average_variance * (1.0 - ALIKE),
        }
    }
}

impl Task<'_> {
    fn check(&self) -> Result<(), NoOptimum> {
        let (components, glasses, fixed) = (self.region.components(), self.glasses, self.fixed.len());
        let is_mixture = |mixture: &Vec<f64>| {
            let sum: f64 = mixture.iter().sum();
            mixture.len() == components && mixture.iter().all(|share| *share >= 0.0) && (sum - 1.0).abs() < 1e-6
        };
        if !self.candidates.iter().chain(self.fixed).all(is_mixture) {
            return Err(NoOptimum::NoMixture { components });
        }
        if fixed > glasses {
            return Err(NoOptimum::TooManyFixed { fixed, glasses });
        }
        let terms = self.model.size(components);
        if glasses < terms {
            return Err(NoOptimum::TooFew { model: self.model.word(), terms, glasses });
        }
        Ok(())
    }

    /// A start with a part of chance, or without where that leads nowhere; an error where that does not either.
    fn start<'a>(
        &self,
        field: &'a Field<'a>,
        fixed: &'a [Vec<f64>],
        chance: &mut Chance,
    ) -> Result<Attempt<'a>, NoOptimum> {
        let count = self.glasses - self.fixed.len();
        let of_chance = chance.below(count / 2 + 1);
        Attempt::start(field, fixed, count, of_chance, chance)
            .or_else(|| Attempt::start(field, fixed, count, 0, chance))
            .ok_or_else(|| self.too_few_left())
    }

    fn too_few_left(&self) -> NoOptimum {
        let (fixed, terms) = (self.fixed.len(), self.model.size(self.region.components()));
        NoOptimum::TooFewLeft { model: self.model.word(), terms, fixed, left: self.glasses - fixed }
    }
}
