//! A whole design: the glasses of a kind, those poured by free hand, and hidden repeats.

use thiserror::Error;

use super::centroid::{axial_points, simplex_centroid};
use super::lattice::{lattice_size, simplex_lattice};
use super::optimal::{Criterion, NoOptimum, Optimum, Quality, Task, candidates, choose, in_millionths, quality};
use super::region::Region;
use super::scheffe::Model;
use super::spreading::spread;
use crate::units::{by_count, counted};

/// More glasses than this are in no trial: codes of three digits would run out.
pub const MOST_GLASSES: usize = 500;
/// So many starts find the best choice of most trials.
pub const USUAL_TRIES: usize = 10;
/// Unless it is said, an optimal choice has so many glasses more than its model has terms: some are needed to see how far
/// tastes scatter (common practice).
const BEYOND_TERMS: usize = 5;
/// A glass by free hand may miss a bound by so much: its shares are written to some decimals only.
const WRITTEN: f64 = 1e-6;

/// How the glasses are laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Spread over all that is allowed, each as far as can be from those before it.
    Spread,
    /// Those by free hand and no others.
    FreeHand,
    /// Whole multiples of a step: the {q, m} lattice of so many steps.
    Lattice(usize),
    /// Equal shares of every choice of components, and the axial points.
    Centroid,
    /// The corners of the region and its overall middle, with the middles of edges and faces if wished.
    Corners(Middles),
    /// The best choice of a number of glasses.
    Optimal(Criterion),
}

/// Of what a design of corners has the middles, besides the overall one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Middles {
    /// Of nothing else.
    Overall,
    /// Of edges.
    Edges,
    /// Of edges and of faces.
    Faces,
}

/// What a design is to be.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// How the glasses are laid out.
    pub kind: Kind,
    /// The model that is to be fitted; an optimal choice hangs on it, the others are judged by it.
    pub model: Model,
    /// How many glasses in all, those by free hand and hidden repeats counted. An optimal choice must know; for the others it is
    /// only checked.
    pub glasses: Option<usize>,
    /// Mixtures that are poured anyway.
    pub free_hand: Vec<Vec<f64>>,
    /// How many glasses are poured a second time under another code, to see whether tasters know them again.
    pub repeats: usize,
    /// How many starts an optimal choice tries.
    pub tries: usize,
    /// The seed of chance.
    pub seed: u64,
}

/// How many glasses an optimal choice takes where it is not said; the other kinds have their own number.
#[must_use]
pub fn usual_glasses(kind: Kind, model: Model, components: usize, repeats: usize) -> Option<usize> {
    matches!(kind, Kind::Optimal(_) | Kind::Spread).then(|| model.size(components) + BEYOND_TERMS + repeats)
}

/// A glass of a design.
#[derive(Clone, Debug, PartialEq)]
pub struct Glass {
    /// Its shares, in the order of the components.
    pub mixture: Vec<f64>,
    /// The earlier glass that it repeats, by number from 0.
    pub repeat_of: Option<usize>,
}

/// A design.
#[derive(Clone, Debug, PartialEq)]
pub struct Design {
    /// The glasses: by free hand, then by kind, then repeats.
    pub glasses: Vec<Glass>,
    /// How good they are for the model; none where they cannot tell its terms apart.
    pub quality: Option<Quality>,
    /// Whether an optimal choice was searched to its end; the other kinds always are.
    pub finished: bool,
}

impl Design {
    /// The glasses' mixtures.
    #[must_use]
    pub fn mixtures(&self) -> Vec<Vec<f64>> {
        self.glasses.iter().map(|glass| glass.mixture.clone()).collect()
    }
}

/// Why there is no design.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation
pub enum DesignError {
    #[error(
        "A lattice or centroid design has its own shape, which fits only where nothing but least shares binds. Take the vertices, or an optimal choice."
    )]
    NotASimplex,
    #[error("A lattice has at least 1 step, like 2 for halves or 3 for thirds.")]
    NoSteps,
    #[error("That makes {}, and a trial has at most 500. Take an optimal choice of so many as can be tasted.", glasses(*.0))]
    TooMany(Option<usize>),
    #[error("That makes {}, and {wanted} {} wanted. Leave the number out, or take an optimal choice.", counted(*.made, "glass"), by_count(*.wanted, "is", "are"))]
    Count { made: usize, wanted: usize },
    #[error("A spread or an optimal choice must know how many glasses there are to be.")]
    HowMany,
    #[error("{} {} too few of {}. Repeat at most every glass once.", counted(*.repeats, "hidden repeat"), by_count(*.repeats, "leaves", "leave"), counted(*.glasses, "glass"))]
    Repeats { repeats: usize, glasses: usize },
    #[error("The glass by free hand number {number} is not within bounds: {broken}.")]
    FreeHand { number: usize, broken: String },
    #[error(transparent)]
    NoOptimum(#[from] NoOptimum),
}

fn glasses(count: Option<usize>) -> String {
    count.map_or_else(|| "glasses beyond counting".to_owned(), |count| counted(count, "glass"))
}

