//! Held against values that were computed from published data with the same formulas, by other hands.

use std::sync::Arc;

use super::*;
use crate::reckon::mixture::simplex_lattice;
use crate::reckon::surface::Region;
use crate::reckon::watch::Watch;

/// The elongation of yarn by its three fibres: published data (Cornell, "Experiments with Mixtures", 2002).
fn yarn() -> (Vec<Vec<f64>>, Ratings) {
    let of: [([f64; 3], &[f64]); 6] = [
        ([0.0, 0.0, 1.0], &[16.8, 16.0]),
        ([0.0, 0.5, 0.5], &[10.0, 9.7, 11.8]),
        ([0.0, 1.0, 0.0], &[8.8, 10.0]),
        ([0.5, 0.0, 0.5], &[17.7, 16.4, 16.6]),
        ([0.5, 0.5, 0.0], &[15.0, 14.8, 16.1]),
        ([1.0, 0.0, 0.0], &[11.0, 12.4]),
    ];
    let rated = |(blend, (_, scores)): (usize, &([f64; 3], &'static [f64]))| {
        scores.iter().map(move |&score| Rated { taster: 0, flight: 0, blend, score }).collect::<Vec<_>>()
    };
    let ratings: Vec<Rated> = of.iter().enumerate().flat_map(rated).collect();
    (of.iter().map(|(blend, _)| blend.to_vec()).collect(), Ratings::new(&ratings, of.len()))
}

fn near(value: f64, wanted: f64, within: f64) {
    assert!((value - wanted).abs() < within, "{value} is not {wanted}");
}

#[test]
fn three_components_have_the_room_that_was_reckoned_for_them() {
    let space = Arc::new(Space::of(&simplex_lattice(3, 20)).unwrap());
    for variance in space.variances() {
        near(*variance, 0.095_833_3, 1e-7);
    }
    for (length, mean) in LENGTHS.into_iter().zip([0.324_758_942, 0.519_263_808, 0.701_646_632, 0.857_925_873]) {
        near(Kernel::new(&space, length).mean(), mean, 1e-9);
    }
    assert_eq!(Space::of(&[vec![0.5, 0.5], vec![0.5, 0.5]]), None, "where nothing may vary there is no space");
}

#[test]
fn the_yarn_is_longest_where_it_was_reckoned_to_be() {
    let (blends, ratings) = yarn();
    let allowed = simplex_lattice(3, 20);
    let asked = Asked { blends: &blends, ratings: &ratings, allowed: &allowed, region: &Region::all(3) };
    let (even, liked) = Liked::of(&asked).unwrap();
    near(even.factor(), 7.336_036, 1e-6);
    for (share, wanted) in liked.best().iter().zip([0.42, 0.0, 0.58]) {
        near(*share, wanted, 1e-9);
    }
    let (predicted, band) = liked.band();
    near(predicted.score, 16.91, 0.005);
    near((band.most - band.least) / 2.0, 2.16, 0.005);
    let gate = Gate::of(&ratings, &even, 1, Watch::NOBODY);
    assert!(gate.tells() && !gate.is_too_small(), "{gate:?}");
    let half = liked.compare(&blends[3]);
    assert!(!half.is_worse && half.below < 0.2, "{half:?}");
    let worst = liked.compare(&blends[2]);
    assert!(worst.is_worse && worst.below > 3.0, "{worst:?}");
    let as_good = liked.as_good(&asked);
    assert!(as_good[1].least < 1e-9 && as_good[1].most < 0.5, "{as_good:?}");
}

#[test]
fn a_mean_over_all_that_is_allowed_is_nought() {
    let (blends, ratings) = yarn();
    let allowed = simplex_lattice(3, 20);
    let space = Arc::new(Space::of(&allowed).unwrap());
    let surface = Averaged::of(&space, &blends, &ratings, &ratings.even()).unwrap();
    near(allowed.iter().map(|blend| surface.liking(blend)).sum::<f64>(), 0.0, 1e-6);
    for blend in &blends {
        near(surface.against(&surface.place(blend), &surface.gather(Vec::new())).0, surface.liking(blend), 1e-9);
    }
}

#[test]
fn scores_all_alike_tell_nothing() {
    let blends = [vec![1.0, 0.0], vec![0.0, 1.0]];
    let rated = [0, 1].map(|blend| Rated { taster: 0, flight: 0, blend, score: 12.0 });
    let allowed = simplex_lattice(2, 20);
    let ratings = Ratings::new(&rated, 2);
    let asked = Asked { blends: &blends, ratings: &ratings, allowed: &allowed, region: &Region::all(2) };
    assert_eq!(Liked::of(&asked), None);
}

#[test]
fn a_taster_who_scatters_counts_less() {
    let allowed = simplex_lattice(3, 20);
    let space = Arc::new(Space::of(&allowed).unwrap());
    let blends = simplex_lattice(3, 4);
    let mut chance = crate::reckon::chance::Chance::from_seed(3);
    let mut rated = Vec::new();
    for (taster, scatter) in [0.1, 0.1, 4.0].into_iter().enumerate() {
        for (blend, shares) in blends.iter().enumerate() {
            let score = 12.0 + 2.0 * shares[0] + scatter * (chance.fraction() - 0.5);
            rated.push(Rated { taster, flight: 0, blend, score });
        }
    }
    let ratings = Ratings::new(&rated, blends.len());
    let even = Averaged::of(&space, &blends, &ratings, &ratings.even()).unwrap();
    let weights = ratings.weights(&even, &blends);
    assert!(weights[2] < 0.6 * weights[0] && weights[2] < 0.6 * weights[1], "{weights:?}");
}
