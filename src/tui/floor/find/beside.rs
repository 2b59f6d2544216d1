//! The few words beside an answer of the find box.

use super::slot;
use crate::cellar::core::label::Label;
use crate::cellar::core::place::Place;
use crate::cellar::core::state::{State, Vessel};
use crate::cellar::jobs::bottles::bottling::drawing::Whence;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::tui::core::sense::Sense;
use crate::units::{counted, litres, whole_litres};

/// What lies at a place.
pub(super) fn beside_place(state: &State, place: &Place) -> Option<String> {
    let (room, slot) = slot(state, place)?;
    let vessel = state.rooms.get(room).slots.get(slot).copied().flatten().map(|id| state.vessels.get(id));
    Some(match vessel {
        Some(vessel) => format!("{}, {}", vessel.label, lot_or_empty(state, vessel)),
        None => "nothing lies here".to_owned(),
    })
}

fn lot_or_empty<'a>(state: &'a State, vessel: &Vessel) -> &'a str {
    vessel.lot.map_or("empty", |lot| state.lots.get(lot).label.as_str())
}

/// The key of a command, and why it cannot be given now.
pub(super) fn beside_command(sense: Option<Sense>, why_not: Option<String>) -> String {
    let key = sense.map_or_else(String::new, Sense::key_name);
    let why_not = why_not.map(|why| format!("not now: {why}"));
    let parts: Vec<String> = [Some(key).filter(|key| !key.is_empty()), why_not].into_iter().flatten().collect();
    parts.join(", ")
}

/// What is left of a lot code, or of a run.
pub(super) fn beside_code(state: &State, name: &Label) -> String {
    let Some(of) = state.bottles_called(name.as_str()) else { return String::new() };
    let run = state.runs.get(of.run);
    let left = run.there(Whence::Anywhere, of.lot_code.as_ref());
    let what = if of.lot_code.is_some() { format!("lot code of run {}", run.label) } else { "run".to_owned() };
    format!("{what}, {} left", counted(left, "bottle"))
}

pub(super) fn beside_vessel(state: &State, vessel: &Vessel) -> String {
    let lot = lot_or_empty(state, vessel);
    match (state.place_of(vessel), vessel.vessel_type) {
        (Some(place), _) => format!("{place}, {lot}"),
        (None, VesselType::Barrel) => format!("barrel at no place, {lot}"),
        (None, VesselType::Tank) => format!("tank, {}, {lot}", whole_litres(vessel.volume())),
        (None, VesselType::Keg) => format!("keg, {}, {lot}", litres(vessel.volume())),
    }
}
