//! Which kind of table a file most likely is: the one that knows most of its columns.

use super::fields::{BARRELS, TABLES, Table, WINE};
use super::head::Head;
use super::{Answers, Proposal, Question, house_of, turned};
use crate::cellar::core::state::State;
use crate::spreadsheet::Grid;

/// What is known of a column and not taken in: it says what else the file is.
const BESIDE: [(&str, &str); 1] = [("barrels", "lot")];

/// A list of wine without its lots is hardly one.
const NEEDED: (&str, &str) = ("wine", "lot");

/// The kind of table that a file's head fits best; none where it fits none, or two alike.
#[must_use]
pub fn likely(grid: &Grid, state: &State) -> Option<&'static Table> {
    let mut scores: Vec<(usize, &'static Table)> =
        TABLES.iter().map(|table| (columns_known(table, grid, state), *table)).collect();
    scores.sort_by_key(|(score, _)| std::cmp::Reverse(*score));
    // What says something of the barrels themselves brings them, before wine can lie in them.
    if state.vessels.is_empty() && says_more_than(&BARRELS, &WINE, grid, state) {
        return Some(&BARRELS);
    }
    match scores.as_slice() {
        [(best, table), (next, _), ..] if best > next => Some(table),
        _ => None,
    }
}

/// Whether a file says something as a list of one kind that it does not as one of another.
fn says_more_than(one: &'static Table, other: &'static Table, grid: &Grid, state: &State) -> bool {
    let columns = |table: &'static Table| {
        let house = house_of(table, state);
        let head = Head::find(table, &house, grid, &Answers::default(), &mut Proposal::default())?;
        let names_one = table.naming().iter().any(|field| head.has(field.name));
        names_one.then(|| head.fields().map(|(_, column)| column).collect::<Vec<_>>())
    };
    let (Some(of_one), Some(of_other)) = (columns(one), columns(other)) else { return false };
    of_one.iter().any(|column| !of_other.contains(column))
}

/// How many columns of a file a kind of table takes in.
fn columns_known(table: &'static Table, grid: &Grid, state: &State) -> usize {
    let upright = if table.house { turned::upright(table, grid) } else { None };
    let grid = upright.as_ref().map_or(grid, |(upright, _)| upright);
    let house = house_of(table, state);
    let mut proposal = Proposal::default();
    let head = Head::find(table, &house, grid, &Answers::default(), &mut proposal);
    let Some(head) = head else { return 0 };
    let is_taken = |name: &str| !BESIDE.contains(&(table.name, name));
    // Of several columns of a name it is asked which is meant.
    let asked = proposal.questions.iter().filter(|question| matches!(question, Question::Columns { .. })).count();
    let taken = asked + head.fields().filter(|(field, _)| is_taken(field.name)).count() + head.house.len();
    let lacks = table.name == NEEDED.0 && !head.has(NEEDED.1);
    taken.saturating_sub(usize::from(lacks))
}
