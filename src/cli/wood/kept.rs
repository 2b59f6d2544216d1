//! What is done to a wine again and again while it lies there: lees stirring, gas over tanks.

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, Vessel, VesselId};
use crate::cellar::jobs::wood::blanketing::Kept;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::seen::{Seen, seen};

/// What was done last, as it is told.
pub type KeptSeen<'a> = Seen<'a, Kept>;

impl KeptSeen<'_> {
    fn held_in(&self) -> &Vessel {
        self.state.vessels.get(self.thing.vessel)
    }

    fn due(&self) -> Cell {
        if self.is_due(self.on) { "due".into() } else { "fine".into() }
    }
}

/// Whatever was done in this way, in walking order.
#[must_use]
pub fn all(state: &State, on: Moment, kept: fn(&State, VesselId) -> Option<Kept>) -> Vec<KeptSeen<'_>> {
    seen(state, on, state.in_walking_order().filter_map(|id| kept(state, id)))
}

/// The columns of the vessels whose lees are stirred.
#[must_use]
pub fn stirred_columns<'a>() -> Vec<Column<KeptSeen<'a>>> {
    vec![
        Column::both("vessel", "vessel", |it: &KeptSeen<'_>| it.vessel(it.thing.vessel)),
        Column::both("place", "place", |it| it.place(it.thing.vessel)),
        Column::both("lot", "lot", |it| it.lot(it.held_in().lot)),
        Column::both("stirred", "stirred", |it| Cell::date(Some(it.at))),
        Column::both("stirring_due", "due on", |it| Cell::date(Some(it.thing.due))),
        Column::both("due", "due", KeptSeen::due),
    ]
}

/// The columns of the vessels that lie under gas.
#[must_use]
pub fn blanketed_columns<'a>() -> Vec<Column<KeptSeen<'a>>> {
    vec![
        Column::both("vessel", "vessel", |it: &KeptSeen<'_>| it.vessel(it.thing.vessel)),
        Column::both("lot", "lot", |it| it.lot(it.held_in().lot)),
        Column::both("room_ul", "headspace", |it: &KeptSeen<'_>| it.held_in().book_headspace().into()),
        Column::both("gas", "gas", |it| it.held_in().blanket.as_ref().map(|blanket| &blanket.gas).into()),
        Column::both("blanketed", "laid", |it| Cell::date(Some(it.at))),
        Column::both("blanket_due", "look again", |it| Cell::date(Some(it.thing.due))),
        Column::both("due", "due", KeptSeen::due),
    ]
}
