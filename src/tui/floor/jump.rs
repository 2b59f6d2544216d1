//! Where a label or a place leads that is typed or scanned in the aisle.

use crate::cellar::core::label::Label;
use crate::cellar::core::state::{RoomId, State, VesselId};
use crate::tui::core::model::Model;

/// What a label or a place that was typed or scanned means, if it means anything: a vessel of that label, else a place
/// of this room like `A-03-2-b`.
#[must_use]
pub fn by_label(model: &Model, typed: &str) -> Option<Jump> {
    let state = &model.state;
    if let Some(id) = state.vessels.find(typed) {
        return Some(Jump::Vessel(id));
    }
    let room = state.rooms.get(model.room()?);
    let place = typed.parse().ok().or_else(|| format!("{}/{typed}", room.label).parse().ok());
    let place: crate::cellar::core::place::Place = place?;
    let room = state.rooms.find(place.rack.room.as_str())?;
    state.rooms.get(room).slot(&place).map(|slot| Jump::Slot(room, slot))
}

/// Where a label leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Jump {
    /// To a vessel.
    Vessel(VesselId),
    /// To a place.
    Slot(RoomId, usize),
}

/// Labels near a label that is not there: those that begin or end like it.
#[must_use]
pub fn near(state: &State, typed: &str) -> Vec<Label> {
    let typed = typed.to_lowercase();
    let close = |label: &Label| {
        let label = label.as_str().to_lowercase();
        label.contains(&typed) || typed.contains(&label)
    };
    state.vessels.iter().map(|(_, vessel)| &vessel.label).filter(|label| close(label)).take(3).cloned().collect()
}
