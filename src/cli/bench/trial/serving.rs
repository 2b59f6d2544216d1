//! `trial serve`: who gets which codes, flight by flight, in the order of tasting.

use serde::Serialize;

use super::{seal_line, trial};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::Taster;
use crate::cellar::jobs::bench::trial::code::Code;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;

/// The serving page, under the names of the exchange format.
#[derive(Debug, Serialize)]
struct ServingView {
    trial: Label,
    digest: String,
    flights: Vec<FlightView>,
}

/// A flight of a taster.
#[derive(Debug, Serialize)]
struct FlightView {
    taster: Label,
    flight: u32,
    codes: Vec<Code>,
}

impl FlightView {
    fn columns() -> Vec<Column<FlightView>> {
        vec![
            Column::both("taster", "taster", |it: &FlightView| (&it.taster).into()),
            Column::both("flight", "flight", |it| it.flight.into()),
            Column::both("codes", "codes, in the order of tasting", |it| {
                Cell::Text(it.codes.iter().map(Code::to_string).collect::<Vec<_>>().join(" "))
            }),
        ]
    }
}

/// Gives the page out.
pub fn write(state: &State, label: &str, page: &mut Page<'_>) -> Outcome {
    let trial = state.trials.get(trial(state, label)?);
    let flights_of = |taster: &Taster| {
        let flight = |(flight, codes): (u32, &Vec<Code>)| FlightView {
            taster: taster.name.clone(),
            flight,
            codes: codes.clone(),
        };
        (1..).zip(&taster.flights).map(flight).collect::<Vec<_>>()
    };
    let flights = trial.tasters().iter().flat_map(flights_of).collect();
    let view = ServingView { trial: trial.label.clone(), digest: trial.digest().to_owned(), flights };
    page.report(&view, &FlightView::columns(), &view.flights, |page| {
        page.table(&FlightView::columns(), &view.flights)?;
        page.line(&format!("\n{}", seal_line(&view.digest)))
    })
}
