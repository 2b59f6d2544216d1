//! Rooms as they are listed.

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{Room, State, Vessel};
use crate::cellar::jobs::floor::room::RowLaidOut;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::seen::{Seen, seen};
use crate::reckon::due::Due;

/// A room, and what lies in it.
pub struct Furnished<'a> {
    room: &'a Room,
    lying: Vec<&'a Vessel>,
}

/// A room as it is told.
pub type RoomSeen<'a> = Seen<'a, Furnished<'a>>;

/// Every room of the cellar.
#[must_use]
pub fn all(state: &State, on: Moment) -> Vec<RoomSeen<'_>> {
    let lying = |room: &Room| room.slots.iter().flatten().map(|&id| state.vessels.get(id)).collect();
    seen(state, on, state.rooms.iter().map(|(_, room)| Furnished { room, lying: lying(room) }))
}

/// The columns of a list of rooms.
#[must_use]
pub fn columns<'a>() -> Vec<Column<RoomSeen<'a>>> {
    vec![
        Column::both("room", "room", |it| (&it.room.label).into()),
        Column::program("rows", |it: &RoomSeen<'_>| rows(&it.room.rows)).nested().whole(|it| Cell::form(&it.room.rows)),
        Column::both("places", "places", |it: &RoomSeen<'_>| it.room.slots.len().into()).summed(),
        Column::both("barrels", "barrels", |it: &RoomSeen<'_>| it.lying.len().into()).summed(),
        Column::both("empty_places", "free", |it: &RoomSeen<'_>| (it.room.slots.len() - it.lying.len()).into())
            .summed(),
        Column::both("volume_ul", "litres", |it: &RoomSeen<'_>| {
            Cell::Volume(it.lying.iter().map(|vessel| vessel.volume()).sum())
        })
        .summed(),
        Column::both("due", "due", |it: &RoomSeen<'_>| judged(it, Due::Due)).summed(),
        Column::both("over", "over", |it: &RoomSeen<'_>| judged(it, Due::Over)).summed(),
        Column::both("held", "held", |it: &RoomSeen<'_>| counted(it, |vessel| vessel.held.is_some())).summed(),
        Column::both("round_days", "every", |it| it.room.round_days_or_house().into()),
        Column::program("tolerated_ul", |it| it.room.tolerated.into()),
        Column::program("temperature_c", |it| it.room.temperature_c.into()),
        Column::program("humidity_pct", |it| it.room.humidity_pct.into()),
        Column::both("open_round", "open round", |it: &RoomSeen<'_>| {
            it.room.open_round.map(|round| &it.state.rounds.get(round).label).into()
        })
        .sparse(),
    ]
}

fn counted(room: &RoomSeen<'_>, is_one: impl Fn(&Vessel) -> bool) -> Cell {
    room.lying.iter().filter(|vessel| is_one(vessel)).count().into()
}

fn judged(room: &RoomSeen<'_>, judgement: Due) -> Cell {
    counted(room, |vessel| room.state.due(vessel, room.on) == Some(judgement))
}

/// A row as stacks × tiers × sides.
fn rows(rows: &[RowLaidOut]) -> Cell {
    let told = |row: &RowLaidOut| format!("{} {}x{}x{}", row.row, row.stacks, row.tiers, row.sides);
    Cell::Text(rows.iter().map(told).collect::<Vec<_>>().join("; "))
}
