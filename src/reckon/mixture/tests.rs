#![allow(clippy::unwrap_used)] // helper functions of tests

mod always;
mod published;
mod refused;
mod spread;

use super::design::{Kind, USUAL_TRIES, Wanted};
use super::{Bound, Limit, Model, Region};

const NAMES: [&str; 10] = ["A", "B", "C", "D", "E", "F", "G", "H", "I", "J"];

fn bounds(ranges: &[(f64, f64)]) -> Vec<Bound> {
    NAMES.iter().zip(ranges).map(|(name, (low, high))| Bound::new(*name, *low, *high)).collect()
}

fn within(ranges: &[(f64, f64)]) -> Region {
    Region::new(bounds(ranges), Vec::new()).unwrap()
}

fn all(components: usize) -> Region {
    Region::all(&NAMES[..components]).unwrap()
}

fn limit(coefficients: &[f64], low: Option<f64>, high: Option<f64>) -> Limit {
    Limit { words: "the limit".to_owned(), coefficients: coefficients.to_vec(), low, high }
}

fn wanted(kind: Kind, model: Model, glasses: Option<usize>) -> Wanted {
    Wanted { kind, model, glasses, free_hand: Vec::new(), repeats: 0, tries: USUAL_TRIES, seed: 1, steps: None }
}

fn near(one: &[f64], other: &[f64], tolerance: f64) -> bool {
    one.len() == other.len() && one.iter().zip(other).all(|(one, other)| (one - other).abs() <= tolerance)
}

/// Whether two lists hold the same mixtures, in whatever order.
fn same(ones: &[Vec<f64>], others: &[Vec<f64>]) -> bool {
    let held = |one: &Vec<f64>| others.iter().any(|other| near(one, other, 1e-9));
    ones.len() == others.len() && ones.iter().all(held)
}
