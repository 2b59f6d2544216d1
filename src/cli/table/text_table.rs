//! A table for people: aligned columns, two spaces between them, a total where one helps.

use crate::units::in_heading;

use unicode_width::UnicodeWidthStr;

use super::cell::Cell;
use super::column::Column;
pub use crate::sheets::core::wrap::wrapped;

/// Between two columns.
const GAP: &str = "  ";
/// A last column that is too wide is broken into lines no narrower than this.
const LEAST_WRAP: usize = 24;

/// The lines of a table; `width` is that of the screen, where there is one.
#[must_use]
pub fn table<T>(columns: &[Column<T>], rows: &[T], width: Option<usize>) -> String {
    let shown: Vec<(&Column<T>, &str, Vec<Cell>)> = columns
        .iter()
        .filter_map(|column| Some((column, column.heading?, rows.iter().map(column.cell).collect::<Vec<_>>())))
        .filter(|(column, _, cells)| !column.sparse || !cells.iter().all(Cell::is_nothing))
        .collect();
    let right: Vec<bool> = shown.iter().map(|(_, _, cells)| cells.iter().any(Cell::is_number)).collect();
    let mut grid = vec![shown.iter().map(|(_, heading, _)| in_heading(heading)).collect::<Vec<String>>()];
    grid.extend((0..rows.len()).map(|row| shown.iter().map(|(_, _, cells)| cells[row].in_table()).collect()));
    if rows.len() > 1 && shown.iter().any(|(column, ..)| column.summed) {
        grid.push(total(&shown));
    }
    laid_out(&grid, &right, width)
}

fn total<T>(shown: &[(&Column<T>, &str, Vec<Cell>)]) -> Vec<String> {
    let mut line: Vec<String> = shown
        .iter()
        .map(|(column, _, cells)| {
            let sum = |cells: &[Cell]| cells.iter().fold(Cell::Nothing, Cell::plus).in_table();
            if column.summed { sum(cells) } else { String::new() }
        })
        .collect();
    if let Some(first) = line.first_mut().filter(|first| first.is_empty()) {
        "total".clone_into(first);
    }
    line
}

/// Pairs of a name and a value, one a line.
#[must_use]
pub fn pairs(pairs: &[(String, String)], width: Option<usize>) -> String {
    let grid: Vec<Vec<String>> = pairs.iter().map(|(name, value)| vec![name.clone(), value.clone()]).collect();
    laid_out(&grid, &[false, false], width)
}

fn laid_out(grid: &[Vec<String>], right: &[bool], width: Option<usize>) -> String {
    let widths: Vec<usize> =
        (0..right.len()).map(|column| grid.iter().map(|line| line[column].width()).max().unwrap_or(0)).collect();
    let before_last: usize = widths.iter().rev().skip(1).map(|width| width + GAP.len()).sum();
    let room = width.map_or(usize::MAX, |width| width.saturating_sub(before_last).max(LEAST_WRAP));
    let indent = format!("\n{}", " ".repeat(before_last));
    let cell = |column: usize, value: &str, is_last: bool| {
        let padding = " ".repeat(widths[column].saturating_sub(value.width()));
        match (right[column], is_last) {
            (true, _) => padding + value,
            (false, true) => wrapped(value, room).join(&indent),
            (false, false) => value.to_owned() + &padding,
        }
    };
    let mut text = String::new();
    for line in grid {
        let cells = line.iter().enumerate().map(|(column, value)| cell(column, value, column + 1 == line.len()));
        text.push_str(cells.collect::<Vec<_>>().join(GAP).trim_end());
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Volume;

    struct Row(&'static str, u64, &'static str);

    const COLUMNS: [Column<Row>; 4] = [
        Column::people("what", |row: &Row| row.0.into()),
        Column::people("litres", |row: &Row| Volume::from_litres(row.1).into()).summed(),
        Column::people("spilt", |_: &Row| Volume::ZERO.into()).sparse(),
        Column::people("why", |row: &Row| row.2.into()),
    ];

    #[test]
    fn columns_are_aligned_by_what_a_screen_shows() {
        let rows = [Row("Tronçais", 225, "ok"), Row("樽", 1_100, "a longer reason than fits the line")];
        insta::assert_snapshot!(table(&COLUMNS, &rows, Some(46)));
    }

    #[test]
    fn away_from_a_screen_a_row_is_a_line() {
        let rows = [Row("a", 1, &"word ".repeat(50)[..249].to_owned().leak()[..])];
        assert_eq!(table(&COLUMNS, &rows, None).lines().count(), 2);
    }
}
