//! Glasses that fill what is allowed: each as far as can be from those before it (Kennard & Stone 1969, "Computer aided design of
//! experiments"). No model need be believed before anybody has tasted.
//!
//! **A spread** chooses among blends as they come out of the cylinder, so that no two glasses are poured alike; where the lattice by 5 % is
//! short of them it is taken finer, at last in the very steps of the cylinder. One glass of ten stands twice: the first of the spread,
//! which lie farthest apart.

use std::collections::BTreeSet;

use super::optimal::in_millionths;
use super::region::Region;
use crate::reckon::chance::Chance;
use crate::reckon::liking::{Space, apart};

/// Shares go by such a part of the whole: 5 %.
const STEPS: usize = 20;

/// The finest steps that are taken where a region is narrow, and the coarsest where there are many components.
const FINEST: usize = 640;
const COARSEST: usize = 2;

/// More blends than this are not looked at.
const MOST: usize = 60_000;

/// So many blends stand for all that are allowed.
pub const REFERENCE: usize = 400;

/// The blends of a lattice, within bounds and limits, with the corners: by 5 %, finer where fewer than wanted are allowed, coarser
/// where there would be too many to look at.
#[must_use]
pub fn allowed(region: &Region, wanted: usize) -> Vec<Vec<f64>> {
    let corners = region.corners();
    let mut steps = STEPS;
    let lattice = loop {
        match within(region, steps) {
            None if steps > COARSEST => steps = steps.div_ceil(2),
            None => break Vec::new(),
            Some(few) if few.len() < wanted && (STEPS..FINEST).contains(&steps) => steps *= 2,
            Some(enough) => break enough,
        }
    };
    let mut seen = BTreeSet::new();
    let all = lattice.into_iter().chain(corners.points().iter().cloned()).chain([corners.middle()]);
    all.filter(|mixture| seen.insert(in_millionths(mixture))).collect()
}

/// So many of these blends, drawn by a seed, as stand for all.
#[must_use]
pub fn reference(allowed: &[Vec<f64>], seed: u64) -> Vec<Vec<f64>> {
    let mut drawn = allowed.to_vec();
    if drawn.len() > REFERENCE {
        Chance::from_seed(seed).shuffle(&mut drawn);
        drawn.truncate(REFERENCE);
    }
    drawn
}

/// So many blends of those that are allowed, with those that are poured anyway first: the one nearest the middle, then again and
/// again the one farthest from all that are taken. Fewer where no more are allowed.
#[must_use]
pub fn spread(region: &Region, poured: &[Vec<f64>], count: usize, seed: u64) -> Vec<Vec<f64>> {
    let new = spread_among(&allowed(region, 3 * count), poured, count.saturating_sub(poured.len()), seed);
    poured.iter().cloned().chain(new).collect()
}

/// So many of these blends: the one nearest the middle first, where nothing is poured anyway, then again and again the one farthest from
/// all that are taken or poured anyway. Fewer where there are no more.
#[must_use]
pub fn spread_among(allowed: &[Vec<f64>], poured: &[Vec<f64>], count: usize, seed: u64) -> Vec<Vec<f64>> {
    let Some(space) = Space::of(&reference(allowed, seed)) else {
        return allowed.iter().filter(|blend| !poured.contains(blend)).take(count).cloned().collect();
    };
    let places: Vec<Vec<f64>> = allowed.iter().map(|blend| space.at(blend)).collect();
    let mut taken = Vec::with_capacity(count);
    let mut nearest = vec![f64::INFINITY; places.len()];
    let mut draw_near = |place: &[f64]| {
        for (nearest, other) in nearest.iter_mut().zip(&places) {
            *nearest = nearest.min(apart(place, other));
        }
        // The first of several as far is taken; none where all that is left is taken already.
        let farthest = (0..places.len()).rev().max_by(|&one, &other| nearest[one].total_cmp(&nearest[other]));
        farthest.filter(|&at| nearest[at] > f64::EPSILON)
    };
    let mut next = None;
    for blend in poured {
        next = draw_near(&space.at(blend));
    }
    if poured.is_empty() {
        let middle = vec![0.0; space.variances().len()];
        let off = |at: usize| apart(&places[at], &middle);
        next = (0..places.len()).rev().min_by(|&one, &other| off(one).total_cmp(&off(other)));
    }
    while let Some(at) = next.filter(|_| taken.len() < count) {
        taken.push(allowed[at].clone());
        next = draw_near(&places[at]);
    }
    taken
}

/// The blends of a lattice of so many steps that a region allows; none where there are more than can be looked at.
pub(super) fn within(region: &Region, steps: usize) -> Option<Vec<Vec<f64>>> {
    if steps > MOST {
        return None;
    }
    let bounds: Vec<(usize, usize)> = (0..region.components()).map(|it| bound(region, it, steps)).collect();
    let mut counts: Vec<Vec<usize>> = vec![Vec::new()];
    for (component, &(least, most)) in bounds.iter().enumerate() {
        let (later_least, later_most) =
            bounds[component + 1..].iter().fold((0, 0), |(least, most), (low, high)| (least + low, most + high));
        let mut longer = Vec::new();
        for count in counts {
            let left = steps - count.iter().sum::<usize>();
            let (from, to) = (least.max(left.saturating_sub(later_most)), most.min(left.saturating_sub(later_least)));
            longer.extend((from..=to).rev().map(|of_this| [count.as_slice(), &[of_this]].concat()));
            if longer.len() > MOST {
                return None;
            }
        }
        counts = longer;
    }
    let shares = |count: Vec<usize>| count.into_iter().map(|count| count as f64 / steps as f64).collect::<Vec<_>>();
    Some(counts.into_iter().map(shares).filter(|mixture| region.contains(mixture)).collect())
}

/// Between how many steps a component may have.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // shares of one, times some hundreds
fn bound(region: &Region, component: usize, steps: usize) -> (usize, usize) {
    let (least, most) = region.reach(component).unwrap_or((0.0, 1.0));
    let steps = steps as f64;
    let least = (least.clamp(0.0, 1.0) * steps - 1e-6).ceil().max(0.0);
    let most = (most.clamp(0.0, 1.0) * steps + 1e-6).floor().max(0.0);
    (least as usize, most as usize)
}
