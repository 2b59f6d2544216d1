//! Reading a spreadsheet: a header, then rows, every bad one named by its line.

use std::io;
use std::path::Path;

use crate::cellar::label::harmless;
use crate::cli::complaint::{Complaint, Outcome};
use crate::cli::saying::Saying;

/// How many bad lines are named; of more only the count is told.
const MOST_NAMED: usize = 100;

/// A spreadsheet as text. Rows without a filled cell are left away.
#[derive(Debug)]
pub struct Spreadsheet {
    /// What it is called where something is wrong with it.
    pub name: String,
    /// The heads of its columns.
    pub heads: Vec<String>,
    /// Its rows.
    pub rows: Vec<Row>,
}

/// A row of a spreadsheet.
#[derive(Debug)]
pub struct Row {
    /// The number of its line in the file, from 1.
    pub line: u64,
    /// What stands in it, which may be more or less than there are heads.
    pub cells: Vec<String>,
}

impl Spreadsheet {
    /// Reads a file, or the standard input where it is called `-`.
    pub fn read(file: &Path) -> Outcome<Spreadsheet> {
        let name = harmless(&file.to_string_lossy());
        let text = if file == Path::new("-") { io::read_to_string(io::stdin()) } else { std::fs::read_to_string(file) };
        let text = text.map_err(|error| Complaint::Refused(format!("{name} could not be read: {error}.")))?;
        Spreadsheet::of(name, &text)
    }

    /// Reads a text whose cells stand between commas, or between semicolons where its first line has more of these: where
    /// the comma is the decimal sign, spreadsheets part cells by them.
    pub fn of(name: String, text: &str) -> Outcome<Spreadsheet> {
        let text = text.trim_start_matches('\u{feff}');
        let first = text.lines().next().unwrap_or_default();
        let count = |sign: char| first.matches(sign).count();
        let delimiter = if count(';') > count(',') { b';' } else { b',' };
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let unreadable = |error: csv::Error| Complaint::Refused(format!("{name} could not be read: {error}."));
        let heads = reader.headers().map_err(unreadable)?.iter().map(str::to_owned).collect();
        let mut rows = Vec::new();
        for record in reader.into_records() {
            let record = record.map_err(unreadable)?;
            if record.iter().any(|cell| !cell.is_empty()) {
                let line = record.position().map_or(0, csv::Position::line);
                rows.push(Row { line, cells: record.iter().map(str::to_owned).collect() });
            }
        }
        Ok(Spreadsheet { name, heads, rows })
    }

    /// The column of a head, whether in small letters or in capitals.
    pub fn column(&self, head: &str) -> Option<usize> {
        self.heads.iter().position(|found| found.eq_ignore_ascii_case(head))
    }

    /// The cells of a row, one a head; where they are more or fewer, a sentence about it.
    pub fn cells<'row>(&self, row: &'row Row) -> Result<&'row [String], String> {
        let (cells, heads) = (row.cells.len(), self.heads.len());
        if cells == heads {
            Ok(&row.cells)
        } else {
            Err(format!("The line has {cells} cells where the first line has {heads}."))
        }
    }

    /// Every row read, or every bad one named and none taken.
    pub fn all<T>(
        self,
        mut row: impl FnMut(u64, &[String]) -> Result<T, String>,
        saying: &mut Saying<'_>,
    ) -> Outcome<Vec<T>> {
        if self.rows.is_empty() {
            let sentence = format!("{} has no rows below its first line. Fill it in.", self.name);
            return Err(Complaint::Refused(sentence));
        }
        let (mut read, mut bad) = (Vec::new(), Vec::new());
        for found in &self.rows {
            match self.cells(found).and_then(|cells| row(found.line, cells)) {
                Ok(one) => read.push(one),
                Err(sentence) => bad.push((found.line, sentence)),
            }
        }
        if bad.is_empty() {
            return Ok(read);
        }
        for (line, sentence) in bad.iter().take(MOST_NAMED) {
            saying.plain(&format!("line {line}: {sentence}"));
        }
        let lines = if bad.len() == 1 { "1 line is".to_owned() } else { format!("{} lines are", bad.len()) };
        Err(Complaint::Refused(format!("{lines} wrong, and nothing was taken in. Correct the file and try again.")))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // helpers of tests

    use super::*;

    fn cells(text: &str) -> Vec<Vec<String>> {
        let sheet = Spreadsheet::of("a.csv".to_owned(), text).unwrap();
        std::iter::once(sheet.heads).chain(sheet.rows.into_iter().map(|row| row.cells)).collect()
    }

    #[test]
    fn commas_and_semicolons_part_cells() {
        assert_eq!(cells("a,b\n1, 2\n"), [["a", "b"], ["1", "2"]]);
        assert_eq!(cells("\u{feff}a;b\r\n1,5;2\r\n"), [["a", "b"], ["1,5", "2"]]);
        assert_eq!(cells("oak, new;b;c\n1;2;3\n"), [["oak, new", "b", "c"], ["1", "2", "3"]]);
        assert_eq!(cells("T1;old,T2\n1,2\n"), [["T1;old", "T2"], ["1", "2"]]);
    }

    #[test]
    fn empty_rows_are_passed_over_and_lines_counted() {
        let sheet = Spreadsheet::of("a.csv".to_owned(), "a,b\n\n,\n1\n\"2\n2\",3\n4,5\n").unwrap();
        assert_eq!(sheet.rows.iter().map(|row| row.line).collect::<Vec<_>>(), [4, 5, 7]);
        assert_eq!(sheet.cells(&sheet.rows[0]).unwrap_err(), "The line has 1 cells where the first line has 2.");
        assert_eq!(sheet.cells(&sheet.rows[1]).unwrap(), ["2\n2", "3"]);
        let empty = Spreadsheet::of("a.csv".to_owned(), "").unwrap();
        assert!(empty.heads.is_empty() && empty.rows.is_empty());
    }
}
