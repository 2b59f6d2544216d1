//! Where a best ratio may be sought: among blends that are allowed and of whose kind some were tasted.

use nalgebra::DVector;

use crate::reckon::mixture::{self, Bound, interior_points};
use crate::reckon::surface::{Hull, Limit, NoSurface, Region};

/// Where fewer blends than this of the lattice are allowed, others between them stand for the rest.
const FEWEST: usize = 60;

/// So many of those.
const BETWEEN: usize = 200;

/// A direction of which less than this part is left is none of its own.
const NEW: f64 = 1e-6;

/// What is allowed, without blends that are unlike all glasses: what stood at one share in all of them stays there, and so does a proportion
/// that never changed.
pub fn narrowed(region: &Region, hull: &Hull) -> Region {
    let mut narrowed = region.clone();
    for (component, share) in hull.held() {
        (narrowed.lower[component], narrowed.upper[component]) = (share, share);
    }
    narrowed.limits.extend(kept(hull, region.lower.len()));
    narrowed
}

/// What all glasses kept besides single shares, as limits.
fn kept(hull: &Hull, components: usize) -> Vec<Limit> {
    let unit = |it: usize| DVector::from_fn(components, |at, _| f64::from(u8::from(at == it)));
    let middle = DVector::from_vec(hull.shares(&vec![0.0; hull.dimensions()]));
    let moved = (0..hull.dimensions()).map(|axis| {
        let at: Vec<f64> = (0..hull.dimensions()).map(|it| f64::from(u8::from(it == axis))).collect();
        DVector::from_vec(hull.shares(&at)) - &middle
    });
    let known =
        moved.chain([DVector::from_element(components, 1.0)]).chain(hull.held().into_iter().map(|(it, _)| unit(it)));
    let mut directions: Vec<DVector<f64>> = Vec::new();
    for one in known {
        directions.extend(left_of(one, &directions));
    }
    let mut limits = Vec::new();
    for it in 0..components {
        let Some(direction) = left_of(unit(it), &directions) else { continue };
        let value = direction.dot(&middle);
        limits.push(Limit { coefficients: direction.iter().copied().collect(), least: value, most: value });
        directions.push(direction);
    }
    limits
}

/// What is left of a direction beside others, of length one; none where nothing is.
fn left_of(one: DVector<f64>, others: &[DVector<f64>]) -> Option<DVector<f64>> {
    let whole = one.norm();
    // Twice, for what rounding left the first time (Giraud, Langou and others 2005).
    let less = |one: DVector<f64>| others.iter().fold(one, |left, other| &left - other * other.dot(&left));
    let left = less(less(one));
    let length = left.norm();
    (length > NEW * whole).then(|| left / length)
}

/// Blends that lie evenly among all that are allowed: the lattice, or where little of it lies there, what lies between.
pub fn allowed(region: &Region, names: &[String], seed: u64) -> Result<Vec<Vec<f64>>, NoSurface> {
    let bounds = names.iter().zip(region.lower.iter().zip(&region.upper));
    let bounds = bounds.map(|(name, (&low, &high))| Bound::new(name, low, high)).collect();
    let limit = |limit: &Limit| mixture::Limit {
        words: String::new(),
        coefficients: limit.coefficients.clone(),
        low: limit.least.is_finite().then_some(limit.least),
        high: limit.most.is_finite().then_some(limit.most),
    };
    let limits = region.limits.iter().map(limit).filter(|limit| limit.low.is_some() || limit.high.is_some()).collect();
    let whole = mixture::Region::new(bounds, limits).map_err(NoSurface::Allowed)?;
    let mut even = mixture::allowed(&whole, FEWEST);
    // The middle is a glass worth pouring, but lies between those of the lattice, which are to stand for all alike.
    if even.len() > 1 && even.last() == Some(&whole.corners().middle()) {
        even.pop();
    }
    let mut blends = mixture::reference(&even, seed);
    if blends.len() < FEWEST && blends.len() > 1 {
        blends.extend(interior_points(&whole, BETWEEN, seed));
    }
    Ok(blends)
}
