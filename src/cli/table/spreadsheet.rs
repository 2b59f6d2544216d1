//! Reading a spreadsheet: a header, then rows, every bad one named by its line.

use std::io;
use std::path::Path;

use crate::cellar::core::label::harmless;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::saying::Saying;
use crate::import::guard::unguarded;
use crate::intake::unread;
pub use crate::spreadsheet::cells::Cells as Row;
use crate::spreadsheet::cells::{Torn, rows};
use crate::units::{by_count, counted};

/// How many bad lines are named; of more only the count is told.
const MOST_NAMED: usize = 100;

/// So many rows of ratings are taken: more were given by no panel, and would keep this machine for minutes.
pub const MOST_RATINGS: usize = 5_000;

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

impl Spreadsheet {
    /// Reads a file, or the standard input where it is called `-`.
    pub fn read(file: &Path) -> Outcome<Spreadsheet> {
        let name = harmless(&file.to_string_lossy());
        let text = if file == Path::new("-") { io::read_to_string(io::stdin()) } else { std::fs::read_to_string(file) };
        let text = text.map_err(|error| Complaint::Refused(unread(&name, &error)))?;
        Spreadsheet::of(name, &text)
    }

    /// Reads a text whose cells stand between commas, or between semicolons where its first line has more of these: where
    /// the comma is the decimal sign, spreadsheets part cells by them.
    pub fn of(name: String, text: &str) -> Outcome<Spreadsheet> {
        let text = text.trim_start_matches('\u{feff}');
        let first = text.split(['\n', '\r']).find(|line| !line.trim().is_empty()).unwrap_or_default();
        let count = |sign: char| first.matches(sign).count();
        let delimiter = if count(';') > count(',') { ';' } else { ',' };
        let rows = rows(text, delimiter).map_err(|torn| {
            let (line, sentence) = match torn {
                Torn::Unclosed { line } => {
                    (line, "A quotation mark opens a cell there, and none closes it. Close it or take it out")
                }
                Torn::TooWide { line } => (line, "It has more cells than any table"),
            };
            Complaint::Refused(format!("{name} could not be read at line {line}. {sentence}."))
        })?;
        let mut rows = rows.into_iter().map(|mut row| {
            row.cells.iter_mut().for_each(|cell| *cell = unguarded(cell).to_owned());
            row
        });
        let heads = rows.next().map_or_else(Vec::new, |first| first.cells);
        let filled = |row: &Row| row.cells.iter().any(|cell| !cell.is_empty());
        Ok(Spreadsheet { name, heads, rows: rows.filter(filled).collect() })
    }

    /// The same, unless it has more rows than what is worked out of them takes.
    pub fn at_most(self, most: usize, what: &str) -> Outcome<Spreadsheet> {
        if self.rows.len() <= most {
            return Ok(self);
        }
        let (name, rows) = (&self.name, self.rows.len());
        Err(Complaint::Refused(format!(
            "{name} has {rows} rows; {what} takes at most {most}. Take fewer into one file."
        )))
    }

    /// The column of a head, whether in small letters or in capitals.
    pub fn column(&self, head: &str) -> Option<usize> {
        self.heads.iter().position(|found| found.eq_ignore_ascii_case(head))
    }

    /// Refuses a column that means nothing here.
    pub fn has_only(&self, known: &[&str]) -> Outcome {
        let unknown = |head: &&String| !known.iter().any(|column| head.eq_ignore_ascii_case(column));
        self.heads.iter().find(unknown).map_or(Ok(()), |head| {
            let (head, known) = (harmless(head), known.join(", "));
            Err(Complaint::Refused(format!("The column '{head}' is not known. The columns are {known}.")))
        })
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
        let lines = format!("{} {}", counted(bad.len(), "line"), by_count(bad.len(), "is", "are"));
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
        for end in ["\r\n", "\r"] {
            let text = "a,b\n\n,\n1\n\"2\n2\",3\n4,5\n".replace('\n', end);
            let sheet = Spreadsheet::of("a.csv".to_owned(), &text).unwrap();
            assert_eq!(sheet.rows.iter().map(|row| row.line).collect::<Vec<_>>(), [4, 5, 7]);
        }
        assert_eq!(sheet.cells(&sheet.rows[0]).unwrap_err(), "The line has 1 cells where the first line has 2.");
        assert_eq!(sheet.cells(&sheet.rows[1]).unwrap(), ["2\n2", "3"]);
        let empty = Spreadsheet::of("a.csv".to_owned(), "").unwrap();
        assert!(empty.heads.is_empty() && empty.rows.is_empty());
    }

    #[test]
    fn more_rows_than_are_taken_are_refused() {
        let sheet = || Spreadsheet::of("a.csv".to_owned(), "a,b\n1,2\n3,4\n").unwrap();
        assert!(sheet().at_most(2, "a blend").is_ok());
        let refused = sheet().at_most(1, "a blend").unwrap_err().sentence().unwrap();
        assert_eq!(refused, "a.csv has 2 rows; a blend takes at most 1. Take fewer into one file.");
    }

    #[test]
    fn a_quotation_mark_that_nothing_closes_swallows_no_rows() {
        let unclosed = Spreadsheet::of("a.csv".to_owned(), "a;b\r\n1;2\r\n\"3;4\r\n5;6\r\n").unwrap_err();
        assert_eq!(
            unclosed.sentence().unwrap(),
            "a.csv could not be read at line 3. A quotation mark opens a cell there, and none closes it. Close it or take it out."
        );
    }
}
