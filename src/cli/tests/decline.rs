//! The forecast of free sulfur dioxide from the desk: from tests and additions that are said.

use serde::Serialize;

use super::sulfur::rounded;
use crate::cellar::core::moment::Moment;
use crate::cli::arguments::DeclineArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::When;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::sulfur::wine::SULFUR_DIOXIDE_MG_L;
use crate::reckon::sulfur::{Added, Forecast, SulfurError, Tested};

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
    let view = ForecastView::of(&forecast, on, asked.floor);
    page.card(&ForecastView::COLUMNS, &view, |_| Ok(()))
}

/// A forecast.
#[derive(Debug, Serialize)]
struct ForecastView {
    tests: usize,
    monthly_loss_pct: f64,
    on: When,
    free_so2_mg_l: f64,
    low_mg_l: f64,
    high_mg_l: f64,
    floor_mg_l: Option<f64>,
    perhaps_below: Option<When>,
    below: Option<When>,
}

impl ForecastView {
    fn of(forecast: &Forecast, on: Moment, floor_mg_l: Option<f64>) -> ForecastView {
        let level = forecast.at(on.days_of_epoch());
        let when = |day: f64| When(on.at_days_of_epoch(day));
        ForecastView {
            tests: forecast.tests(),
            monthly_loss_pct: rounded(forecast.rate_a_day() * 30.0 * 100.0, 1),
            on: When(on),
            free_so2_mg_l: rounded(level.free_mg_l, 1),
            low_mg_l: rounded(level.low_mg_l, 1),
            high_mg_l: rounded(level.high_mg_l, 1),
            floor_mg_l,
            perhaps_below: floor_mg_l.and_then(|floor| forecast.day_perhaps_below(floor)).map(when),
            below: floor_mg_l.and_then(|floor| forecast.day_below(floor)).map(when),
        }
    }

    const COLUMNS: [Column<ForecastView>; 9] = [
        Column::both("tests", "tests", |it: &ForecastView| it.tests.into()),
        Column::both("monthly_loss_pct", "% a month", |it| it.monthly_loss_pct.into()),
        Column::both("on", "on", |it| it.on.into()),
        Column::both("free_so2_mg_l", "free SO2", |it| it.free_so2_mg_l.into()),
        Column::both("low_mg_l", "low", |it| it.low_mg_l.into()),
        Column::both("high_mg_l", "high", |it| it.high_mg_l.into()),
        Column::both("floor_mg_l", "floor", |it| it.floor_mg_l.into()),
        Column::both("perhaps_below", "perhaps below", |it| it.perhaps_below.into()),
        Column::both("below", "below", |it| it.below.into()),
    ];
}
