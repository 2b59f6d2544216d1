//! `trial serve`: who gets which codes, flight by flight, in the order of tasting.

use super::{seal_line, trial};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::code::Code;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;

/// A flight of a taster: who, which and what.
type Flight<'a> = (&'a Label, u32, &'a [Code]);

fn flights(trial: &Trial) -> Vec<Flight<'_>> {
    let tasters = trial.tasters().iter();
    tasters
        .flat_map(|taster| (1..).zip(&taster.flights).map(|(flight, codes)| (&taster.name, flight, &codes[..])))
        .collect()
}

fn columns<'a>() -> [Column<&'a Trial>; 3] {
    [
        Column::program("trial", |it: &&Trial| (&it.label).into()),
        Column::program("digest", |it| it.digest().into()),
        Column::within("flights", |it| Cell::things(&flight_columns(), flights(it))),
    ]
}

fn flight_columns<'a>() -> [Column<Flight<'a>>; 3] {
    [
        Column::both("taster", "taster", |it: &Flight<'_>| it.0.into()),
        Column::both("flight", "flight", |it| it.1.into()),
        Column::both("codes", "codes, in the order of tasting", |it: &Flight<'_>| {
            it.2.iter().map(Code::to_string).collect::<Vec<_>>().join(" ").into()
        })
        .whole(|it| Cell::list(it.2.iter().map(Code::to_string))),
    ]
}

/// Gives the page out.
pub fn write(state: &State, label: &str, page: &mut Page<'_>) -> Outcome {
    let trial = state.trials.get(trial(state, label)?);
    let flights = flights(trial);
    page.report((&columns(), &trial), (&flight_columns(), &flights), |page| {
        page.table(&flight_columns(), &flights)?;
        page.line(&format!("\n{}", seal_line(trial.digest())))
    })
}
