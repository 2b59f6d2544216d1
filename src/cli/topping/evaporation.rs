//! Evaporation by month and room, as it is listed.

use crate::cellar::core::label::Label;
use crate::cellar::views::topping::evaporation::{Evaporated, Found, Month};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;

/// A month of a room, and what was found in it.
type OfMonth<'a> = (&'a Label, Month, &'a Found);

/// Gives out the months of every room, or of one.
pub fn write(evaporated: &Evaporated, room: Option<&str>, page: &mut Page<'_>) -> Outcome {
    if let Some(label) = room.filter(|&label| evaporated.rooms.iter().all(|found| found.room.as_str() != label)) {
        let label = crate::cellar::core::label::harmless(label);
        return Err(Complaint::Refused(format!("No room is called '{label}'. `list rooms` names them.")));
    }
    let asked = evaporated.rooms.iter().filter(|found| room.is_none_or(|label| found.room.as_str() == label));
    let months: Vec<OfMonth<'_>> =
        asked.flat_map(|found| found.months.iter().map(|(month, its)| (&found.room, *month, its))).collect();
    let none = "No barrel in a room was topped to the brim or gauged twice yet, so nothing is known by month.";
    page.list(&columns(), &months, none)
}

fn columns<'a>() -> Vec<Column<OfMonth<'a>>> {
    vec![
        Column::both("room", "room", |it: &OfMonth<'_>| it.0.into()),
        Column::both("month", "month", |it| it.1.to_string().into()),
        // Litres may be fewer than none where more turned up than was lost, so they are no volume.
        Column::program("evaporation_ul", |it| microlitres(it.2.litres).into()),
        Column::people("litres", |it| tenths(microlitres(it.2.litres), 1_000_000.0)),
        Column::program("barrel_days", |it| rounded(it.2.barrel_days, 2).into()),
        Column::people("barrel-days", |it| rounded(rounded(it.2.barrel_days, 2), 0).into()),
        Column::program("ul_per_barrel_and_day", |it| it.2.daily().map(microlitres).into()),
        Column::people("mL per barrel and day", |it| {
            it.2.daily().map_or(Cell::Nothing, |daily| tenths(microlitres(daily), 1_000.0))
        }),
    ]
}

/// A number of a larger unit, to a tenth.
fn tenths(microlitres: i64, unit: f64) -> Cell {
    Cell::Decimal((microlitres as f64 / unit * 10.0).round() / 10.0)
}

#[allow(clippy::cast_possible_truncation)] // a cast of a real stops at the ends
fn microlitres(litres: f64) -> i64 {
    (litres * 1_000_000.0).round() as i64
}
