//! Empty wood: what `list empties` tells of each barrel, and the plan of its care.

use serde::Serialize;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RoomId, State};
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::wood::care::{Care, EmptyWood};
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::topping::plan::place;

/// An empty barrel at a moment, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct EmptyView {
    vessel: Label,
    place: Option<String>,
    fills: u32,
    stained: Option<Colour>,
    emptied: Option<When>,
    days_empty: Option<i64>,
    days_since_rinsed: Option<i64>,
    days_since_sulfured: Option<i64>,
    days_since_soaked: Option<i64>,
    /// The day on which it is to be sulfured next.
    sulfuring_due: Option<String>,
    /// Whether its last soaking still holds it tight; null where it was not soaked.
    tight: Option<bool>,
}

impl EmptyView {
    fn of(state: &State, wood: &EmptyWood, on: Moment) -> EmptyView {
        let vessel = state.vessels.get(wood.vessel);
        let since = |care| vessel.cared(care).map(|given| on.days_since(given));
        EmptyView {
            vessel: vessel.label.clone(),
            place: place(state, wood.vessel),
            fills: vessel.fills,
            stained: vessel.stained,
            emptied: wood.since.map(When),
            days_empty: wood.since.map(|emptied| on.days_since(emptied)),
            days_since_rinsed: since(Care::Rinsed),
            days_since_sulfured: since(Care::Sulfured),
            days_since_soaked: since(Care::Soaked),
            sulfuring_due: wood.sulfuring_due.map(|due| due.date().to_string()),
            tight: wood.tight,
        }
    }

    /// The empty barrels in walking order.
    #[must_use]
    pub fn all(state: &State, on: Moment) -> Vec<EmptyView> {
        state.empties(on).map(|wood| EmptyView::of(state, &wood, on)).collect()
    }

    /// The empty barrels of a room, or of all, that are due for a care.
    #[must_use]
    pub fn due_for(state: &State, care: Care, room: Option<RoomId>, on: Moment) -> Vec<EmptyView> {
        let due = state.due_for(care, room, on);
        let is_due = |wood: &EmptyWood| due.contains(&wood.vessel);
        state.empties(on).filter(is_due).map(|wood| EmptyView::of(state, &wood, on)).collect()
    }

    /// The columns of a list of them.
    #[must_use]
    pub fn columns() -> Vec<Column<EmptyView>> {
        vec![
            Column::both("vessel", "vessel", |it: &EmptyView| (&it.vessel).into()),
            Column::both("place", "place", |it| it.place.as_ref().into()),
            Column::both("fills", "fills", |it| it.fills.into()),
            Column::both("stained", "stained", |it| it.stained.map(|colour| Cell::word(&colour)).into()),
            Column::program("emptied", |it| it.emptied.into()),
            Column::both("days_empty", "empty", |it| it.days_empty.into()),
            Column::both("days_since_rinsed", "rinsed", |it| it.days_since_rinsed.into()),
            Column::both("days_since_sulfured", "sulfured", |it| it.days_since_sulfured.into()),
            Column::both("days_since_soaked", "soaked", |it| it.days_since_soaked.into()),
            Column::both("sulfuring_due", "sulfur on", |it| it.sulfuring_due.as_ref().into()),
            Column::program("tight", |it| it.tight.into()),
            Column::people("tight", |it: &EmptyView| match it.tight {
                Some(true) => Cell::Text("yes".to_owned()),
                Some(false) => Cell::Text("no longer".to_owned()),
                None => Cell::Nothing,
            })
            .sparse(),
        ]
    }
}

/// Gives out the barrels that are due for a care, with its caution.
pub fn write_care(care: Care, due: &[EmptyView], page: &mut Page<'_>) -> Outcome {
    let none = format!("No empty barrel is due to be {}.", care.word());
    page.list(&EmptyView::columns(), due, &none)?;
    match care.caution() {
        Some(caution) if page.is_for_people() && !due.is_empty() => page.line(&format!("\n{caution}")),
        _ => Ok(()),
    }
}
