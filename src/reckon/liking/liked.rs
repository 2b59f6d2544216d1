//! The surface as it is told: which blend is liked best, what every other is expected to score beside it, and what is as good.

use std::sync::Arc;

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::averaged::{Averaged, Gathered, Place};
use super::ratings::Ratings;
use super::space::Space;
use crate::reckon::surface::{Compared, Predicted, Range, Region};

/// A band is meant to hold in so many panels of a hundred: a half of the rest lies above it.
const BAND: f64 = 0.975;

/// A blend is as good where its loss is within this quantile of its error: what is truly best is among them nineteen times in twenty (it was
/// in 95 % of simulated panels that told something; in 90 % at 0.85, since the best is chosen among many).
const AS_GOOD: f64 = 0.90;

/// Tasters use scales of different width and have tastes of their own: what the mean one likes more by a point one of them likes more by so
/// much more or less of it (a standard deviation; our choice: a quarter for each of the two).
const WIDTHS: f64 = 0.35;

/// From so many of the likeliest blends the best is sought.
const STARTS: usize = 6;

/// By steps of so much the best is sought, of a component into another.
const STEPS: [f64; 3] = [0.05, 0.02, 0.01];

/// At these parts of the way from the best to any that is allowed, blends are held against it.
const WAY: [f64; 4] = [0.25, 0.5, 0.75, 1.0];

/// A share that is nearer than this to its bound is a trace: a hose is laid for nothing that anybody can taste.
const TRACE: f64 = 0.05;

/// A trace is left out where that costs no more than this part of its error.
const UNSEEN: f64 = 0.15;

/// A liking that is more by no more than this is no more: rounding.
const ROUNDING: f64 = 1e-9;

/// How far from the best a simpler ratio may lie, in steps: first as near as can be, then wider.
const REACH: [i32; 2] = [1, 2];

/// What is asked of the ratings.
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
}

/// The surface, held against its best blend.
#[derive(Clone, Debug, PartialEq)]
pub struct Liked {
    surface: Averaged,
    /// The blends that were rated, each as much as the mean taster rated of it: less than nothing of them.
    rated: Gathered,
    /// The mean of all scores, and its variance.
    mean: (f64, f64),
    /// The variance of how wide a scale the mean taster uses: of one taster alone nothing is known but what he said.
    widths: f64,
    best: Vec<f64>,
    best_place: Place,
    /// The same, to be taken off.
    best_off: Gathered,
    middle: Vec<f64>,
    /// So many errors below the best a blend is as good still.
    reach: f64,
    /// So many errors to either side a band goes.
    half_band: f64,
}

impl Liked {
    /// The surface that counts each taster the less the more his scores scatter, by which it is judged whether the panel tells anything, and
    /// the one that is told, which counts each the less the more they scatter about the first. None where the ratings tell nothing at all, or nothing may vary.
    #[must_use]
    pub fn of(asked: &Asked<'_>) -> Option<(Averaged, Liked)> {
        let Asked { blends, ratings, allowed, region } = *asked;
        let space = Arc::new(Space::of(allowed)?);
        let judged = Averaged::of(&space, blends, ratings, &ratings.by_scatter())?;
        let surface = Averaged::of(&space, blends, ratings, &ratings.weights(&judged, blends))?;
        let best = without_traces(&surface, region, highest(&surface, allowed, blends, region));
        let parts = ratings.parts().into_iter().map(|part| -part);
        let rated = surface.gather(parts.zip(blends.iter().map(|blend| surface.place(blend))).collect());
        let best_place = surface.place(&best);
        let liked = Liked {
            rated,
            mean: (ratings.mean(), surface.noise() / ratings.count() as f64),
            widths: if ratings.tasters() > 1 { WIDTHS * WIDTHS / ratings.tasters() as f64 } else { 0.0 },
            best_off: surface.gather(vec![(-1.0, best_place.clone())]),
            best_place,
            best,
            middle: space.middle().to_vec(),
            reach: quantile(AS_GOOD, ratings),
            half_band: quantile(BAND, ratings),
            surface,
        };
        Some((judged, liked))
    }

    /// The blend that is liked best.
    #[must_use]
    pub fn best(&self) -> &[f64] {
        &self.best
    }

    /// The blend in the middle of all that are allowed.
    #[must_use]
    pub fn middle(&self) -> &[f64] {
        &self.middle
    }

    /// How one rating scatters about the surface: a standard deviation.
    #[must_use]
    pub fn noise(&self) -> f64 {
        self.surface.noise().sqrt()
    }

    /// So many errors to either side hold the truth nineteen times in twenty.
    #[must_use]
    pub fn half_band(&self) -> f64 {
        self.half_band
    }

    /// What a blend is expected to score, in the mean of this panel.
    #[must_use]
    pub fn predict(&self, shares: &[f64]) -> Predicted {
        self.predict_at(&self.surface.place(shares))
    }

    fn predict_at(&self, place: &Place) -> Predicted {
        let (more, variance) = self.surface.against(place, &self.rated);
        let (mean, of_mean) = self.mean;
        Predicted { score: mean + more, error: (variance + of_mean + self.widths * more * more).sqrt() }
    }

    /// The band of what the best is expected to score: 95 %.
    #[must_use]
    pub fn band(&self) -> (Predicted, Range) {
        let predicted = self.predict_at(&self.best_place);
        let width = self.half_band * predicted.error;
        (predicted, Range { least: predicted.score - width, most: predicted.score + width })
    }

