//! Friedman's test: everybody tasted everything; do the rank sums lie further apart than chance would bring?
//!
//! M. Friedman 1937, 1940; with ties as in Hollander and Wolfe, "Nonparametric statistical methods". With S the sum over
//! tasters of the variance of their ranks, χ² = Σ(R − R̄)²/S, which without ties is 12 ΣR²/(b k (k + 1)) − 3b(k + 1).

use super::chance_orders::{DRAWS, Row, counted, drawn};
use super::probability::{By, Probability, chi_square_tail, f_tail};
use super::rank_test::{Name, RankTest};
use super::ranks::Ranked;
use crate::reckon::watch::Watch;

/// Rank sums count as equally far apart within so much.
const GRAIN: f64 = 1e-9;

/// The test of a complete table in which somebody told glasses apart.
#[must_use]
pub fn friedman(ranked: &Ranked, watch: Watch<'_>) -> RankTest {
    let variance: f64 = ranked.blocks.iter().map(super::ranks::Block::variance).sum();
    let sums = ranked.sums();
    let statistic = statistic(&sums, variance);
    let degrees = ranked.glasses.saturating_sub(1);
    let seen = squares(&sums);
    let rows = ranked.blocks.iter().map(|it| Row { glasses: &it.glasses, values: it.ranks.clone() }).collect();
    let probability = counted(ranked, watch, |sums| squares(sums) >= seen - GRAIN)
        .or_else(|| drawn(ranked.glasses, rows, (DRAWS, watch), ranked.glasses, squares))
        .unwrap_or_else(|| by_f(statistic, ranked.blocks.len(), ranked.glasses));
    RankTest { name: Name::Friedman, statistic, degrees, chi_square: chi_square_tail(statistic, degrees), probability }
}

/// χ² of rank sums, where the variances of the tasters' ranks sum to `variance`.
fn statistic(sums: &[f64], variance: f64) -> f64 {
    squares(sums) / variance
}

/// The squared distances of the sums from their mean, summed.
fn squares(sums: &[f64]) -> f64 {
    let mean = sums.iter().sum::<f64>() / sums.len() as f64;
    sums.iter().map(|sum| (sum - mean) * (sum - mean)).sum()
}

