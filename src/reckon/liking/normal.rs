//! Ranks as scores: what a rank would be on the bell curve (Blom 1958, "Statistical Estimates and Transformed Beta-Variables").

use statrs::distribution::{ContinuousCDF, Normal};

use crate::reckon::panel::ranks::mid_ranks;
use crate::reckon::surface::Rating;

/// The ratings, ranks turned into normal scores within each taster's flight: the best has the most.
#[must_use]
pub fn normal_scores(ratings: &[Rating]) -> Vec<Rating> {
    let mut scored = ratings.to_vec();
    let mut flights: Vec<((usize, usize), Vec<usize>)> = Vec::new();
    for (at, rating) in ratings.iter().enumerate() {
        let key = (rating.taster, rating.flight);
        match flights.iter_mut().find(|(other, _)| *other == key) {
            Some((_, of_flight)) => of_flight.push(at),
            None => flights.push((key, vec![at])),
        }
    }
    for (_, of_flight) in flights {
        let turned: Vec<f64> = of_flight.iter().map(|&at| -ratings[at].score).collect();
        for (&at, rank) in of_flight.iter().zip(mid_ranks(&turned)) {
            let part = (rank - 0.375) / (of_flight.len() as f64 + 0.25);
            // What is no rank stays what it is, and is refused where ratings are gathered.
            if ratings[at].score.is_finite() {
                scored[at].score = Normal::standard().inverse_cdf(part);
            }
        }
    }
    scored
}