    /// How a blend compares with the best.
    #[must_use]
    pub fn compare(&self, shares: &[f64]) -> Compared {
        let place = self.surface.place(shares);
        let (below, error) = self.below(&place);
        let is_worse = below > self.reach * error + ROUNDING;
        Compared { shares: shares.to_vec(), predicted: self.predict_at(&place), below, error, is_worse }
    }

    fn below(&self, place: &Place) -> (f64, f64) {
        let (more, variance) = self.surface.against(place, &self.best_off);
        (-more, variance.sqrt())
    }

    /// Whether a blend is as good as the best, as far as the panel can tell.
    #[must_use]
    pub fn is_as_good(&self, shares: &[f64]) -> bool {
        let (below, error) = self.below(&self.surface.place(shares));
        below <= self.reach * error + ROUNDING
    }

    /// For each component, its shares in all blends that are as good.
    #[must_use]
    pub fn as_good(&self, asked: &Asked<'_>) -> Vec<Range> {
        let mut ranges: Vec<Range> = self.best.iter().map(|&share| Range { least: share, most: share }).collect();
        for blend in asked.allowed.iter().chain(asked.blends) {
            for part in WAY {
                let on_the_way: Vec<f64> =
                    self.best.iter().zip(blend).map(|(best, other)| best + part * (other - best)).collect();
                if !asked.region.allows(&on_the_way) || !self.is_as_good(&on_the_way) {
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

    /// The blend in whole steps (a twentieth for 5 %) near the best that is allowed and liked most; none where no such blend is allowed.
    #[must_use]
    pub fn rounded(&self, region: &Region, steps: i32) -> Option<Vec<f64>> {
        REACH.iter().find_map(|&reach| {
            let near = near(&self.best, steps, reach).into_iter().filter(|shares| region.allows(shares));
            let liked = near.map(|shares| (self.surface.liking(&shares), shares));
            liked.max_by(|(one, _), (other, _)| one.total_cmp(other)).map(|(_, shares)| shares)
        })
    }
}

/// The quantile of a mean of ratings.
fn quantile(probability: f64, ratings: &Ratings) -> f64 {
    StudentsT::new(0.0, 1.0, ratings.freedom()).map_or(f64::NAN, |student| student.inverse_cdf(probability))
}

/// The blends in whole steps of which no share is further from a blend than so many of them.
#[allow(clippy::cast_possible_truncation)] // a share of a few steps
fn near(blend: &[f64], steps: i32, reach: i32) -> Vec<Vec<f64>> {
    let mut counts: Vec<Vec<i32>> = vec![Vec::new()];
    for (at, share) in blend.iter().enumerate() {
        let below = (share * f64::from(steps) + 1e-9).floor() as i32;
        let is_last = at + 1 == blend.len();
        let longer = |count: Vec<i32>| {
            let left = steps - count.iter().sum::<i32>();
            let (least, most) = ((below + 1 - reach).max(0), (below + reach).min(left));
            let least = if is_last { least.max(left) } else { least };
            (least..=most).map(move |of_this| [count.as_slice(), &[of_this]].concat())
        };
        counts = counts.into_iter().flat_map(longer).collect();
    }
    counts.into_iter().map(|count| count.into_iter().map(|it| f64::from(it) / f64::from(steps)).collect()).collect()
}

/// The blend that is allowed and liked best, to whole hundredths where those that lie evenly are so.
fn highest(surface: &Averaged, allowed: &[Vec<f64>], poured: &[Vec<f64>], region: &Region) -> Vec<f64> {
    let poured = poured.iter().filter(|blend| region.allows(blend));
    let liked = |blend: Vec<f64>| (surface.liking(&blend), blend);
    let mut starts: Vec<(f64, Vec<f64>)> = allowed.iter().chain(poured).cloned().map(liked).collect();
    starts.sort_by(|(one, _), (other, _)| other.total_cmp(one));
    starts.truncate(STARTS);
    let climbed = starts.into_iter().map(|start| climb(surface, region, start));
    climbed.max_by(|(one, _), (other, _)| one.total_cmp(other)).map_or_else(Vec::new, |(_, best)| best)
}

/// The blend without what nobody would miss of it: shares that lie next to a bound, and at it lose nothing that can be told.
fn without_traces(surface: &Averaged, region: &Region, best: Vec<f64>) -> Vec<f64> {
    let mut kept = best;
    for component in 0..kept.len() {
        let bounds = [region.lower[component], region.upper[component]];
        let Some(bound) = bounds.into_iter().find(|bound| (kept[component] - bound).abs() < TRACE) else { continue };
        let moved = kept[component] - bound;
        let others = (0..kept.len()).filter(|&other| other != component && moved != 0.0);
        let without = others.map(|other| {
            let mut next = kept.clone();
            next[component] = bound;
            next[other] += moved;
            next
        });
        let without = without.filter(|next| region.allows(next)).map(|next| (surface.liking(&next), next));
        if let Some((_, next)) = without.max_by(|(one, _), (other, _)| one.total_cmp(other)) {
            let (loss, variance) = surface.more(&surface.place(&kept), &surface.place(&next));
            if loss <= UNSEEN * variance.sqrt() {
                kept = next;
            }
        }
    }
    kept
}

/// The blend that no step of a component into another betters.
fn climb(surface: &Averaged, region: &Region, start: (f64, Vec<f64>)) -> (f64, Vec<f64>) {
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
    // Many steps leave roundings.
    (liking, at.into_iter().map(|share| (share * 1e9).round() / 1e9).collect())
}
