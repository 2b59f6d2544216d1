//! A whole design: the glasses of a kind, those poured by free hand, and hidden repeats.
//!
//! **The quality told** is that of the shares really poured. The mean variance is exact where the region is a simplex, else from 2,000
//! points that are always the same. Where rounding takes a glass out of a bound, one step of one component for another's is tried to bring
//! it back; else it is said.
//!
//! **Hidden repeats** are the glass nearest the middle, then the one farthest from those repeated, so that tasters are tried all over; they
//! are not chosen for the model's sake.

use thiserror::Error;

use super::centroid::{axial_points, simplex_centroid};
use super::lattice::{lattice_size, simplex_lattice};
use super::optimal::{Criterion, NoOptimum, Optimum, Quality, Task, candidates, choose, in_millionths, quality};
use super::pour::as_poured;
use super::region::Region;
use super::scheffe::Model;
use super::spreading::{allowed, spread_among, within};
use crate::units::{by_count, counted};

/// More glasses than this are in no trial: codes of three digits would run out.
pub const MOST_GLASSES: usize = 500;
/// So many starts find the best choice of most trials.
pub const USUAL_TRIES: usize = 10;
/// Unless it is said, an optimal choice has so many glasses more than its model has terms: some are needed to see how far
/// tastes scatter (common practice).
const BEYOND_TERMS: usize = 5;
/// So many blends are looked at for each glass of a spread, at least: fewer would leave it no choice.
const ROOM: usize = 3;
/// A glass by free hand may miss a bound by so much: its shares are written to some decimals only.
const WRITTEN: f64 = 1e-6;

/// One glass of so many stands twice in a spread, under another code, to test the tasters (found best by simulation: fewer teach less of
/// the tasters, more cost glasses that would teach more of the wine).
const OF_WHICH_ONE_TWICE: usize = 10;

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

impl Kind {
    /// What it is for.
    #[must_use]
    pub const fn purpose(self) -> &'static str {
        match self {
            Kind::Spread => {
                "To find the best ratio: glasses spread over all that is allowed, no model believed before."
            }
            Kind::FreeHand => "Glasses by free hand and no others: to compare what somebody has in mind.",
            Kind::Lattice(_) => {
                "Whole multiples of a step: ratios that are easily said and poured, for a first look at two or three wines."
            }
            Kind::Centroid => "Each wine alone and equal parts of every choice: to see which wines go together.",
            Kind::Corners(_) => {
                "The corners of what is allowed: to see how far the bounds reach, not what lies between."
            }
            Kind::Optimal(Criterion::Determinant) => {
                "The fewest ratios that fix a model's numbers, the same again and again: for a model that is believed before."
            }
            Kind::Optimal(Criterion::Average) => {
                "Ratios by which a model foretells best on average, some again and again: for a model that is believed before."
            }
        }
    }
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
    /// In how many steps a glass is poured, where that is known: a spread has no two glasses then that would be poured alike.
    pub steps: Option<u64>,
}

