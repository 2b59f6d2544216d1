//! The floor map for the wall: every row of a room as one sees it, with the barrels' labels.

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RoomId, State};
use crate::sheets::core::document::{Block, Document, Stacks};

/// What stands in a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// The barrel's label.
    Barrels,
    /// Its lot's label.
    Lots,
}

/// The map of a room at a moment.
#[must_use]
pub fn sheet(state: &State, room: RoomId, shown: Shown, at: Moment) -> Document {
    let laid_out = state.rooms.get(room);
    let mut slots = laid_out.slots.iter();
    let word = |slot: Option<&Option<crate::cellar::core::state::VesselId>>| {
        let vessel = slot.copied().flatten().map(|id| state.vessels.get(id));
        let word = vessel.and_then(|vessel| match shown {
            Shown::Barrels => Some(vessel.label.to_string()),
            Shown::Lots => vessel.lot.map(|lot| state.lots.get(lot).label.to_string()),
        });
        word.unwrap_or_default()
    };
    let rows = laid_out.rows.iter().map(|row| {
        let stacks = (0..row.stacks).map(|_| {
            // Slots go up from the floor; a picture goes down from the top.
            let mut tiers: Vec<Vec<String>> =
                (0..row.tiers).map(|_| (0..row.sides).map(|_| word(slots.next())).collect()).collect();
            tiers.reverse();
            tiers
        });
        Block::Stacks(Stacks { row: row.row.to_string(), stacks: stacks.collect() })
    });
    let blocks = rows.collect();
    let what = match shown {
        Shown::Barrels => "Labels of barrels",
        Shown::Lots => "Lots",
    };
    let lead = vec![format!("{what} on {}. Tier 1 is the floor; sides are a, b from the left.", at.show_date())];
    Document { title: format!("Map of {}", laid_out.label), lead, cautions: Vec::new(), blocks }
}
