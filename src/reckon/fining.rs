//! Fining: from a dose that was tried in glasses to what a vessel is given.
//!
//! A fining agent is made up as a stock of so many grams in 100 mL. A glass of a trial takes millilitres of it, a cellar
//! litres; the water of the stock stays in the wine.
//!
//! **Usual doses** are from one public table, so that they fit each other, bentonite's upper end from published trials; a dose beyond them
//! is a word, never a refusal.

mod agent;

use thiserror::Error;

pub use self::agent::{Agent, agents, kind_of};
use crate::reckon::material::WATER_FIGURE;
use crate::units::{Mass, Volume};

/// Whites of egg for a barrel of 225 L (common practice).
pub const EGG_WHITES_A_BARREL: (f64, f64) = (4.0, 6.0);

/// Whites of egg in a barrel of 225 L with which the light brine of 27 CFR 24.246 (2015), 1.5 L of it in 1000 L, is used up: reckoned
/// from its 2 lb of white in a gallon of water.
pub const EGG_WHITES_IN_BRINE: (f64, f64) = (2.0, 2.5);

/// The barrel for which whites of egg are counted, litres.
const BARREL_L: f64 = 225.0;

/// No wine is fined with more, g/L: bentonite, the heaviest, stays at a few grams (our choice).
const MOST_DOSE_G_L: f64 = 10.0;

/// A stock of which more than this is solid does not flow, grams in 100 mL (our choice; bentonite is made up at 5).
const MOST_STOCK_PCT: f64 = 50.0;

/// Why nothing can be reckoned.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum FiningError {
    /// A dose of nothing, or far beyond what is used.
    #[error("A dose of {0} g/L is none of a fining. Give more than 0 and at most {MOST_DOSE_G_L} g/L.")]
    Dose(f64),
    /// A stock of nothing, or one that does not flow.
    #[error("A stock of {0} % is none. Give grams in 100 mL, more than 0 and at most {MOST_STOCK_PCT}.")]
    Stock(f64),
    /// No wine.
    #[error("No wine is said. Give more than nothing.")]
    NoVolume,
}

/// A dose of a fining agent, and the stock it is given from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fining {
    dose_g_l: f64,
    stock_pct: f64,
}

/// What a volume of wine is given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Given {
    /// Of the agent.
    pub amount: Mass,
    /// Of the stock.
    pub stock: Volume,
    /// The stock as a share of the wine.
    pub share: f64,
}

/// The water of all additions to a wine, with that of a fining. All of the stock counts as water, which errs to the safe side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Watered {
    /// The water of the additions before, as a share of the wine without it.
    pub before: f64,
    /// The water of all, as a share of the wine without it.
    pub share: f64,
    /// The weakest stock that keeps within the figure for all of it, grams in 100 mL; none where the water before leaves no room.
    pub weakest_stock_pct: Option<f64>,
}

impl Watered {
    /// Whether it is more than the figure for the water of all additions: make the stock up stronger, or in wine.
    #[must_use]
    pub fn is_above_figure(&self) -> bool {
        // As much as the figure is not above it, whatever a fraction loses.
        self.share > WATER_FIGURE * (1.0 + 1e-9)
    }
}

impl Fining {
    /// A dose in g/L from a stock of so many grams in 100 mL.
    pub fn new(dose_g_l: f64, stock_pct: f64) -> Result<Fining, FiningError> {
        if !(dose_g_l > 0.0 && dose_g_l <= MOST_DOSE_G_L) {
            return Err(FiningError::Dose(dose_g_l));
        }
        if !(stock_pct > 0.0 && stock_pct <= MOST_STOCK_PCT) {
            return Err(FiningError::Stock(stock_pct));
        }
        Ok(Fining { dose_g_l, stock_pct })
    }

    /// What a volume is given: a glass of a trial as well as a tank.
    pub fn given_to(&self, wine: Volume) -> Result<Given, FiningError> {
        if wine.is_zero() {
            return Err(FiningError::NoVolume);
        }
        let grams = self.dose_g_l * wine.as_litres();
        let share = self.dose_g_l / (self.stock_pct * 10.0);
        Ok(Given {
            amount: Mass::nearest_to_grams(grams),
            stock: Volume::nearest_to_litres(share * wine.as_litres()),
            share,
        })
    }

    /// The water of all additions to a wine with it, where so much of the wine is the water of additions before.
    #[must_use]
    pub fn watered(&self, wine: Volume, before: Volume) -> Watered {
        let (all, water) = (wine.as_litres(), before.as_litres());
        let pure = all - water;
        if pure <= 0.0 {
            return Watered { before: 1.0, share: 1.0, weakest_stock_pct: None };
        }
        let room = WATER_FIGURE * pure - water;
        let stock = self.dose_g_l / (self.stock_pct * 10.0) * all;
        Watered {
            before: water / pure,
            share: (water + stock) / pure,
            weakest_stock_pct: (room > 0.0).then(|| self.dose_g_l * all / (10.0 * room)),
        }
    }
}

