//! A table that lies on its side: what is tested stands in the rows, and each column is a vessel or a lot.

use super::fields::{Field, Holds, Table};
use super::head::{LEAST, LOOKED_AT};
use super::heading::Names;
use crate::spreadsheet::{Cell, Grid, Line};

/// The heads of such a table stand in one of its first columns.
const COLUMNS: usize = 3;
/// What heads the names of the things where nothing does: whatever bears such a label is meant.
const OF_ANYTHING: &str = "sample";

/// The table set upright, each line of it a column as the file has it, with the numbers of the lines that are left out; none where it stands already.
pub fn upright(table: &'static Table, grid: &Grid) -> Option<(Grid, Vec<u64>)> {
    let (lines, known) = (&grid.lines, &Names::of(table));
    let heads = |cells: &mut dyn Iterator<Item = &Cell>| {
        let mut fields: Vec<&str> = cells.filter_map(|cell| Some(called(known, cell)?.name)).collect();
        fields.sort_unstable();
        fields.dedup();
        fields.len()
    };
    let across = lines.iter().take(LOOKED_AT).map(|line| heads(&mut line.cells.iter())).max()?;
    let down = |column: usize| heads(&mut lines.iter().map(|line| line.cell(column)));
    let (count, column) = (0..COLUMNS.min(grid.width())).map(|column| (down(column), column)).rev().max()?;
    if count < LEAST || count <= across {
        return None;
    }
    let is_head = |line: &Line| called(known, line.cell(column)).is_some();
    let beside = |line: &Line| line.cells.iter().skip(column + 1).any(|cell| !cell.is_empty());
    let (kept, left): (Vec<&Line>, Vec<&Line>) = lines.iter().partition(|line| is_head(line) || beside(line));
    let mut titles: Vec<Cell> = kept.iter().map(|line| line.cell(column).clone()).collect();
    name_the_names(table, known, &mut titles);
    let mut turned = vec![Line { number: number(column), cells: titles }];
    turned.extend((column + 1..grid.width()).map(|column| Line {
        number: number(column),
        cells: kept.iter().map(|line| line.cell(column).clone()).collect(),
    }));
    turned.retain(|line| line.filled() > 0);
    let left = left.iter().map(|line| line.number).collect();
    Some((Grid { source: grid.source.clone(), lines: turned }, left))
}

/// Where nothing heads the names, they stand in the row above what was tested first.
fn name_the_names(table: &Table, known: &Names, titles: &mut [Cell]) {
    let is_naming = |field: &Field| table.naming().iter().any(|naming| naming.name == field.name);
    if titles.iter().filter_map(|title| called(known, title)).any(is_naming) {
        return;
    }
    let is_tested = |title: &Cell| called(known, title).is_some_and(|field| field.holds == Holds::Number);
    let first = titles.iter().position(is_tested).unwrap_or_default();
    if let Some(title) = titles[..first].iter_mut().rev().find(|title| called(known, title).is_none()) {
        *title = Cell::Text(OF_ANYTHING.to_owned());
    }
}

fn called(known: &Names, cell: &Cell) -> Option<&'static Field> {
    match cell {
        Cell::Text(text) => known.field(&known.heading(text).name),
        _ => None,
    }
}

fn number(column: usize) -> u64 {
    u64::try_from(column + 1).unwrap_or(u64::MAX)
}
