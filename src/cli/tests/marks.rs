//! Marks as they are listed: the words for a taste, what is typed for each, and what it means in this cellar.

use serde::Serialize;

use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::tests::marks::{Group, Mark};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;

/// A mark as it counts in a cellar.
#[derive(Debug, Serialize)]
pub struct MarkView {
    mark: Label,
    key: Option<Label>,
    /// What it speaks of; none of a word that is the house's own.
    group: Option<Group>,
    fault: bool,
    /// Other words for the same.
    also: Vec<Label>,
    /// Of a fault, from when on it is noticed.
    warns: Option<String>,
}

impl MarkView {
    fn of(mark: Mark<'_>) -> MarkView {
        MarkView {
            mark: mark.mark.clone(),
            key: mark.key.cloned(),
            group: mark.group,
            fault: mark.fault,
            also: mark.also.to_vec(),
            warns: mark.warns.map(str::to_owned),
        }
    }

    /// Every mark of the cellar, the house's own first.
    #[must_use]
    pub fn all(state: &State) -> Vec<MarkView> {
        state.marks().map(MarkView::of).collect()
    }

    /// The columns of a list of them.
    #[must_use]
    pub fn columns() -> Vec<Column<MarkView>> {
        vec![
            Column::both("key", "key", |it: &MarkView| it.key.as_ref().into()),
            Column::both("mark", "mark", |it| (&it.mark).into()),
            Column::both("group", "speaks of", |it| it.group.map_or(Cell::Nothing, |group| Cell::word(&group))),
            Column::both("fault", "fault", |it| Cell::Flag(it.fault)),
            Column::both("also", "also", MarkView::also_in_words),
            Column::program("warns", |it| it.warns.clone().map_or(Cell::Nothing, Cell::Text)),
        ]
    }

    fn also_in_words(&self) -> Cell {
        let words: Vec<&str> = self.also.iter().map(Label::as_str).collect();
        if words.is_empty() { Cell::Nothing } else { Cell::Text(words.join(", ")) }
    }
}
