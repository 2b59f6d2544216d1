//! Rooms as they are listed.

use serde::Serialize;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{Room, State, Vessel};
use crate::cellar::jobs::floor::room::RowLaidOut;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::reckon::due::Due;
use crate::units::Volume;

/// A room at a moment, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct RoomView {
    room: Label,
    rows: Vec<RowLaidOut>,
    places: usize,
    barrels: usize,
    empty_places: usize,
    volume_ul: Volume,
    due: usize,
    over: usize,
    held: usize,
    round_days: u32,
    tolerated_ul: Option<Volume>,
    temperature_c: Option<f64>,
    humidity_pct: Option<f64>,
    open_round: Option<Label>,
}

/// Every room of the cellar.
#[must_use]
pub fn all_rooms(state: &State, on: Moment) -> Vec<RoomView> {
    state.rooms.iter().map(|(_, room)| RoomView::of(state, room, on)).collect()
}

impl RoomView {
    fn of(state: &State, room: &Room, on: Moment) -> RoomView {
        let lying: Vec<&Vessel> = room.slots.iter().flatten().map(|&id| state.vessels.get(id)).collect();
        let judged = |judgement| lying.iter().filter(|vessel| state.due(vessel, on) == Some(judgement)).count();
        RoomView {
            room: room.label.clone(),
            rows: room.rows.clone(),
            places: room.slots.len(),
            barrels: lying.len(),
            empty_places: room.slots.len() - lying.len(),
            volume_ul: lying.iter().map(|vessel| vessel.volume()).sum(),
            due: judged(Due::Due),
            over: judged(Due::Over),
            held: lying.iter().filter(|vessel| vessel.held.is_some()).count(),
            round_days: room.round_days_or_house(),
            tolerated_ul: room.tolerated,
            temperature_c: room.temperature_c,
            humidity_pct: room.humidity_pct,
            open_round: room.open_round.map(|round| state.rounds.get(round).label.clone()),
        }
    }

    /// The columns of a list of rooms.
    #[must_use]
    pub fn columns() -> Vec<Column<RoomView>> {
        vec![
            Column::both("room", "room", |it| (&it.room).into()),
            Column::program("rows", |it: &RoomView| rows(&it.rows)).nested(),
            Column::both("places", "places", |it: &RoomView| it.places.into()).summed(),
            Column::both("barrels", "barrels", |it: &RoomView| it.barrels.into()).summed(),
            Column::both("empty_places", "free", |it: &RoomView| it.empty_places.into()).summed(),
            Column::both("volume_ul", "litres", |it: &RoomView| it.volume_ul.into()).summed(),
            Column::both("due", "due", |it: &RoomView| it.due.into()).summed(),
            Column::both("over", "over", |it: &RoomView| it.over.into()).summed(),
            Column::both("held", "held", |it: &RoomView| it.held.into()).summed(),
            Column::both("round_days", "every", |it| it.round_days.into()),
            Column::program("tolerated_ul", |it| it.tolerated_ul.into()),
            Column::program("temperature_c", |it| it.temperature_c.into()),
            Column::program("humidity_pct", |it| it.humidity_pct.into()),
            Column::both("open_round", "open round", |it: &RoomView| it.open_round.as_ref().into()).sparse(),
        ]
    }
}

/// A row as stacks × tiers × sides.
fn rows(rows: &[RowLaidOut]) -> Cell {
    let told = |row: &RowLaidOut| format!("{} {}x{}x{}", row.row, row.stacks, row.tiers, row.sides);
    Cell::Text(rows.iter().map(told).collect::<Vec<_>>().join("; "))
}
