//! Skillings and Mack's test: any flights, whatever is missing.
//!
//! J. H. Skillings and G. A. Mack, Technometrics 23, 1981: ranks within each taster, less their mean, weighted by
//! √(12/(n + 1)); the sums by glass are held against their covariance. With ties the variance is that of the mid-ranks
//! (as Benard and van Elteren have it), so that many ties do not hide a difference.

use super::chance_orders::{DRAWS, Draws, Row, drawn};
use super::contrasts::Contrasts;
use super::probability::{By, Probability, chi_square_tail};
use super::rank_test::{Name, RankTest};
use super::ranks::{Block, Ranked};
use crate::reckon::watch::Watch;

/// Weighted ranks within tasters, and how their sums compare glasses.
#[derive(Clone, Debug)]
pub struct Within<'a> {
    rows: Vec<Row<'a>>,
    sums: Vec<f64>,
    contrasts: Contrasts,
}

impl Within<'_> {
    /// None where glasses are held against others by nobody who tells glasses apart.
    #[must_use]
    pub fn of(ranked: &Ranked) -> Option<Within<'_>> {
        let weight = |block: &Block| libm::sqrt(12.0 / (block.ranks.len() as f64 + 1.0));
        let row = |block: &Block| block.ranks.iter().map(|rank| weight(block) * (rank - block.mean())).collect();
        let rows: Vec<Row<'_>> =
            ranked.blocks.iter().map(|block| Row { glasses: &block.glasses, values: row(block) }).collect();
        let variances = ranked.blocks.iter().map(|block| weight(block) * weight(block) * block.variance());
        let tasters: Vec<(&[usize], f64)> = rows.iter().map(|row| row.glasses).zip(variances).collect();
        let contrasts = Contrasts::of(ranked.glasses, &tasters)?;
        let mut sums = vec![0.0; ranked.glasses];
        for row in &rows {
            row.glasses.iter().zip(&row.values).for_each(|(&glass, value)| sums[glass] += value);
        }
        Some(Within { rows, sums, contrasts })
    }

    /// Where each glass stands once it is known who tasted what: below nothing is better than the mean.
    #[must_use]
    pub fn effects(&self) -> Vec<f64> {
        self.contrasts.effects(&self.sums)
    }

    /// The deviation of the difference of two effects under chance.
    #[must_use]
    pub fn deviation(&self, one: usize, other: usize) -> f64 {
        libm::sqrt(self.contrasts.variance(one, other))
    }
}

/// The test of any flights that hang together.
#[must_use]
pub fn skillings_mack(within: &Within<'_>, watch: Watch<'_>) -> RankTest {
    with_draws(within, (DRAWS, watch))
}

fn with_draws(within: &Within<'_>, draws: (Draws, Watch<'_>)) -> RankTest {
    let glasses = within.sums.len();
    let degrees = glasses.saturating_sub(1);
    let statistic = within.contrasts.explained(&within.sums);
    let chi_square = chi_square_tail(statistic, degrees);
    let steps = glasses * glasses;
    let probability = drawn(glasses, within.rows.clone(), draws, steps, |sums| within.contrasts.explained(sums))
        .unwrap_or(Probability { p: chi_square, by: By::ChiSquare });
    RankTest { name: Name::SkillingsMack, statistic, degrees, chi_square, probability }
}

#[cfg(test)]
mod tests {
    use super::super::friedman::friedman;
    use super::super::ranks::samples::least_best;
    use super::*;
    use crate::reckon::chance::Chance;
    use proptest::prelude::*;

    /// Four ways of assembling in nine blocks with missing cells: Skillings and Mack 1981, as the help page of the R package
    /// Skillings.Mack gives it: SM 15.493 with 3 degrees.
    #[test]
    fn the_assembly_of_the_paper() {
        let ranked = least_best(
            "3.2 4.1 3.8 4.2|3.1 3.9 3.4 4.0|4.3 3.5 4.6 4.8|3.5 3.6 3.9 4.0|3.6 4.2 3.7 3.9|4.5 4.7 3.7 -|\
             - 4.2 3.4 -|4.3 4.6 4.4 4.9|3.5 - 3.7 3.9",
        );
        let test = skillings_mack(&Within::of(&ranked).unwrap(), Watch::NOBODY);
        assert!((test.statistic - 15.493).abs() < 0.0005 && test.degrees == 3, "{test:?}");
        assert!(
            test.probability.p < 0.002 && matches!(test.probability.by, By::Draws(draws) if draws > 10_000),
            "{test:?}"
        );
    }

    /// With 199 draws the level of one in twenty is kept as exactly as with more.
    #[test]
    fn chance_alone_is_seldom_told_apart_and_a_planted_order_is() {
        let mut chance = Chance::from_seed(3);
        let mut told = |rise: f64, tables: u32| {
            let mut found = 0_u32;
            for _ in 0..tables {
                let mut cell = |glass: usize| {
                    let score = (chance.fraction() * 8.0).round() + rise * glass as f64;
                    (chance.fraction() < 0.7).then_some(score)
                };
                let rows: Vec<Vec<Option<f64>>> = (0..8).map(|_| (0..4).map(&mut cell).collect()).collect();
                let ranked = Ranked::from_rows(4, &rows, 1.0);
                let told = |within: Within<'_>| {
                    with_draws(&within, (Draws { first: 199, most: 199 }, Watch::NOBODY)).probability.tells()
                };
                found += u32::from(Within::of(&ranked).is_some_and(told));
            }
            f64::from(found) / f64::from(tables)
        };
        let alone = told(0.0, 1_000);
        assert!((0.03..=0.065).contains(&alone), "{alone}");
        assert!(told(2.5, 100) > 0.8);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(32))]
        #[test]
        fn of_a_complete_table_it_is_friedmans(rows in prop::collection::vec(prop::collection::vec(0_u8..5, 4), 2..7)) {
            let cells = |row: Vec<u8>| row.into_iter().map(|cell| Some(f64::from(cell))).collect();
            let ranked = Ranked::from_rows(4, &rows.into_iter().map(cells).collect::<Vec<_>>(), 1.0);
            if let Some(within) = Within::of(&ranked) {
                let (one, other) = (friedman(&ranked, Watch::NOBODY).statistic, skillings_mack(&within, Watch::NOBODY).statistic);
                prop_assert!((one - other).abs() < 1e-9, "{} {}", one, other);
            }
        }
    }
}
