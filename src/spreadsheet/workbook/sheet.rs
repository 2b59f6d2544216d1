//! The cells of a sheet as they come, counted, so that no more is kept than a table may have.

use std::collections::BTreeMap;

use super::super::{Cell, Grid, Line, MOST_CELLS, MOST_COLUMNS, MOST_LETTERS, MOST_LINES, Source, Unreadable};

/// All letters of a table together may be so many bytes: one long text can stand in every cell.
pub const MOST_TEXT: usize = 24 << 20;
/// A sheet may have so many merged areas.
const MOST_AREAS: usize = 200_000;

/// Where a merged cell stands; rows from 1, columns from 0, both ends within.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Area {
    pub top: u64,
    pub left: usize,
    pub bottom: u64,
    pub right: usize,
}

#[derive(Default)]
pub struct Sheet {
    rows: BTreeMap<u64, Vec<Cell>>,
    areas: Vec<Area>,
    /// The row that was filled last.
    row: u64,
    /// How many cells are kept, with the empty ones between.
    cells: usize,
    /// How many bytes its texts have together.
    text: usize,
}

fn too_much(what: String) -> Unreadable {
    Unreadable::TooMuch(what)
}

impl Sheet {
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Fills a cell; rows are counted from 1, columns from 0.
    pub fn put(&mut self, row: u64, column: usize, cell: Cell) -> Result<(), Unreadable> {
        if cell.is_empty() {
            return Ok(());
        }
        if column >= MOST_COLUMNS {
            return Err(too_much(format!("more than {MOST_COLUMNS} columns (row {row})")));
        }
        if row != self.row {
            // The room that the row before was given beforehand.
            if let Some(done) = self.rows.get_mut(&self.row) {
                done.shrink_to_fit();
            }
            self.row = row;
        }
        if let Cell::Text(text) = &cell {
            if text.len() > MOST_LETTERS && text.chars().count() > MOST_LETTERS {
                return Err(too_much(format!("a cell of more than {MOST_LETTERS} letters (row {row})")));
            }
            self.text += text.len();
        }
        let cells = self.rows.entry(row).or_default();
        if cells.len() <= column {
            self.cells += column + 1 - cells.len();
            cells.resize(column + 1, Cell::Empty);
        }
        cells[column] = cell;
        if self.text > MOST_TEXT {
            return Err(too_much(format!("more than {} MB of letters", MOST_TEXT >> 20)));
        }
        if self.cells > MOST_CELLS {
            return Err(too_much(format!("more than {MOST_CELLS} cells")));
        }
        if self.rows.len() > MOST_LINES {
            return Err(too_much(format!("more than {MOST_LINES} rows")));
        }
        Ok(())
    }

    /// Notes that a cell is merged with others.
    pub fn merge(&mut self, area: Area) -> Result<(), Unreadable> {
        if self.areas.len() == MOST_AREAS {
            return Err(too_much(format!("more than {MOST_AREAS} merged cells")));
        }
        self.areas.push(area);
        Ok(())
    }

    /// What a merged cell says stands in all of its area, as far as the table reaches: it can be merged over whole columns.
    fn spread(&mut self) -> Result<(), Unreadable> {
        let width = self.rows.values().map(Vec::len).max().unwrap_or(0);
        let height = self.rows.keys().next_back().copied().unwrap_or(0);
        let mut filled = 0;
        for area in std::mem::take(&mut self.areas) {
            let value = self.rows.get(&area.top).and_then(|cells| cells.get(area.left)).cloned().unwrap_or_default();
            let columns = area.left..(area.right + 1).min(width);
            for row in area.top..=area.bottom.min(height) {
                for column in columns.clone().filter(|&column| (row, column) != (area.top, area.left)) {
                    filled += 1;
                    if filled > MOST_CELLS {
                        return Err(too_much(format!("more than {MOST_CELLS} merged cells")));
                    }
                    // What lies hidden under it is not what is seen.
                    match self.rows.get_mut(&row).and_then(|cells| cells.get_mut(column)) {
                        Some(hidden) if value.is_empty() => *hidden = Cell::Empty,
                        _ => self.put(row, column, value.clone())?,
                    }
                }
            }
        }
        Ok(())
    }

    pub fn into_grid(mut self, source: Source) -> Result<Grid, Unreadable> {
        self.spread()?;
        let lines = self.rows.into_iter().map(|(number, cells)| Line { number, cells });
        Grid { source, lines: lines.collect() }.within_caps()
    }
}
