//! Evaporation by month and room, as it is listed.

use serde::Serialize;

use crate::cellar::core::label::Label;
use crate::cellar::views::topping::evaporation::{Evaporated, Found, Month};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;

/// A month of a room, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct MonthView {
    room: Label,
    month: String,
    /// Litres may be fewer than none where more turned up than was lost, so they are no volume.
    evaporation_ul: i64,
    barrel_days: f64,
    ul_per_barrel_and_day: Option<i64>,
}

/// Gives out the months of every room, or of one.
pub fn write(evaporated: &Evaporated, room: Option<&str>, page: &mut Page<'_>) -> Outcome {
    if let Some(label) = room.filter(|&label| evaporated.rooms.iter().all(|found| found.room.as_str() != label)) {
        let label = crate::cellar::core::label::harmless(label);
        return Err(Complaint::Refused(format!("No room is called '{label}'. `list rooms` names them.")));
    }
    let asked = evaporated.rooms.iter().filter(|found| room.is_none_or(|label| found.room.as_str() == label));
    let views: Vec<MonthView> = asked
        .flat_map(|found| found.months.iter().map(|(month, months)| MonthView::of(&found.room, *month, months)))
        .collect();
    let none = "No barrel in a room was topped to the brim or gauged twice yet, so nothing is known by month.";
    page.list(&MonthView::columns(), &views, none)
}

impl MonthView {
    fn of(room: &Label, month: Month, found: &Found) -> MonthView {
        MonthView {
            room: room.clone(),
            month: month.to_string(),
            evaporation_ul: microlitres(found.litres),
            barrel_days: (found.barrel_days * 100.0).round() / 100.0,
            ul_per_barrel_and_day: found.daily().map(microlitres),
        }
    }

    fn columns() -> Vec<Column<MonthView>> {
        vec![
            Column::both("room", "room", |it: &MonthView| (&it.room).into()),
            Column::both("month", "month", |it| (&it.month).into()),
            Column::program("evaporation_ul", |it| it.evaporation_ul.into()),
            Column::people("litres", |it| tenths(it.evaporation_ul, 1_000_000.0)),
            Column::program("barrel_days", |it| it.barrel_days.into()),
            Column::people("barrel-days", |it| Cell::Decimal(it.barrel_days.round())),
            Column::program("ul_per_barrel_and_day", |it| it.ul_per_barrel_and_day.into()),
            Column::people("mL per barrel and day", |it| {
                it.ul_per_barrel_and_day.map_or(Cell::Nothing, |daily| tenths(daily, 1_000.0))
            }),
        ]
    }
}

/// A number of a larger unit, to a tenth.
fn tenths(microlitres: i64, unit: f64) -> Cell {
    Cell::Decimal((microlitres as f64 / unit * 10.0).round() / 10.0)
}

#[allow(clippy::cast_possible_truncation)] // a cast of a real stops at the ends
fn microlitres(litres: f64) -> i64 {
    (litres * 1_000_000.0).round() as i64
}
