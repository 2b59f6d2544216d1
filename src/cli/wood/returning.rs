//! `plan return`: which barrels take back what they gave to a tank.

use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::wood::returning::Return;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};
use crate::told::hazard::Caution;
use crate::units::Volume;

/// A return as it is told.
type ReturnSeen<'a> = Seen<'a, &'a Return>;

fn columns<'a>() -> Vec<Column<ReturnSeen<'a>>> {
    vec![
        Column::program("tank", |it: &ReturnSeen<'_>| it.vessel(it.tank)),
        Column::within("barrels", |it| it.within(&stop_columns(), (1..).zip(it.stops.iter().copied()))),
        Column::within("left_out", |it| Cell::list(it.left_out.iter().map(|&id| it.vessel(id)))),
        Column::within("without", |it| Cell::list(it.without.iter().map(|&id| it.vessel(id)))),
        Column::program("short_ul", |it| it.short.into()),
        Column::program("stays_ul", |it| it.stays.into()),
    ]
}

/// A barrel of it, and which one of the walk it is.
type StopSeen<'a> = Seen<'a, (usize, (VesselId, Volume))>;

fn stop_columns<'a>() -> Vec<Column<StopSeen<'a>>> {
    vec![
        Column::both("order", "order", |it: &StopSeen<'_>| it.0.into()),
        Column::both("vessel", "vessel", |it| it.vessel(it.1.0)),
        Column::both("place", "place", |it| it.place(it.1.0)),
        Column::both("volume_ul", "litres", |it: &StopSeen<'_>| it.1.1.into()).summed(),
    ]
}

/// Gives the plan out; as a spreadsheet, its barrels.
pub fn write(state: &State, plan: &Return, on: Moment, page: &mut Page<'_>) -> Outcome {
    let told = Seen { state, on, thing: plan };
    let stops = seen(state, on, (1..).zip(plan.stops.iter().copied()));
    page.report((&columns(), &told), (&stop_columns(), &stops), |page| {
        page.line(&format!("{}: {}", harmless(told.vessel_label(plan.tank).as_str()), plan.words()))?;
        let barrels: Vec<VesselId> = plan.stops.iter().map(|&(id, _)| id).collect();
        page.caution(&Caution::of_filling(state, &barrels))?;
        if let Some(short) = plan.short_words(state) {
            page.line(&harmless(&short))?;
        }
        let named = |barrels: &[VesselId]| {
            let labels = barrels.iter().map(|&id| harmless(told.vessel_label(id).as_str()));
            labels.collect::<Vec<_>>().join(", ")
        };
        for (why, barrels) in plan.not_filled() {
            page.line(&format!("{why}: {}.", named(barrels)))?;
        }
        page.section("to fill, in the order of the walk", &stop_columns(), &stops)
    })
}
