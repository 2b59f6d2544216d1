//! Empty wood: what `list empties` tells of each barrel, and the plan of its care.

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RoomId, State, Vessel, VesselId};
use crate::cellar::jobs::wood::care::{Care, EmptyWood};
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};
use crate::told::hazard::Caution;

/// An empty barrel as it is told.
pub type EmptySeen<'a> = Seen<'a, EmptyWood>;

impl EmptySeen<'_> {
    fn barrel(&self) -> &Vessel {
        self.state.vessels.get(self.thing.vessel)
    }

    fn days_since_cared(&self, care: Care) -> Cell {
        self.days_since(self.barrel().cared(care))
    }
}

/// The empty barrels in walking order.
#[must_use]
pub fn all(state: &State, on: Moment) -> Vec<EmptySeen<'_>> {
    seen(state, on, state.empties(on))
}

/// The empty barrels of a room, or of all, that are due for a care.
#[must_use]
pub fn due_for(state: &State, care: Care, room: Option<RoomId>, on: Moment) -> Vec<EmptySeen<'_>> {
    let due = state.due_for(care, room, on);
    seen(state, on, state.empties(on).filter(|wood| due.contains(&wood.vessel)))
}

/// The columns of a list of them.
#[must_use]
pub fn columns<'a>() -> Vec<Column<EmptySeen<'a>>> {
    vec![
        Column::both("vessel", "vessel", |it| it.vessel(it.thing.vessel)),
        Column::both("place", "place", |it| it.place(it.thing.vessel)),
        Column::both("fills", "fills", |it| it.barrel().fills.into()),
        Column::both("stained", "stained", |it| Cell::word(&it.barrel().stained)),
        Column::program("emptied", |it| it.since.into()),
        Column::both("days_empty", "empty", |it| it.days_since(it.since)),
        Column::both("days_since_rinsed", "rinsed", |it| it.days_since_cared(Care::Rinsed)),
        Column::both("days_since_sulfured", "sulfured", |it| it.days_since_cared(Care::Sulfured)),
        Column::both("days_since_soaked", "soaked", |it| it.days_since_cared(Care::Soaked)),
        Column::both("sulfuring_due", "sulfur on", |it| Cell::date(it.sulfuring_due)),
        Column::program("tight", |it| it.tight.into()),
        Column::people("tight", |it: &EmptySeen<'_>| match it.tight {
            Some(true) => Cell::Text("yes".to_owned()),
            Some(false) => Cell::Text("no longer".to_owned()),
            None => Cell::Nothing,
        })
        .sparse(),
    ]
}

/// Gives out the barrels that are due for a care, with its caution.
pub fn write_care(care: Care, due: &[EmptySeen<'_>], page: &mut Page<'_>) -> Outcome {
    let none = format!("No empty barrel is due to be {}.", care.word());
    if let Some(state) = due.first().filter(|_| page.is_for_people()).map(|seen| seen.state) {
        let barrels: Vec<VesselId> = due.iter().map(|it| it.thing.vessel).collect();
        page.caution(&Caution::of_caring(state, care, &barrels))?;
    }
    page.list(&columns(), due, &none)
}
