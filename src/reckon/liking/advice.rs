//! What the average surface advises: the ratio that is liked best, how sure that is, and what else is as good.

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::averaged::{Averaged, Place};
use super::ratings::Ratings;
use super::space::Space;
use crate::reckon::chance::Chance;
use crate::reckon::surface::{Range, Region};

/// The panel tells something where scores dealt anew say as much no oftener than this.
const TELLS: f64 = 0.05;

/// A band is meant to hold in so many panels of a hundred: a half of the rest lies above it.
const BAND: f64 = 0.975;

/// A blend is as good where its loss is within this quantile of its error: what is truly best is among them nineteen times in twenty.
const AS_GOOD: f64 = 0.85;

/// From so many of the likeliest blends the best is sought.
const STARTS: usize = 6;

/// By steps of so much the best is sought, of a component into another.
const STEPS: [f64; 3] = [0.05, 0.02, 0.01];

/// At these parts of the way from the best to any that is allowed, blends are held against it.
const WAY: [f64; 4] = [0.25, 0.5, 0.75, 1.0];

/// A factor that is less by this is not less: rounding.
const ROUNDING: f64 = 1e-9;

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The blends that were poured, each once: fractions of one.
    pub blends: &'a [Vec<f64>],
    /// What was said of them.
    pub ratings: &'a Ratings,
    /// Blends that lie evenly among all that are allowed.
    pub allowed: &'a [Vec<f64>],
    /// Which are allowed.
    pub region: &'a Region,
    /// How often the scores are dealt anew.
    pub deals: usize,
    /// The seed by which they are.
    pub seed: u64,
}

/// By how much a blend is liked less than the best.
#[derive(Clone, Debug, PartialEq)]
pub struct Below {
    /// The blend.
    pub shares: Vec<f64>,
    /// What it is expected to score.
    pub expected: f64,
    /// The loss.
    pub loss: f64,
    /// The standard error of the loss.
    pub error: f64,
    /// Whether it is as good as the best as far as the panel can tell.
    pub is_as_good: bool,
}

/// The advice.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// How often scores dealt anew say as much.
    pub chance: f64,
    /// By how much the ratings speak for a surface: the logarithm of a ratio of likelihoods.
    pub factor: f64,
    /// The ratio that is expected to be liked best: advised where the panel tells, else where it leans.
    pub best: Vec<f64>,
    /// What it is expected to score, in the mean of this panel.
    pub score: f64,
    /// The band of that: 95 %.
    pub band: Range,
    /// For each component, the shares of all blends that are as good.
    pub as_good: Vec<Range>,
    /// The blend of the middle.
    pub middle: Below,
    /// The blends that were poured, in their order.
    pub poured: Vec<Below>,
    /// The standard deviation of one rating about the surface.
    pub noise: f64,
}

impl Advice {
    /// Whether the panel tells one ratio from another.
    #[must_use]
    pub fn tells(&self) -> bool {
        self.chance <= TELLS
    }
}

/// Advises. None where the ratings tell nothing at all, or nothing may vary.
#[must_use]
pub fn advise(asked: &Asked<'_>) -> Option<Advice> {
    let Asked { blends, ratings, allowed, .. } = *asked;
    let space = Space::of(allowed)?;
    let even = Averaged::of(&space, blends, ratings, &ratings.even())?;
    let surface = Averaged::of(&space, blends, ratings, &ratings.weights(&even, blends))?;
    let held = Held::new(asked, &surface);
    let width = quantile(BAND, ratings) * held.error;
    Some(Advice {
        chance: chance(asked, &even),
        factor: even.factor(),
        score: held.score,
        band: Range { least: held.score - width, most: held.score + width },
        as_good: held.as_good(asked),
        middle: held.below(space.middle()),
        poured: blends.iter().map(|blend| held.below(blend)).collect(),
        noise: surface.noise().sqrt(),
        best: held.best,
    })
}

/// How often scores dealt anew within their sittings say as much to the surface that counts all tasters alike.
fn chance(asked: &Asked<'_>, surface: &Averaged<'_>) -> f64 {
    let even = asked.ratings.even();
    let mut dealt = asked.ratings.clone();
    let mut chance = Chance::from_seed(asked.seed);
    let mut reached = 0;
    for _ in 0..asked.deals {
        dealt.deal(&mut chance);
        if surface.factor_of(&dealt.sums(&even)) >= surface.factor() - ROUNDING {
            reached += 1;
        }
    }
    f64::from(1 + reached) / (1 + asked.deals) as f64
}

