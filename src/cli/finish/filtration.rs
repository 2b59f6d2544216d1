//! Filtrations as they are listed: what they cost, and how turbid the wine was before and after.

use super::moving::percent;
use crate::cellar::jobs::finish::filtration::Filtration;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::seen::Seen;

/// A filtration as it is told.
pub type FiltrationSeen<'a> = Seen<'a, &'a Filtration>;

/// The columns of a list of them.
#[must_use]
pub fn columns<'a>() -> Vec<Column<FiltrationSeen<'a>>> {
    vec![
        Column::both("at", "on", |it| it.at.into()),
        Column::both("from", "from", |it| it.vessel(it.from)),
        Column::both("to", "to", |it| it.vessel(it.to)),
        Column::both("lot", "lot", |it| it.lot(it.thing.lot)),
        Column::both("volume_ul", "litres", |it: &FiltrationSeen<'_>| it.moved.into()).summed(),
        Column::both("lost_ul", "lost", |it: &FiltrationSeen<'_>| Cell::Fine(it.lost)).summed(),
        Column::both("lost_pct", "lost %", |it| it.lost_share().map(percent).into()),
        Column::both("filter", "filter", |it: &FiltrationSeen<'_>| it.filter.as_ref().into()).sparse(),
        Column::both("turbidity_before_ntu", "NTU before", |it| it.before.map(|found| found.ntu).into()),
        Column::program("tested_before", |it| it.before.map(|found| found.at).into()),
        Column::both("turbidity_after_ntu", "NTU after", |it| it.after.map(|found| found.ntu).into()),
        Column::program("tested_after", |it| it.after.map(|found| found.at).into()),
    ]
}
