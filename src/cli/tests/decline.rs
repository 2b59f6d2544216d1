//! The forecast of free sulfur dioxide from the desk: from tests and additions that are said.

use crate::cellar::core::moment::Moment;
use crate::cli::arguments::DeclineArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::sulfur::wine::SULFUR_DIOXIDE_MG_L;
use crate::reckon::sulfur::{Added, Forecast, Level, SulfurError, Tested};

/// Forecasts the free on a day, and the day on which it falls below a floor.
pub fn forecast(asked: &DeclineArguments, now: Moment, page: &mut Page<'_>) -> Outcome {
    let floor = asked.floor.filter(|floor| !(SULFUR_DIOXIDE_MG_L.0..=SULFUR_DIOXIDE_MG_L.1).contains(floor));
    if let Some(floor) = floor {
        return Err(SulfurError::Free(floor).into());
    }
    let tests: Vec<Tested> =
        asked.tested.iter().map(|(at, free_mg_l)| Tested { day: at.days_of_epoch(), free_mg_l: *free_mg_l }).collect();
    let additions: Vec<Added> = asked
        .added
        .iter()
        .map(|(at, free_rise_mg_l)| Added { day: at.days_of_epoch(), free_rise_mg_l: *free_rise_mg_l })
        .collect();
    let on = asked.on.unwrap_or(now);
    let forecast = Forecast::of(&tests, &additions)?;
    let last = asked.tested.iter().chain(&asked.added).map(|(at, _)| *at).max_by_key(|at| at.instant());
    if let Some(last) = last.filter(|last| on.instant() < last.instant()) {
        let last = last.show_date();
        let sentence = format!("A forecast begins with the last test or addition, {last}. Name a later day with --on.");
        return Err(Complaint::Refused(sentence));
    }
    page.card(&COLUMNS, &Foretold { forecast, on, floor_mg_l: asked.floor }, |_| Ok(()))
}

/// A forecast, the day it is looked at, and the floor.
struct Foretold {
    forecast: Forecast,
    on: Moment,
    floor_mg_l: Option<f64>,
}

impl Foretold {
    fn level(&self) -> Level {
        self.forecast.at(self.on.days_of_epoch())
    }

    /// The day of a forecast that asks for the floor.
    fn day(&self, below: fn(&Forecast, f64) -> Option<f64>) -> Cell {
        self.floor_mg_l.and_then(|floor| below(&self.forecast, floor)).map(|day| self.on.at_days_of_epoch(day)).into()
    }
}

const COLUMNS: [Column<Foretold>; 9] = [
    Column::both("tests", "tests", |it: &Foretold| it.forecast.tests().into()),
    Column::both("monthly_loss_pct", "% a month", |it| rounded(it.forecast.rate_a_day() * 30.0 * 100.0, 1).into()),
    Column::both("on", "on", |it| it.on.into()),
    Column::both("free_so2_mg_l", "free SO2", |it| rounded(it.level().free_mg_l, 1).into()),
    Column::both("low_mg_l", "low", |it| rounded(it.level().low_mg_l, 1).into()),
    Column::both("high_mg_l", "high", |it| rounded(it.level().high_mg_l, 1).into()),
    Column::both("floor_mg_l", "floor", |it| it.floor_mg_l.into()),
    Column::both("perhaps_below", "perhaps below", |it| it.day(Forecast::day_perhaps_below)),
    Column::both("below", "below", |it| it.day(Forecast::day_below)),
];
