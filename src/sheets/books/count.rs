//! The sheet of a physical count: every vessel, and room for what is found. The book's figure is hidden, or people find it.

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RoomId, State, VesselId};
use crate::sheets::core::document::{Block, Document, Kind, Line, Table};
use crate::told::hazard::Caution;

/// The sheet of a room, or of the whole cellar.
#[must_use]
pub fn sheet(state: &State, room: Option<RoomId>, at: Moment) -> Document {
    let lies_in = |id: &VesselId| room.is_none() || state.vessels.get(*id).slot.map(|slot| slot.room) == room;
    let still_there = |id: &VesselId| state.vessels.get(*id).retired.is_none();
    let vessels: Vec<VesselId> = state.in_walking_order().filter(lies_in).filter(still_there).collect();
    let mut table = Table::with(&[
        ("place", Kind::Words),
        ("vessel", Kind::Words),
        ("can hold L", Kind::Numbers),
        ("full", Kind::Box),
        ("empty", Kind::Box),
        ("litres, or dip mm", Kind::Room(12)),
        ("note", Kind::Room(16)),
    ]);
    let mut before = None;
    for id in vessels {
        let vessel = state.vessels.get(id);
        let place = state.place_of(vessel);
        let row = place
            .as_ref()
            .map_or_else(|| "In no room".to_owned(), |place| format!("{}, row {}", place.rack.room, place.rack.row));
        if before.as_ref() != Some(&row) {
            table.lines.push(Line::Band(row.clone()));
            before = Some(row);
        }
        table.lines.push(Line::Cells(vec![
            place.map(|place| place.within_room()).unwrap_or_default(),
            vessel.label.to_string(),
            vessel.capacity.in_column(0),
        ]));
    }
    let what = room.map_or_else(|| "the whole cellar".to_owned(), |room| state.rooms.get(room).label.to_string());
    let lead = vec![
        format!("{}. What the book says is not on this sheet: write down what is there.", at.show_date()),
        "Full is as full as it is kept. A dip is from the inside of the stave under the bung down to the wine."
            .to_owned(),
    ];
    let by_hand = "Counted by ________________  seen by ________________  on ________".to_owned();
    Document {
        title: format!("Count of {what}"),
        lead,
        cautions: Document::cautions(&Caution::of_kind("count_begun")),
        blocks: vec![Block::Table(table), Block::Words(by_hand)],
    }
}
