//! Which blends are as good as the best, as far as the panel can tell.
//!
//! A blend counts as worse if it is expected to score less than the best by more than chance would make of two equals: the
//! difference over its own standard error, by Student, one side. All that are not worse form the region; what is told of
//! it are the least and most of each share in it. With up to five components' freedom this region holds the true
//! best at least as often as a confidence region of its place would (Box and Hunter 1954), for at the best a surface is flat.
//!
//! **As good as the best** is told by the error of the difference, at every blend by itself. That region is wider than a confidence region
//! of the best's place: in simulations it held a planted best in 99 of 100 tastings, and the band of a score the truth in 96.

use nalgebra::DVector;
use serde::Serialize;

use super::fit::Fit;
use super::hull::Hull;
use super::region::{Polytope, Region};
use crate::reckon::chance::Chance;

/// From the longest to the shortest step of the search, as shares.
const STEPS: [f64; 7] = [0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002];
/// So many directions are drawn besides exchanges of two components.
const DRAWN: usize = 40;
/// Steps of one length that are taken at most: of the shortest, a tenth of all there is.
const MOST_STEPS: usize = 50;
/// On each way from the best to a known place so many places are tried.
const ON_THE_WAY: usize = 8;

/// The least and the most of a share.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Range {
    /// The least.
    pub least: f64,
    /// The most.
    pub most: f64,
}

/// The blends that are not worse than the best.
struct AsGood<'a> {
    fit: &'a Fit,
    polytope: &'a Polytope,
    best: DVector<f64>,
    errors: f64,
}

impl AsGood<'_> {
    fn holds(&self, at: &[f64]) -> bool {
        if !self.polytope.holds(at) {
            return false;
        }
        let (below, error) = self.fit.below(&self.best, at);
        below <= self.errors * error
    }
}

/// The least and most of each share among the blends that are as good as the best, which stands at `best`; `known` are
/// places to look from.
#[must_use]
pub fn ranges(
    fit: &Fit,
    polytope: &Polytope,
    region: &Region,
    best: &DVector<f64>,
    known: &[DVector<f64>],
) -> Vec<Range> {
    let set = AsGood { fit, polytope, best: fit.place(best.as_slice()), errors: fit.noise.one_sided() };
    let hull = &fit.hull;
    let mut pool = vec![best.clone()];
    for place in known {
        let places = (1..=ON_THE_WAY).map(|step| best.lerp(place, step as f64 / ON_THE_WAY as f64));
        pool.extend(places.filter(|at| set.holds(at.as_slice())));
    }
    let pool: Vec<(DVector<f64>, Vec<f64>)> = pool
        .into_iter()
        .map(|at| {
            let shares = hull.shares(at.as_slice());
            (at, shares)
        })
        .collect();
    let ways = ways(hull, region.lower.len());
    let furthest = |component: usize, sign: f64| {
        let value = |shares: &[f64]| sign * shares[component];
        let start = pool.iter().max_by(|one, other| value(&one.1).total_cmp(&value(&other.1)));
        let start = start.map_or_else(|| best.clone(), |(at, _)| at.clone());
        let (slope, at_nought) = hull.condition(&unit(component, region.lower.len(), sign));
        at_nought + climb(&set, &DVector::from_vec(slope), &ways, start)
    };
    (0..region.lower.len())
        .map(|it| {
            // A sum with nought makes nought of what is nought and negative.
            let bounded = |share: f64| share.clamp(region.lower[it], region.upper[it].max(region.lower[it])) + 0.0;
            Range { least: bounded(-furthest(it, -1.0)), most: bounded(furthest(it, 1.0)) }
        })
        .collect()
}

/// Goes as far along a slope as the set allows, in steps that become shorter; how far that is.
fn climb(set: &AsGood<'_>, slope: &DVector<f64>, ways: &[DVector<f64>], start: DVector<f64>) -> f64 {
    let uphill: Vec<DVector<f64>> =
        ways.iter().filter(|way| slope.dot(way).abs() > 1e-9).map(|way| way * slope.dot(way).signum()).collect();
    let mut at = start;
    for step in STEPS {
        let mut left = MOST_STEPS;
        while let Some(next) =
            uphill.iter().map(|way| &at + way * step).find(|next| set.holds(next.as_slice())).filter(|_| left > 0)
        {
            at = next;
            left -= 1;
        }
    }
    slope.dot(&at)
}

/// Ways to go: what one component gives to another, and ways that are drawn; each moves the shares by one or so.
fn ways(hull: &Hull, components: usize) -> Vec<DVector<f64>> {
    let origin = DVector::from_vec(hull.coordinates(&vec![1.0 / components as f64; components]));
    let way = |change: &[f64]| {
        let to: Vec<f64> = change.iter().map(|change| 1.0 / components as f64 + change).collect();
        DVector::from_vec(hull.coordinates(&to)) - &origin
    };
    let mut chance = Chance::from_seed(2);
    let mut ways = Vec::new();
    for one in 0..components {
        for other in one + 1..components {
            let exchange = (0..components).map(|it| f64::from(u8::from(it == one)) - f64::from(u8::from(it == other)));
            ways.push(way(&exchange.collect::<Vec<_>>()));
        }
    }
    for _ in 0..DRAWN {
        let drawn: Vec<f64> = (0..components).map(|_| chance.fraction()).collect();
        let mean = drawn.iter().sum::<f64>() / components as f64;
        ways.push(way(&drawn.iter().map(|one| one - mean).collect::<Vec<_>>()));
    }
    ways.retain(|way| way.norm() > 1e-9);
    ways
}

fn unit(component: usize, components: usize, sign: f64) -> Vec<f64> {
    (0..components).map(|it| if it == component { sign } else { 0.0 }).collect()
}
