//! `plan racking`: which barrels go into a tank, in which order, with how many litres, and whether it has room.

use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::State;
use crate::cellar::jobs::wood::racking::{Racking, RackingAsked, RackingStop};
use crate::cellar::views::books::claims::Broken;
use crate::cellar::views::wood::in_the_tank::{InTheTank, SulfurOnTheWay};
use crate::cli::arguments::RackingArguments;
use crate::cli::books::claims::claim_columns;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::reading;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};
use crate::cli::topping::plan::{held_columns, suspect_columns};
use crate::told::hazard::Caution;
use crate::units::{counted, litres};

/// Plans what the command line asks for.
pub fn plan(state: &State, asked: &RackingArguments, on: Moment) -> Outcome<Racking> {
    let into = asked.into_lot.as_ref().map(|label| reading::lot(state, label)).transpose()?;
    let rack = |place: &crate::cellar::core::place::RackPlace| {
        let room = reading::room(state, place.room.as_str())?;
        let slots = state.rooms.get(room).rack_slots(place);
        let slots =
            slots.ok_or_else(|| Complaint::from(crate::cellar::core::refusal::Refusal::UnknownRack(place.clone())))?;
        Ok((room, slots))
    };
    let asked = RackingAsked {
        lot: reading::lot(state, &asked.lot)?,
        racks: asked.racks.iter().map(rack).collect::<Outcome<_>>()?,
        to: reading::vessel(state, &asked.to)?,
        into,
    };
    Ok(state.plan_racking(asked, on)?)
}

/// A plan, and what it makes of the tank.
type RackingSeen<'a> = Seen<'a, (&'a Racking, InTheTank)>;

fn columns<'a>() -> Vec<Column<RackingSeen<'a>>> {
    vec![
        Column::program("lot", |it: &RackingSeen<'_>| it.lot(it.0.asked.lot)),
        Column::program("to", |it| it.vessel(it.0.asked.to)),
        // The lot that it is in the tank, where that was said.
        Column::program("into_lot", |it| it.lot(it.0.asked.into)),
        Column::within("barrels", |it| it.within(&stop_columns(), (1..).zip(&it.0.stops))),
        Column::program("expected_ul", |it| it.0.expected.into()),
        Column::program("lees_ul", |it| it.0.lees.into()),
        Column::program("lees_each_ul", |it| it.0.lees_found.map(|found| found.each).into()),
        // How many rackings of a barrel that is the median of.
        Column::program("lees_rackings", |it| it.0.lees_found.map(|found| found.rackings).into()),
        Column::program("room_ul", |it| it.0.room.into()),
        Column::program("room_after_ul", |it| it.0.room.saturating_sub(it.0.expected).into()),
        Column::program("short_ul", |it| it.0.short().into()),
        Column::within("held", |it| it.within(&held_columns(), it.0.held.iter().copied())),
        Column::within("suspect", |it| it.within(&suspect_columns(), it.0.suspect.iter().copied())),
        Column::within("claims_now", |it| Cell::things(&claim_columns(), it.1.before.iter().map(Into::into))),
        Column::within("claims_then", |it| Cell::things(&claim_columns(), it.1.after.iter().map(Into::into))),
        // The claims that lots hold now and would hold no longer.
        Column::within("claims_lost", |it| Cell::list(it.1.broken.iter().map(claim_lost))),
        Column::within("so2_on_the_way", |it| it.1.sulfur.as_ref().ok().map(|it| Cell::thing(&SULFUR, it)).into()),
    ]
}

fn claim_lost(broken: &Broken) -> String {
    Question::from(broken.clone()).to_string()
}

/// The sulfur dioxide of what comes together in the tank.
const SULFUR: [Column<SulfurOnTheWay>; 8] = [
    Column::program("volume_ul", |it: &SulfurOnTheWay| it.volume.into()),
    Column::program("free_so2_mg_l", |it| rounded(it.free_mg_l, 1).into()),
    Column::program("oldest_test", |it| it.oldest.into()),
    Column::program("model", |it| it.model.word().into()),
    Column::program("target_mg_l", |it| it.target_mg_l.into()),
    Column::program("molecular_so2_mg_l", |it| it.molecular.ok().map(|it| rounded(it.molecular_mg_l, 2)).into()),
    Column::program("wanted_free_mg_l", |it| it.molecular.ok().map(|it| rounded(it.wanted_free_mg_l, 1)).into()),
    Column::program("metabisulfite_ug", |it| it.molecular.ok().map(|it| it.powder.unwrap_or_default()).into()),
];

/// A barrel of it, and which one of the walk it is.
type StopSeen<'a> = Seen<'a, (usize, &'a RackingStop)>;

fn stop_columns<'a>() -> Vec<Column<StopSeen<'a>>> {
    vec![
        Column::both("order", "order", |it: &StopSeen<'_>| it.0.into()),
        Column::both("vessel", "vessel", |it| it.vessel(it.1.vessel)),
        Column::both("place", "place", |it| it.place(it.1.vessel)),
        Column::program("expected_ul", |it| it.1.expected.into()),
        Column::program("sd_ul", |it| it.1.deviation.into()),
        Column::people("litres", |it| Cell::Estimate(it.1.expected, it.1.deviation)),
        Column::both("lees_ul", "lees", |it| it.1.lees.into()),
    ]
}

/// Gives the plan out; as a spreadsheet, its barrels.
pub fn write(state: &State, plan: &Racking, on: Moment, page: &mut Page<'_>) -> Outcome {
    let told = Seen { state, on, thing: (plan, state.in_the_tank(plan, on)) };
    let stops = seen(state, on, (1..).zip(&plan.stops));
    page.report((&columns(), &told), (&stop_columns(), &stops), |page| {
        let tank = &told.1;
        let lot = harmless(told.lot_label(plan.asked.lot).as_str());
        let to = harmless(told.vessel_label(plan.asked.to).as_str());
        let barrels = counted(stops.len(), "barrel");
        page.line(&format!("Racking of {lot} into {to}: {barrels}, about {}", litres(plan.expected)))?;
        page.caution(&Caution::of_racking())?;
        let (room, short) = (litres(plan.room), plan.short());
        page.line(&if short.is_zero() {
            format!("{to} has room for {room}; {} is left then.", litres(plan.room.saturating_sub(plan.expected)))
        } else {
            format!("{to} has room for {room} and is short by {}.", litres(short))
        })?;
        page.line(&plan.lees_words())?;
        page.line(&harmless(&tank.label_words()))?;
        tank.broken.iter().try_for_each(|broken| page.line(&harmless(&claim_lost(broken))))?;
        page.line(&harmless(&tank.sulfur_words(state, on)))?;
        page.section("to rack, in the order of the walk", &stop_columns(), &stops)?;
        page.section("held and left out", &held_columns(), &seen(state, on, plan.held.iter().copied()))?;
        page.section("suspect among them", &suspect_columns(), &seen(state, on, plan.suspect.iter().copied()))
    })
}
