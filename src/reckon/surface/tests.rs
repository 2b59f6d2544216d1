#![allow(clippy::unwrap_used)] // helpers of tests

mod always;
mod grid;
mod planted;
mod published;
mod refused;
mod simulated;

use super::*;
use crate::reckon::chance::Chance;

fn near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value}, but {expected} was expected");
}

fn names(count: usize, of: &str) -> Vec<String> {
    (0..count).map(|it| format!("{of} {}", it + 1)).collect()
}

/// A question of one taster, a glass for a rating.
fn one_taster(rated: &[(&[f64], f64)]) -> Question {
    let glasses: Vec<Vec<f64>> = rated.iter().map(|(shares, _)| shares.to_vec()).collect();
    let ratings = rated.iter().enumerate().map(|(glass, &(_, score))| Rating { taster: 0, flight: 0, glass, score });
    Question {
        components: names(glasses[0].len(), "wine"),
        tasters: names(1, "taster"),
        ratings: ratings.collect(),
        scale: Scale::Scores,
        region: Region::all(glasses[0].len()),
        glasses,
        panels: 100,
        seed: 1,
    }
}

/// A panel who all taste all glasses; `score` is of a taster and a glass.
fn panel(tasters: usize, glasses: Vec<Vec<f64>>, mut score: impl FnMut(usize, &[f64]) -> f64) -> Question {
    let ratings = (0..tasters).flat_map(|taster| (0..glasses.len()).map(move |glass| (taster, glass)));
    let ratings: Vec<Rating> = ratings
        .map(|(taster, glass)| Rating { taster, flight: 0, glass, score: score(taster, &glasses[glass]) })
        .collect();
    Question {
        components: names(glasses[0].len(), "wine"),
        tasters: names(tasters, "taster"),
        ratings,
        scale: Scale::Scores,
        region: Region::all(glasses[0].len()),
        glasses,
        panels: 0,
        seed: 1,
    }
}

/// All blends of three in so many steps.
fn lattice(steps: u32) -> Vec<Vec<f64>> {
    let part = |count: u32| f64::from(count) / f64::from(steps);
    (0..=steps).flat_map(|a| (0..=steps - a).map(move |b| vec![part(a), part(b), part(steps - a - b)])).collect()
}

/// A normal number: the sum of twelve even ones, less six.
fn normal(chance: &mut Chance) -> f64 {
    (0..12).map(|_| chance.fraction()).sum::<f64>() - 6.0
}

/// Elongation of yarn: NIST/SEMATECH e-Handbook of Statistical Methods 5.5.4.6.
fn yarn() -> Question {
    one_taster(&[
        (&[0.0, 0.0, 1.0], 16.8),
        (&[0.0, 0.0, 1.0], 16.0),
        (&[0.0, 0.5, 0.5], 10.0),
        (&[0.0, 0.5, 0.5], 9.7),
        (&[0.0, 0.5, 0.5], 11.8),
        (&[0.0, 1.0, 0.0], 8.8),
        (&[0.0, 1.0, 0.0], 10.0),
        (&[0.5, 0.0, 0.5], 17.7),
        (&[0.5, 0.0, 0.5], 16.4),
        (&[0.5, 0.0, 0.5], 16.6),
        (&[0.5, 0.5, 0.0], 15.0),
        (&[0.5, 0.5, 0.0], 14.8),
        (&[0.5, 0.5, 0.0], 16.1),
        (&[1.0, 0.0, 0.0], 11.0),
        (&[1.0, 0.0, 0.0], 12.4),
    ])
}