/// The quantile of a mean of ratings.
fn quantile(probability: f64, ratings: &Ratings) -> f64 {
    StudentsT::new(0.0, 1.0, ratings.freedom()).map_or(f64::NAN, |student| student.inverse_cdf(probability))
}

/// The blend that is allowed and liked best, to whole hundredths where those that lie evenly are so.
fn highest(surface: &Averaged<'_>, asked: &Asked<'_>) -> Vec<f64> {
    let poured = asked.blends.iter().filter(|blend| asked.region.allows(blend));
    let liked = |blend: Vec<f64>| (surface.liking(&blend), blend);
    let mut starts: Vec<(f64, Vec<f64>)> = asked.allowed.iter().chain(poured).cloned().map(liked).collect();
    starts.sort_by(|(one, _), (other, _)| other.total_cmp(one));
    starts.truncate(STARTS);
    let climbed = starts.into_iter().map(|start| climb(surface, asked.region, start));
    climbed.max_by(|(one, _), (other, _)| one.total_cmp(other)).map_or_else(Vec::new, |(_, best)| best)
}

/// The blend that no step of a component into another betters.
fn climb(surface: &Averaged<'_>, region: &Region, start: (f64, Vec<f64>)) -> (f64, Vec<f64>) {
    let (mut liking, mut at) = start;
    let components = at.len();
    for step in STEPS {
        loop {
            let pairs = (0..components).flat_map(|from| (0..components).map(move |to| (from, to)));
            let stepped = pairs.filter(|(from, to)| from != to).map(|(from, to)| {
                let mut next = at.clone();
                next[from] -= step;
                next[to] += step;
                next
            });
            let next = stepped.filter(|next| region.allows(next)).map(|next| (surface.liking(&next), next));
            match next.max_by(|(one, _), (other, _)| one.total_cmp(other)) {
                Some((better, next)) if better > liking + ROUNDING => (liking, at) = (better, next),
                _ => break,
            }
        }
    }
    (liking, at)
}

/// The best, to hold other blends against.
struct Held<'a> {
    surface: &'a Averaged<'a>,
    best: Vec<f64>,
    place: Place,
    score: f64,
    error: f64,
    /// So many errors below the best a blend is as good still.
    reach: f64,
}

impl<'a> Held<'a> {
    fn new(asked: &Asked<'_>, surface: &'a Averaged<'a>) -> Held<'a> {
        let best = highest(surface, asked);
        let place = surface.place(&best);
        // What it scores: the mean of all scores, and what it is liked more than the blends that these were of.
        let poured: Vec<Place> = asked.blends.iter().map(|blend| surface.place(blend)).collect();
        let parts = asked.ratings.parts();
        let less = parts.iter().map(|part| -part).zip(&poured);
        let places: Vec<(f64, &Place)> = [(1.0, &place)].into_iter().chain(less).collect();
        let (more, variance) = surface.sum(&places);
        let error = (variance + surface.noise() / asked.ratings.count() as f64).sqrt();
        let (score, reach) = (asked.ratings.mean() + more, quantile(AS_GOOD, asked.ratings));
        Held { surface, best, place, score, error, reach }
    }

    /// How a blend is liked beside the best.
    fn below(&self, blend: &[f64]) -> Below {
        let place = self.surface.place(blend);
        let (loss, variance) = self.surface.sum(&[(1.0, &self.place), (-1.0, &place)]);
        let error = variance.sqrt();
        let expected = self.score - loss;
        Below { shares: blend.to_vec(), expected, loss, error, is_as_good: loss <= self.reach * error + ROUNDING }
    }

    /// For each component, its shares in all blends that are as good.
    fn as_good(&self, asked: &Asked<'_>) -> Vec<Range> {
        let mut ranges: Vec<Range> = self.best.iter().map(|&share| Range { least: share, most: share }).collect();
        for blend in asked.allowed.iter().chain(asked.blends) {
            for part in WAY {
                let on_the_way: Vec<f64> =
                    self.best.iter().zip(blend).map(|(best, other)| best + part * (other - best)).collect();
                if !asked.region.allows(&on_the_way) || !self.below(&on_the_way).is_as_good {
                    continue;
                }
                for (range, share) in ranges.iter_mut().zip(&on_the_way) {
                    range.least = range.least.min(*share);
                    range.most = range.most.max(*share);
                }
            }
        }
        ranges
    }
}
