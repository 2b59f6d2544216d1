//! Marks as they are listed: the words for a taste, what is typed for each, and what it means in this cellar.

use crate::cellar::jobs::tests::marks::Mark;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;

/// The columns of a list of marks.
#[must_use]
pub fn columns<'a>() -> Vec<Column<Mark<'a>>> {
    vec![
        Column::both("key", "key", |it: &Mark<'_>| it.key.into()).elsewhere(),
        Column::both("mark", "mark", |it| it.mark.into()),
        Column::within("key", |it| it.key.into()),
        // None of a word that is the house's own.
        Column::both("group", "speaks of", |it| Cell::word(&it.group)),
        Column::both("fault", "fault", |it| it.fault.into()),
        Column::both("also", "also", |it| Cell::list(it.also.iter())),
        // Of a fault, from when on it is noticed.
        Column::program("warns", |it| it.warns.into()),
    ]
}
