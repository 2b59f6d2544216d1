//! Sulfur dioxide in a vessel: what of it is molecular at its last tests, and how the free is expected to fall.

pub mod known;

pub use self::known::{Found, SulfurKnown, TestOf, Unknown};

use super::moment::Moment;
use super::state::{State, VesselId};
use super::testing::Analyte;
use super::treating::Addition;
use crate::reckon::sulfur::{Added, Balance, Forecast, Level, Model, SulfurError, Tested, USUAL_BOUND_SHARE, Wine};

/// The last free sulfur dioxide of a vessel, and what of it is molecular.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SulfurState {
    /// Free, mg/L.
    pub free_mg_l: f64,
    /// When it was tested.
    pub at: Moment,
    /// Whether the test was of several vessels together.
    pub composite: bool,
    /// Molecular, mg/L, by the house's model; none where no pH is known, or the model does not reach this wine.
    pub molecular_mg_l: Option<f64>,
    /// By which model.
    pub model: Model,
}

/// What is expected of the free sulfur dioxide of a vessel or a lot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FreeOutlook {
    /// How many tests it rests on.
    pub tests: usize,
    /// The share of the free that is expected to go in a day, 0 to 1.
    pub rate_a_day: f64,
    /// The level at the moment that is looked at.
    pub now: Level,
    /// The free that the wanted molecular takes, mg/L; none where no pH is known, or the model does not reach this wine.
    pub floor_mg_l: Option<f64>,
    /// From when on it may be below that: the lower end of its band is. None where it stays above for ten years.
    pub perhaps_below: Option<Moment>,
    /// From when on it is expected to be.
    pub below: Option<Moment>,
}

impl FreeOutlook {
    /// What a forecast says at a moment.
    #[must_use]
    pub fn of(forecast: &Forecast, floor_mg_l: Option<f64>, at: Moment) -> FreeOutlook {
        let moment = |day| at.at_days_of_epoch(day);
        FreeOutlook {
            tests: forecast.tests(),
            rate_a_day: forecast.rate_a_day(),
            now: forecast.at(at.days_of_epoch()),
            floor_mg_l,
            perhaps_below: floor_mg_l.and_then(|floor| forecast.day_perhaps_below(floor)).map(moment),
            below: floor_mg_l.and_then(|floor| forecast.day_below(floor)).map(moment),
        }
    }

    /// The level now as a part of what is wanted, or of `wanted_mg_l` where that is not known.
    #[must_use]
    pub fn part_of_wanted(&self, wanted_mg_l: f64) -> f64 {
        self.now.free_mg_l / self.floor_mg_l.unwrap_or(wanted_mg_l)
    }

    /// Whether it is expected to be below what is wanted already.
    #[must_use]
    pub fn is_below(&self) -> bool {
        self.floor_mg_l.is_some_and(|floor| self.now.free_mg_l < floor)
    }
}

impl Addition {
    /// By how much the free rose in its vessel once the usual share was bound; none for another material.
    #[must_use]
    pub fn free_rise(&self) -> Option<Added> {
        let total = self.total_so2_rise_mg_l()?;
        Some(Added { day: self.at.days_of_epoch(), free_rise_mg_l: total * (1.0 - USUAL_BOUND_SHARE) })
    }
}

impl State {
    /// The sulfur dioxide of a vessel at its last test of the free; none where it was never tested.
    #[must_use]
    pub fn sulfur_state(&self, vessel: VesselId) -> Option<SulfurState> {
        let (free_mg_l, test) = self.last_reading(vessel, Analyte::FreeSo2)?;
        let balance = self.so2_balance(vessel).and_then(Result::ok);
        Some(SulfurState {
            free_mg_l,
            at: test.at,
            composite: test.is_composite(),
            molecular_mg_l: balance.and_then(|balance| balance.molecular_mg_l(free_mg_l).ok()),
            model: self.practice.so2_model,
        })
    }

    /// How much of a vessel's free sulfur dioxide is molecular, by the house's model; none where no pH is known. pH, alcohol
    /// and temperature are the last that are known, from whichever test.
    #[must_use]
    pub fn so2_balance(&self, vessel: VesselId) -> Option<Result<Balance, SulfurError>> {
        self.so2_balance_of(|analyte| self.last_reading(vessel, analyte).map(|(value, _)| value))
    }

    /// The same of a wine whose last results are told.
    pub(super) fn so2_balance_of(&self, last: impl Fn(Analyte) -> Option<f64>) -> Option<Result<Balance, SulfurError>> {
        let ph = last(Analyte::Ph)?;
        let wine = Wine { ph, alcohol_pct: last(Analyte::Alcohol), temperature_c: last(Analyte::Temperature) };
        Some(Balance::new(self.practice.so2_model, wine))
    }

    /// The free that the molecular that the house wants takes, mg/L.
    pub(super) fn free_wanted(&self, balance: Option<Result<Balance, SulfurError>>) -> Option<f64> {
        balance?.and_then(|balance| balance.free_mg_l(self.practice.molecular_so2_mg_l)).ok()
    }

    /// What is expected of the free sulfur dioxide of a vessel, from the tests of its present wine, composites too, and what
    /// was added to it.
    pub fn free_so2_outlook(&self, vessel: VesselId, at: Moment) -> Result<FreeOutlook, SulfurError> {
        let wine = self.vessels.get(vessel);
        let tests: Vec<Tested> = wine
            .tests
            .of(Analyte::FreeSo2)
            .map(|(free_mg_l, test)| Tested { day: test.at.days_of_epoch(), free_mg_l })
            .collect();
        let additions: Vec<Added> = wine.additions.iter().filter_map(|addition| addition.free_rise()).collect();
        let forecast = Forecast::of(&tests, &additions)?;
        Ok(FreeOutlook::of(&forecast, self.free_wanted(self.so2_balance(vessel)), at))
    }
}