/// Lays out a design. `stop` and `better` are those of [`choose`], for an optimal choice.
pub fn lay_out(
    region: &Region,
    wanted: &Wanted,
    stop: &dyn Fn() -> bool,
    better: &mut dyn FnMut(&Optimum),
) -> Result<Design, DesignError> {
    wanted.check(region)?;
    let candidates = candidates(region, wanted.seed);
    let (mut mixtures, finished) = match wanted.kind {
        Kind::Optimal(criterion) => {
            let glasses = wanted.glasses.ok_or(DesignError::HowMany)? - wanted.repeats;
            let (model, tries, seed) = (wanted.model, wanted.tries, wanted.seed);
            let fixed = &wanted.free_hand;
            let task = Task { region, model, criterion, candidates: &candidates, fixed, glasses, tries, seed };
            let found = choose(&task, stop, better)?;
            (found.mixtures, found.finished)
        }
        Kind::Spread => {
            let glasses = wanted.glasses.ok_or(DesignError::HowMany)? - wanted.repeats;
            (spread(region, &wanted.free_hand, glasses, wanted.seed), true)
        }
        kind => (wanted.free_hand.iter().cloned().chain(by_kind(region, kind)?).collect(), true),
    };
    let made = mixtures.len() + wanted.repeats;
    if made > MOST_GLASSES {
        return Err(DesignError::TooMany(Some(made)));
    }
    if let Some(wanted) = wanted.glasses.filter(|wanted| *wanted != made) {
        return Err(DesignError::Count { made, wanted });
    }
    if wanted.repeats > mixtures.len() {
        return Err(DesignError::Repeats { repeats: wanted.repeats, glasses: made });
    }
    let again = spread_out(region, &mixtures, wanted.repeats);
    mixtures.extend(again.into_iter().map(|at| mixtures[at].clone()).collect::<Vec<_>>());
    let quality = quality(region, wanted.model, &mixtures, &candidates);
    Ok(Design { glasses: with_repeats_named(mixtures), quality, finished })
}

impl Wanted {
    fn check(&self, region: &Region) -> Result<(), DesignError> {
        let components = region.components();
        for (at, mixture) in self.free_hand.iter().enumerate() {
            if mixture.len() != components {
                return Err(NoOptimum::NoMixture { components }.into());
            }
            if let Some(broken) = region.broken_by(mixture, WRITTEN) {
                return Err(DesignError::FreeHand { number: at + 1, broken });
            }
        }
        match self.glasses {
            Some(glasses) if glasses > MOST_GLASSES => Err(DesignError::TooMany(self.glasses)),
            Some(glasses) if self.repeats > glasses / 2 => Err(DesignError::Repeats { repeats: self.repeats, glasses }),
            None if matches!(self.kind, Kind::Optimal(_) | Kind::Spread) => Err(DesignError::HowMany),
            _ => Ok(()),
        }
    }
}

/// The mixtures of a kind that has no choice.
fn by_kind(region: &Region, kind: Kind) -> Result<Vec<Vec<f64>>, DesignError> {
    let components = region.components();
    let scaled = |pseudo: Vec<Vec<f64>>| pseudo.iter().map(|pseudo| region.from_pseudocomponents(pseudo)).collect();
    match kind {
        Kind::Lattice(0) => Err(DesignError::NoSteps),
        Kind::Lattice(_) | Kind::Centroid if !region.is_simplex() => Err(DesignError::NotASimplex),
        Kind::Lattice(steps) => {
            let size = lattice_size(components, steps);
            if size.is_none_or(|size| size > MOST_GLASSES) {
                return Err(DesignError::TooMany(size));
            }
            Ok(scaled(simplex_lattice(components, steps)))
        }
        Kind::Centroid => Ok(scaled([simplex_centroid(components), axial_points(components)].concat())),
        Kind::Corners(middles) => {
            let corners = region.corners();
            let mut mixtures = corners.points().to_vec();
            if middles >= Middles::Edges {
                mixtures.extend(corners.edge_middles());
            }
            if middles >= Middles::Faces {
                mixtures.extend(corners.face_middles());
            }
            if corners.points().len() > 1 {
                mixtures.push(corners.middle());
            }
            Ok(distinct(mixtures))
        }
        Kind::FreeHand | Kind::Spread | Kind::Optimal(_) => Ok(Vec::new()),
    }
}

/// Mixtures without those that were there before: the middle of two corners is that of their edge too.
fn distinct(mixtures: Vec<Vec<f64>>) -> Vec<Vec<f64>> {
    let mut seen = std::collections::BTreeSet::new();
    mixtures.into_iter().filter(|mixture| seen.insert(in_millionths(mixture))).collect()
}

/// Which glasses to repeat: the one nearest the middle, then again and again the one farthest from those already taken, so
/// that tasters are tried all over the region.
fn spread_out(region: &Region, mixtures: &[Vec<f64>], count: usize) -> Vec<usize> {
    let middle = region.corners().middle();
    let apart = |one: &[f64], other: &[f64]| one.iter().zip(other).map(|(a, b)| (a - b) * (a - b)).sum::<f64>();
    let mut taken: Vec<usize> = Vec::with_capacity(count);
    while taken.len() < count {
        let distance = |at: &usize| {
            let from_taken = taken.iter().map(|&taken| apart(&mixtures[*at], &mixtures[taken]));
            from_taken.reduce(f64::min).unwrap_or_else(|| -apart(&mixtures[*at], &middle))
        };
        let left = (0..mixtures.len()).filter(|at| !taken.contains(at));
        // The first of several alike is taken.
        let Some(farthest) = left.rev().max_by(|one, other| distance(one).total_cmp(&distance(other))) else { break };
        taken.push(farthest);
    }
    taken
}

/// Names what repeats what; an optimal choice may take a mixture several times by itself.
fn with_repeats_named(mixtures: Vec<Vec<f64>>) -> Vec<Glass> {
    let keys: Vec<Vec<i64>> = mixtures.iter().map(|mixture| in_millionths(mixture)).collect();
    let first = |at: usize| keys[..at].iter().position(|key| *key == keys[at]);
    let repeats: Vec<Option<usize>> = (0..keys.len()).map(first).collect();
    mixtures.into_iter().zip(repeats).map(|(mixture, repeat_of)| Glass { mixture, repeat_of }).collect()
}
