//! Durbin's test: flights in which every two glasses met equally often.
//!
//! J. Durbin 1951; with ties as in Conover, "Practical nonparametric statistics": T = (t − 1) Σ(R − r(k + 1)/2)²/(A − C),
//! with A the sum of the squared ranks and C = b k (k + 1)²/4.

use super::chance_orders::{DRAWS, Row, counted, drawn};
use super::probability::{By, Probability, chi_square_tail};
use super::rank_test::{Name, RankTest};
use super::ranks::Ranked;
use crate::reckon::watch::Watch;

/// Rank sums count as equally far apart within so much.
const GRAIN: f64 = 1e-9;

/// The test of balanced flights in which somebody told glasses apart.
#[must_use]
pub fn durbin(ranked: &Ranked, watch: Watch<'_>) -> RankTest {
    let degrees = ranked.glasses.saturating_sub(1);
    let scatter: f64 = ranked.blocks.iter().map(|block| block.variance() * (block.ranks.len() as f64 - 1.0)).sum();
    let mean = ranked.sums().iter().sum::<f64>() / ranked.glasses as f64;
    let squares = |sums: &[f64]| sums.iter().map(|sum| (sum - mean) * (sum - mean)).sum::<f64>();
    let seen = squares(&ranked.sums());
    let statistic = degrees as f64 * seen / scatter;
    let chi_square = chi_square_tail(statistic, degrees);
    let rows = ranked.blocks.iter().map(|it| Row { glasses: &it.glasses, values: it.ranks.clone() }).collect();
    let probability = counted(ranked, watch, |sums| squares(sums) >= seen - GRAIN)
        .or_else(|| drawn(ranked.glasses, rows, (DRAWS, watch), ranked.glasses, squares))
        .unwrap_or(Probability { p: chi_square, by: By::ChiSquare });
    RankTest { name: Name::Durbin, statistic, degrees, chi_square, probability }
}

#[cfg(test)]
mod tests {
    use super::super::ranks::samples::least_best;
    use super::super::skillings_mack::{Within, skillings_mack};
    use super::*;
    use crate::reckon::chance::Chance;

    /// Ice cream: seven people taste three of seven (Conover).
    pub const ICE_CREAM: &str =
        "2 3 - 1 - - -|- 3 1 - 2 - -|- - 2 1 - 3 -|- - - 1 2 - 3|3 - - - 1 2 -|- 3 - - - 1 2|3 - 1 - - - 2";

    /// T 12.0 with 6 degrees, p 0.0619688 by chi-square (Conover); 5,040 of 279,936 orders go as far (all gone through one
    /// by one in a few lines of Python): so far from exact is chi-square here.
    #[test]
    fn ice_cream() {
        let test = durbin(&least_best(ICE_CREAM), Watch::NOBODY);
        assert!((test.statistic - 12.0).abs() < 1e-12 && test.degrees == 6, "{test:?}");
        assert!((test.chi_square - 0.061_968_8).abs() < 1e-7, "{test:?}");
        assert_eq!(test.probability.by, By::Exact);
        assert!((test.probability.p - 5_040.0 / 279_936.0).abs() < 1e-12, "{test:?}");
    }

    #[test]
    fn without_ties_it_is_that_of_skillings_and_mack() {
        let ranked = least_best(ICE_CREAM);
        let other = skillings_mack(&Within::of(&ranked).unwrap(), Watch::NOBODY);
        assert!((durbin(&ranked, Watch::NOBODY).statistic - other.statistic).abs() < 1e-9);
    }

    #[test]
    fn chance_alone_is_seldom_told_apart_and_a_planted_order_is() {
        /// Flights of two of four glasses.
        const FLIGHTS: [[usize; 2]; 6] = [[0, 1], [2, 3], [0, 2], [1, 3], [0, 3], [1, 2]];
        let mut chance = Chance::from_seed(2);
        let mut told = |rise: f64, tables: u32| {
            let mut found = 0_u32;
            for _ in 0..tables {
                let mut rows = vec![vec![None; 4]; 12];
                for (row, flight) in rows.iter_mut().zip(FLIGHTS.iter().cycle()) {
                    for &glass in flight {
                        row[glass] = Some(chance.fraction() + rise * glass as f64);
                    }
                }
                let ranked = Ranked::from_rows(4, &rows, 1.0);
                found += u32::from(durbin(&ranked, Watch::NOBODY).probability.tells());
            }
            f64::from(found) / f64::from(tables)
        };
        let alone = told(0.0, 1_000);
        assert!((0.025..=0.07).contains(&alone), "{alone}");
        let power = told(0.8, 100);
        assert!(power > 0.8, "{power}");
    }
}
