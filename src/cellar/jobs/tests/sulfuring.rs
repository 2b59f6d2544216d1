//! Sulfur dioxide in a vessel: what of it is molecular at its last tests, and how the free is expected to fall.

pub mod carried;
pub mod known;

pub use self::known::{Found, SulfurKnown, TestOf, Unknown};

use super::testing::Analyte;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, VesselId};
use crate::reckon::sulfur::{Balance, Forecast, Level, Model, SulfurError, USUAL_BOUND_SHARE, Wine};

/// What is known of the sulfur dioxide of a vessel, and what of it is molecular.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SulfurState {
    /// What is known: tested, given since, and now.
    pub known: SulfurKnown,
    /// The last test of the free.
    pub free: Found,
    /// Molecular of the free now, mg/L, by the house's model; none where no pH is known, or the model does not reach this wine.
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

impl State {
    /// The sulfur dioxide of a vessel at a moment; none where the free of its wine was never tested, here or before it came here.
    #[must_use]
    pub fn sulfur_state(&self, vessel: VesselId, at: Moment) -> Option<SulfurState> {
        let known = self.sulfur_known_of_itself(vessel, USUAL_BOUND_SHARE, at);
        let free = known.free?;
        let balance = self.so2_balance(vessel).and_then(Result::ok);
        let now = known.free_now.map_or(free.value, |now| now.free_mg_l);
        let molecular_mg_l = balance.and_then(|balance| balance.molecular_mg_l(now).ok());
        Some(SulfurState { known, free, molecular_mg_l, model: self.practice.so2_model })
    }

    /// How much of a vessel's free sulfur dioxide is molecular, by the house's model; none where no pH is known. pH, alcohol
    /// and temperature are the last that are known, from whichever test.
    #[must_use]
    pub fn so2_balance(&self, vessel: VesselId) -> Option<Result<Balance, SulfurError>> {
        self.so2_balance_of(|analyte| self.last_reading(vessel, analyte).map(|(value, _)| value))
    }

    /// The same of a wine whose last results are told.
    pub(in crate::cellar) fn so2_balance_of(
        &self,
        last: impl Fn(Analyte) -> Option<f64>,
    ) -> Option<Result<Balance, SulfurError>> {
        let ph = last(Analyte::Ph)?;
        let wine = Wine { ph, alcohol_pct: last(Analyte::Alcohol), temperature_c: last(Analyte::Temperature) };
        Some(Balance::new(self.practice.so2_model, wine))
    }

    /// The free that the molecular that the house wants takes, mg/L.
    pub(in crate::cellar) fn free_wanted(&self, balance: Option<Result<Balance, SulfurError>>) -> Option<f64> {
        balance?.and_then(|balance| balance.free_mg_l(self.practice.molecular_so2_mg_l)).ok()
    }

    /// What is expected of the free sulfur dioxide of a vessel, from the tests of its wine, here or before it came here, and what
    /// was given to it since.
    pub fn free_so2_outlook(&self, vessel: VesselId, at: Moment) -> Result<FreeOutlook, SulfurError> {
        let last = self.found_of_itself(vessel, Analyte::FreeSo2).ok_or(SulfurError::NoTest)?;
        let (forecast, now) = self.free_forecast(self.vessels.get(vessel), last, USUAL_BOUND_SHARE, at)?;
        Ok(FreeOutlook { now, ..FreeOutlook::of(&forecast, self.free_wanted(self.so2_balance(vessel)), at) })
    }
}
