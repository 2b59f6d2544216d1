//! Reading a spreadsheet: a header, then rows, every bad one named by its line.

use std::path::Path;

use crate::cellar::label::harmless;
use crate::cli::complaint::{Complaint, Outcome};
use crate::cli::saying::Saying;

/// How many bad lines are named; of more only the count is told.
const MOST_NAMED: usize = 100;

/// A spreadsheet as text.
pub struct Spreadsheet {
    /// The heads of its columns.
    pub heads: Vec<String>,
    /// Its rows with the number of their line; a row that is none says why.
    pub rows: Vec<(u64, Result<Vec<String>, String>)>,
}

impl Spreadsheet {
    /// Reads a file whose fields stand between commas, or semicolons where its first line has them instead.
    pub fn read(file: &Path) -> Outcome<Spreadsheet> {
        let name = harmless(&file.to_string_lossy());
        let refused = |error: String| Complaint::Refused(format!("{name} could not be read: {error}."));
        let text = std::fs::read_to_string(file).map_err(|error| refused(error.to_string()))?;
        let text = text.trim_start_matches('\u{feff}');
        let first = text.lines().next().unwrap_or_default();
        let delimiter = if first.contains(';') && !first.contains(',') { b';' } else { b',' };
        let mut reader =
            csv::ReaderBuilder::new().delimiter(delimiter).trim(csv::Trim::All).from_reader(text.as_bytes());
        let heads = reader.headers().map_err(|error| refused(error.to_string()))?;
        let heads: Vec<String> = heads.iter().map(str::to_owned).collect();
        let mut rows = Vec::new();
        for record in reader.into_records() {
            match record {
                Ok(record) if record.iter().all(str::is_empty) => {}
                Ok(record) => {
                    let line = record.position().map_or(0, csv::Position::line);
                    rows.push((line, Ok(record.iter().map(str::to_owned).collect())));
                }
                Err(error) => {
                    let line = error.position().map_or(0, csv::Position::line);
                    rows.push((line, Err("It has more or fewer fields than the first line.".to_owned())));
                }
            }
        }
        if rows.is_empty() {
            return Err(Complaint::Refused(format!("{name} has no rows below its first line. Fill it in.")));
        }
        Ok(Spreadsheet { heads, rows })
    }

    /// The column of a head, whether in small letters or in capitals.
    pub fn column(&self, head: &str) -> Option<usize> {
        self.heads.iter().position(|found| found.eq_ignore_ascii_case(head))
    }

    /// Every row read, or every bad one named and none taken.
    pub fn all<T>(
        self,
        mut row: impl FnMut(u64, &[String]) -> Result<T, String>,
        saying: &mut Saying<'_>,
    ) -> Outcome<Vec<T>> {
        let (mut read, mut bad) = (Vec::new(), Vec::new());
        for (line, fields) in self.rows {
            match fields.and_then(|fields| row(line, &fields)) {
                Ok(one) => read.push(one),
                Err(sentence) => bad.push((line, sentence)),
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
