//! The rank test that fits a table: Friedman's, Durbin's or Skillings and Mack's.

use thiserror::Error;

use super::durbin::durbin;
use super::friedman::friedman;
use super::probability::Probability;
use super::ranks::{Block, Layout, Ranked};
use super::skillings_mack::{Within, skillings_mack};
use crate::reckon::watch::Watch;

/// Which test it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Name {
    /// Everybody tasted everything.
    Friedman,
    /// Balanced flights.
    Durbin,
    /// Any flights.
    SkillingsMack,
}

impl Name {
    /// Its name.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Name::Friedman => "Friedman",
            Name::Durbin => "Durbin",
            Name::SkillingsMack => "Skillings-Mack",
        }
    }
}

/// Whether ranks lie further apart than chance would bring.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RankTest {
    /// Which test it was.
    pub name: Name,
    /// Its statistic, compared with chi-square in large tables.
    pub statistic: f64,
    /// The degrees of freedom: one less than the glasses.
    pub degrees: usize,
    /// The probability by chi-square, as it is usually printed.
    pub chi_square: f64,
    /// The probability that is to be believed.
    pub probability: Probability,
}

/// Why a table can't be tested.
#[derive(Clone, Copy, Debug, Error, PartialEq, Eq)]
pub enum NoTest {
    /// No cell is filled.
    #[error("Nobody has tasted yet, so there is nothing to tell.")]
    NothingTasted,
    /// There is one glass.
    #[error("Only one glass was tasted: there is nothing to hold it against.")]
    OneGlass,
    /// Nobody tasted two glasses.
    #[error("Nobody tasted more than one glass, so no glass is held against another.")]
    NothingCompared,
    /// There is one taster.
    #[error("One taster's order can't be told from chance. Let more people taste the same glasses.")]
    OneTaster,
    /// Everybody gave everything the same.
    #[error("Every taster gave all glasses the same: nothing here tells them apart.")]
    AllTied,
    /// Flights that never meet.
    #[error(
        "The flights do not hang together: some glasses are held against others by nobody who tells glasses apart. \
         Let somebody taste glasses of both flights."
    )]
    Apart,
}

/// Tests the ranks, with the sums within tasters on which glasses can be compared.
pub fn rank_test<'a>(ranked: &'a Ranked, watch: Watch<'_>) -> Result<(RankTest, Within<'a>), NoTest> {
    match (ranked.glasses, ranked.blocks.len()) {
        (0, _) => return Err(NoTest::NothingTasted),
        (1, _) => return Err(NoTest::OneGlass),
        (_, 0) => return Err(NoTest::NothingCompared),
        (_, 1) => return Err(NoTest::OneTaster),
        _ => (),
    }
    if ranked.blocks.iter().all(|block| block.variance() <= 0.0) {
        return Err(NoTest::AllTied);
    }
    let within = Within::of(ranked).ok_or(NoTest::Apart)?;
    let test = match ranked.layout() {
        Layout::Complete => friedman(ranked, watch),
        Layout::Balanced => durbin(ranked, watch),
        Layout::Incomplete => skillings_mack(&within, watch),
    };
    Ok((test, within))
}

/// The least probability that any order could have had: all of at least so many tasters agree and tie nothing.
#[must_use]
pub fn least_probability(ranked: &Ranked) -> f64 {
    let orders = |block: &Block| (1..=block.ranks.len()).map(|number| number as f64).product::<f64>();
    let all: f64 = ranked.blocks.iter().map(orders).product();
    // Chance may as well agree on any order of the glasses.
    ranked.blocks.iter().map(orders).fold(0.0, f64::max) / all
}

#[cfg(test)]
mod tests {
    use super::super::ranks::samples::least_best;
    use super::*;

    #[test]
    fn what_tells_nothing_says_why() {
        for (text, why) in [
            ("", NoTest::NothingTasted),
            ("1|1", NoTest::OneGlass),
            ("1 -|- 1", NoTest::NothingCompared),
            ("1 2 3", NoTest::OneTaster),
            ("1 1 1|2 2 2", NoTest::AllTied),
            ("1 2 - -|2 1 - -|- - 1 2|- - 2 1", NoTest::Apart),
            ("1 2 - -|2 1 - -|- - 1 2|- - 2 1|1 1 1 1", NoTest::Apart),
        ] {
            assert_eq!(rank_test(&least_best(text), Watch::NOBODY).unwrap_err(), why, "{text}");
        }
    }

    #[test]
    fn the_test_fits_the_table() {
        for (text, name) in [
            ("1 2 3|2 1 3", Name::Friedman),
            ("1 2 -|1 - 2|- 1 2", Name::Durbin),
            ("1 2 -|1 - 2|1 2 3", Name::SkillingsMack),
        ] {
            assert_eq!(rank_test(&least_best(text), Watch::NOBODY).unwrap().0.name, name);
        }
    }

    #[test]
    fn too_few_tasters_can_tell_nothing() {
        let two = least_best("1 2 3|1 2 3");
        assert!((least_probability(&two) - 1.0 / 6.0).abs() < 1e-12);
        let exact = rank_test(&two, Watch::NOBODY).unwrap().0.probability.p;
        assert!((exact - 1.0 / 6.0).abs() < 1e-12);
    }
}