/// Whites of egg for a volume: from and to.
#[must_use]
pub fn egg_whites(wine: Volume) -> (f64, f64) {
    let barrels = wine.as_litres() / BARREL_L;
    (EGG_WHITES_A_BARREL.0 * barrels, EGG_WHITES_A_BARREL.1 * barrels)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Bentonite of 5 %: 0.5 g/L in a glass of 100 mL is 1 mL.
    #[test]
    fn a_glass_of_a_trial() {
        let given = Fining::new(0.5, 5.0).unwrap().given_to(Volume::from_ml(100)).unwrap();
        assert_eq!((given.stock, given.amount), (Volume::from_ml(1), Mass::from_mg(50)));
        assert!(!Fining::new(0.5, 5.0).unwrap().watered(Volume::from_ml(100), Volume::ZERO).is_above_figure());
    }

    /// 1 g/L in 225 L is 4.5 L of slurry of 5 %: 2 % of the wine, above the 1 % of 27 CFR 24.246.
    #[test]
    fn a_barrel() {
        let fining = Fining::new(1.0, 5.0).unwrap();
        let given = fining.given_to(Volume::from_ml(225_000)).unwrap();
        assert_eq!((given.stock, given.amount), (Volume::from_ml(4_500), Mass::from_grams(225)));
        let water = fining.watered(Volume::from_ml(225_000), Volume::ZERO);
        assert!((given.share - 0.02).abs() < 1e-12 && (water.share - 0.02).abs() < 1e-12 && water.is_above_figure());
        assert!((water.weakest_stock_pct.unwrap() - 10.0).abs() < 1e-12);
    }

    /// 27 CFR 24.246 counts all additions together: 0.25 g/L of 5 % is half a hundredth by itself; on a wine that has 8 L of water in
    /// 1,008 L it comes to 8 + 5.04 L in 1,000 L, and of 10 % to 10.52. At 12.6 % it would be just 10 L.
    #[test]
    fn the_water_of_earlier_additions_counts() {
        let (wine, before) = (Volume::from_litres(1_008), Volume::from_litres(8));
        let fining = Fining::new(0.25, 5.0).unwrap();
        assert!(!fining.watered(wine, Volume::ZERO).is_above_figure());
        let water = fining.watered(wine, before);
        assert!((water.before - 0.008).abs() < 1e-12 && (water.share - 0.013_04).abs() < 1e-12);
        assert!((water.weakest_stock_pct.unwrap() - 12.6).abs() < 1e-9);
        assert!(!Fining::new(0.25, 12.61).unwrap().watered(wine, before).is_above_figure());
        // Where the water before is above the figure already no stock keeps within it.
        assert_eq!(fining.watered(wine, Volume::from_litres(20)).weakest_stock_pct, None);
        assert!(fining.watered(Volume::ZERO, Volume::ZERO).share <= 1.0);
    }

    #[test]
    fn whites_of_egg_are_four_to_six_a_barrel() {
        assert_eq!(egg_whites(Volume::from_ml(225_000)), (4.0, 6.0));
        assert_eq!(egg_whites(Volume::from_ml(900_000)), (16.0, 24.0));
    }

    #[test]
    fn what_is_none_is_refused() {
        for (dose, stock) in [(0.0, 5.0), (-1.0, 5.0), (11.0, 5.0), (f64::NAN, 5.0)] {
            assert!(matches!(Fining::new(dose, stock), Err(FiningError::Dose(_))), "{dose}");
        }
        for stock in [0.0, 51.0, f64::INFINITY, f64::NAN] {
            assert!(matches!(Fining::new(1.0, stock), Err(FiningError::Stock(_))), "{stock}");
        }
        assert_eq!(Fining::new(1.0, 5.0).unwrap().given_to(Volume::ZERO), Err(FiningError::NoVolume));
    }

    proptest! {
        #[test]
        fn a_tank_is_given_what_its_glass_was(dose in 0.01_f64..10.0, stock in 0.5_f64..50.0, litres in 1_u32..100_000) {
            let fining = Fining::new(dose, stock).unwrap();
            let glass = fining.given_to(Volume::from_ml(1_000)).unwrap();
            let tank = fining.given_to(Volume::from_ml(u64::from(litres) * 1_000)).unwrap();
            let times = f64::from(litres);
            prop_assert!((tank.amount.as_grams() - glass.amount.as_grams() * times).abs() <= 1e-6 * times);
            prop_assert!((tank.stock.as_litres() - glass.stock.as_litres() * times).abs() <= 1e-6 * times);
            let water = fining.watered(Volume::from_litres(u64::from(litres)), Volume::ZERO);
            prop_assert!((water.share - tank.share).abs() < 1e-12);
            prop_assert_eq!(water.is_above_figure(), water.weakest_stock_pct.is_some_and(|weakest| stock < weakest));
        }
    }
}