/// How many glasses there are in all, and how many of them stand twice, where it is not said: a spread and an optimal choice have five
/// more than their model has terms; the other kinds have their own number.
#[must_use]
pub fn usual_counts(
    (kind, model, components): (Kind, Model, usize),
    glasses: Option<usize>,
    repeats: Option<usize>,
) -> (Option<usize>, usize) {
    let different = model.size(components) + BEYOND_TERMS;
    match kind {
        Kind::Spread => {
            // As many as leave so many when those that stand twice are taken off.
            let twice = || repeats.unwrap_or((different - 1) / (OF_WHICH_ONE_TWICE - 1));
            let glasses = glasses.unwrap_or_else(|| different + twice());
            (Some(glasses), repeats.unwrap_or(glasses / OF_WHICH_ONE_TWICE))
        }
        Kind::Optimal(_) => (glasses.or(Some(different + repeats.unwrap_or(0))), repeats.unwrap_or(0)),
        _ => (glasses, repeats.unwrap_or(0)),
    }
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
    #[error("Bounds and limits leave one blend only, and there is nothing to try. Loosen one of them.")]
    OneBlend,
    #[error("'{0}' is in none of the glasses. Leave it out, or let it have a share.")]
    InNoGlass(String),
    #[error("{} can be poured within these bounds, and {wanted} are wanted. Ask for fewer glasses, loosen a bound, or read finer steps.", counted(*.there, "different blend"))]
    TooNarrow { there: usize, wanted: usize },
    #[error("No whole multiple of a step lies within these bounds. Take more steps, or a spread.")]
    NoneInside,
    #[error("A lattice has at least 1 step, like 2 for halves or 3 for thirds.")]
    NoSteps,
    #[error("That makes {}, and a trial has at most 500. Take a spread of so many as can be tasted.", glasses(*.0))]
    TooMany(Option<usize>),
    #[error("That makes {}, and {wanted} {} wanted. Leave the number out, or take a spread, which has as many as are asked for.", counted(*.made, "glass"), by_count(*.wanted, "is", "are"))]
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
        Kind::Spread => (wanted.spread(region)?, true),
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
    if let Some(absent) = (0..region.components()).find(|&at| mixtures.iter().all(|mixture| mixture[at] <= WRITTEN)) {
        return Err(DesignError::InNoGlass(region.name(absent).to_owned()));
    }
    let again = match wanted.kind {
        // The first of a spread lie farthest apart.
        Kind::Spread => {
            (wanted.free_hand.len()..mixtures.len()).chain(0..wanted.free_hand.len()).take(wanted.repeats).collect()
        }
        _ => spread_out(region, &mixtures, wanted.repeats),
    };
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

    /// The glasses of a spread, those by free hand first: as many as are asked for, no two of them poured alike.
    fn spread(&self, region: &Region) -> Result<Vec<Vec<f64>>, DesignError> {
        if region.is_one_blend() {
            return Err(DesignError::OneBlend);
        }
        let wanted = self.glasses.ok_or(DesignError::HowMany)? - self.repeats;
        let poured = |mixtures: &[Vec<f64>]| match self.steps {
            Some(steps) => distinct(mixtures.iter().filter_map(|mixture| as_poured(region, mixture, steps)).collect()),
            None => mixtures.to_vec(),
        };
        let mut allowed = poured(&allowed(region, ROOM * wanted));
        if let Some(steps) = self.steps.filter(|_| allowed.len() < wanted) {
            // Nothing between the steps of the cylinder can be poured: all that can be is this.
            let finest = usize::try_from(steps).ok().and_then(|steps| within(region, steps));
            allowed = distinct(allowed.into_iter().chain(finest.unwrap_or_default()).collect());
        }
        let new =
            spread_among(&allowed, &poured(&self.free_hand), wanted.saturating_sub(self.free_hand.len()), self.seed);
        let there = self.free_hand.len() + new.len();
        if there < wanted {
            return Err(DesignError::TooNarrow { there, wanted });
        }
        Ok(self.free_hand.iter().cloned().chain(new).collect())
    }
}

/// The mixtures of a kind that has no choice.
fn by_kind(region: &Region, kind: Kind) -> Result<Vec<Vec<f64>>, DesignError> {
    let components = region.components();
    let scaled = |pseudo: Vec<Vec<f64>>| pseudo.iter().map(|pseudo| region.from_pseudocomponents(pseudo)).collect();
    match kind {
        Kind::Lattice(0) => Err(DesignError::NoSteps),
        Kind::Lattice(_) | Kind::Centroid if region.is_one_blend() => Err(DesignError::OneBlend),
        Kind::Lattice(steps) if !region.is_simplex() => match within(region, steps) {
            Some(inside) if inside.is_empty() => Err(DesignError::NoneInside),
            Some(inside) => Ok(inside),
            None => Err(DesignError::TooMany(None)),
        },
        Kind::Lattice(steps) => {
            let size = lattice_size(components, steps);
            if size.is_none_or(|size| size > MOST_GLASSES) {
                return Err(DesignError::TooMany(size));
            }
            Ok(scaled(simplex_lattice(components, steps)))
        }
        Kind::Centroid if !region.is_simplex() && region.corners().points().len() > MOST_GLASSES => {
            Err(DesignError::TooMany(None))
        }
        Kind::Centroid if !region.is_simplex() => {
            // The same of any region: its corners, the middles of its edges and faces (McLean & Anderson 1966, "Extreme vertices design of
            // mixture experiments"), and half way from the overall middle to each corner.
            let (corners, middle) = (region.corners(), region.corners().middle());
            let half_way =
                |corner: &Vec<f64>| corner.iter().zip(&middle).map(|(one, other)| (one + other) / 2.0).collect();
            let axial: Vec<Vec<f64>> = corners.points().iter().map(half_way).collect();
            let middles = [corners.edge_middles(), corners.face_middles(), vec![middle.clone()]].concat();
            Ok(distinct([corners.points().to_vec(), middles, axial].concat()))
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