/// The approximation of Iman and Davenport (1980): nearer than chi-square where there are many tasters or glasses.
fn by_f(statistic: f64, tasters: usize, glasses: usize) -> Probability {
    let (above, others) = (glasses.saturating_sub(1), tasters.saturating_sub(1));
    let f = others as f64 * statistic / ((tasters * above) as f64 - statistic).max(0.0);
    Probability { p: f_tail(f, above, above * others), by: By::F }
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use super::super::ranks::samples::{least_best, most_best};
    use super::super::two_way::samples::WINE_PANEL;
    use super::*;
    use crate::reckon::chance::Chance;

    /// The times of 22 men by three ways round the first base: Hollander and Wolfe 1973, as R's help page of
    /// `friedman.test` gives them.
    const ROUNDING_TIMES: &str = "5.40 5.50 5.55|5.85 5.70 5.75|5.20 5.60 5.50|5.55 5.50 5.40|5.90 5.85 5.70|5.45 5.55 5.60|\
        5.40 5.40 5.35|5.45 5.50 5.35|5.25 5.15 5.00|5.85 5.80 5.70|5.25 5.20 5.10|5.65 5.55 5.45|5.60 5.35 5.45|\
        5.05 5.00 4.95|5.50 5.50 5.40|5.45 5.55 5.50|5.55 5.55 5.35|5.45 5.50 5.55|5.50 5.45 5.25|5.65 5.60 5.40|\
        5.70 5.65 5.55|6.30 6.30 6.25";

    #[test]
    fn rounding_times() {
        let ranked = least_best(ROUNDING_TIMES);
        assert_eq!(ranked.sums(), [53.0, 47.0, 32.0]);
        let test = friedman(&ranked, Watch::NOBODY);
        assert!((test.statistic - 11.142_857).abs() < 1e-6 && test.degrees == 2, "{test:?}");
        assert!((test.chi_square - 0.003_805).abs() < 1e-6, "{test:?}");
        assert_eq!(test.probability.by, By::Exact);
        assert!((test.probability.p - 0.003).abs() < 0.001, "{test:?}");
    }

    /// ISO 8587, Annex A: eight assessors, five products, rank sums 17, 31, 32, 23, 17.
    #[test]
    fn rank_sums_of_the_standard() {
        let variance = 8.0 * 5.0 * 6.0 / 12.0;
        assert!((statistic(&[17.0, 31.0, 32.0, 23.0, 17.0], variance) - 10.6).abs() < 1e-12);
    }

    /// Nine judges and ten red wines, scores of twenty, 2012 (the R package rethinking, data Wines2012; scipy 1.17.1).
    #[test]
    fn a_wine_panel_that_tells_nothing_apart() {
        let ranked = most_best(WINE_PANEL);
        assert_eq!(ranked.sums(), [46.0, 35.0, 54.0, 40.5, 52.0, 49.0, 50.5, 55.0, 73.0, 40.0]);
        let test = friedman(&ranked, Watch::NOBODY);
        assert!((test.statistic - 12.497_925).abs() < 1e-6, "{test:?}");
        assert!((test.chi_square - 0.186_671).abs() < 1e-6, "{test:?}");
        assert_eq!(test.probability.by, By::Draws(10_000));
        assert!((test.probability.p - 0.186_671).abs() < 0.03, "{test:?}");
    }

    /// Every order of every taster gone through one by one (a few lines of Python): 0.0925925926 and 0.0063657407.
    #[test]
    fn ties_are_counted_exactly() {
        for (text, p) in
            [("1 2 3|1 2 2|1 3 2|1 1 2", 0.092_592_592_6), ("1 2 3 4|1 2 2 4|2 1 3 3|1 2 4 3", 0.006_365_740_7)]
        {
            let test = friedman(&least_best(text), Watch::NOBODY);
            assert!((test.probability.p - p).abs() < 1e-9, "{test:?}");
        }
    }

    /// Published critical values at five in a hundred: k = 3, b = 3 6.000, 5 6.400, 8 6.250, 10 6.200; k = 4, b = 5 7.800,
    /// 8 7.650. The value itself is beyond the level, the next smaller one is not.
    #[test]
    fn critical_values_without_ties() {
        for (tasters, glasses, critical) in
            [(3, 3, 6.0), (5, 3, 6.4), (8, 3, 6.25), (10, 3, 6.2), (5, 4, 7.8), (8, 4, 7.65)]
        {
            let row = (1..=glasses).map(|rank| rank.to_string()).collect::<Vec<_>>().join(" ");
            let ranked = least_best(&vec![row; tasters].join("|"));
            let variance = (tasters * glasses * (glasses + 1)) as f64 / 12.0;
            let next_smaller = Cell::new(0.0_f64);
            let told = counted(&ranked, Watch::NOBODY, |sums| {
                let found = statistic(sums, variance);
                if found < critical - 1e-9 {
                    next_smaller.set(next_smaller.get().max(found));
                }
                found >= critical - 1e-9
            });
            let not_told =
                counted(&ranked, Watch::NOBODY, |sums| statistic(sums, variance) >= next_smaller.get() - 1e-9);
            assert!(told.unwrap().tells() && !not_told.unwrap().tells(), "{tasters} {glasses}");
        }
    }

    #[test]
    fn one_taster_says_nothing_and_two_glasses_are_a_sign_test() {
        assert!((friedman(&least_best("1 2 3 4"), Watch::NOBODY).probability.p - 1.0).abs() < 1e-12);
        let six = friedman(&least_best("1 2|1 2|1 2|1 2|1 2|1 2"), Watch::NOBODY);
        assert!((six.probability.p - 2.0 / 64.0).abs() < 1e-12, "{six:?}");
    }

    /// By chance alone about one table in twenty is told apart, and never clearly more.
    #[test]
    fn chance_alone_is_seldom_told_apart() {
        let mut chance = Chance::from_seed(1);
        let mut scores = |tasters: usize, glasses: usize, grain: f64| {
            let mut score = || (chance.fraction() * 20.0 / grain).round() * grain;
            let row = |_| (0..glasses).map(|_| Some(score())).collect();
            Ranked::from_rows(glasses, &(0..tasters).map(row).collect::<Vec<_>>(), -1.0)
        };
        for (tasters, glasses, grain, tables) in [(4, 3, 0.5, 2_000), (5, 4, 4.0, 400), (30, 20, 0.5, 1_000)] {
            let tables =
                (0..tables).map(|_| friedman(&scores(tasters, glasses, grain), Watch::NOBODY).probability.tells());
            let told: Vec<bool> = tables.collect();
            let share = told.iter().filter(|&&it| it).count() as f64 / told.len() as f64;
            assert!((0.02..=0.065).contains(&share), "{tasters} {glasses}: {share}");
        }
    }
}
