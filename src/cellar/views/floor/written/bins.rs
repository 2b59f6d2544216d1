//! The bins of a store in one line: `A-D, 12 bins; M, 2 bins`.

use super::series::{add, series};
use super::{LineError, count_of, parts, say};
use crate::cellar::core::label::Label;
use crate::cellar::jobs::bottles::bottling::store::BinRow;

/// How a line is written.
const LIKE: &str = "A-D, 12 bins";

/// The rows that a line lays out. What is not said of later rows is as of those before.
pub fn bin_rows(line: &str) -> Result<Vec<BinRow>, LineError> {
    let (mut rows, mut before): (Vec<BinRow>, Option<u16>) = (Vec::new(), None);
    for group in line.split(';').filter(|group| !group.trim().is_empty()) {
        let (mut labels, mut bins) = (Vec::new(), None);
        for part in parts(group) {
            let lower = part.to_lowercase();
            if let Some((count, "bin" | "bins" | "pallet" | "pallets")) = count_of(&lower) {
                say(&mut bins, "The number of bins", count)?;
                continue;
            }
            let bare = ["rows ", "row "].iter().find(|word| lower.starts_with(**word));
            let more = series(bare.map_or(part, |word| part[word.len()..].trim()))?;
            if more.iter().any(|label| label.as_str().contains([' ', '/'])) {
                return Err(LineError::Unknown { word: part.to_owned(), like: LIKE });
            }
            add(&mut labels, more)?;
        }
        let bins = bins.or(before);
        for row in labels {
            rows.push(laid(row, bins, &rows)?);
        }
        before = bins;
    }
    if rows.is_empty() { Err(LineError::WhichRows) } else { Ok(rows) }
}

fn laid(row: Label, bins: Option<u16>, before: &[BinRow]) -> Result<BinRow, LineError> {
    if before.iter().any(|it| it.row == row) {
        return Err(LineError::Twice(row));
    }
    match bins {
        Some(bins) => Ok(BinRow { row, bins }),
        None => Err(LineError::HowManyBins(row)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(line: &str) -> String {
        match bin_rows(line) {
            Ok(rows) => rows.iter().map(|row| format!("{} {}", row.row, row.bins)).collect::<Vec<_>>().join(", "),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn the_bins_of_a_store_are_read_from_a_line() {
        assert_eq!(read("A-C, 12 bins; M, 2 pallets"), "A 12, B 12, C 12, M 2");
        assert_eq!(read("row A, 8 bins; B"), "A 8, B 8");
    }

    #[test]
    fn what_lacks_or_is_wrong_is_said() {
        for (line, expected) in [
            ("", "Which rows?"),
            ("A-C", "How many bins does row A have?"),
            ("A, 8 bins; A", "'A' stands there twice."),
            ("A, 8 bins, 9 bins", "The number of bins is said twice"),
            ("A, 8 bottles", "'8 bottles' is not understood."),
        ] {
            assert!(read(line).starts_with(expected), "{line}: {}", read(line));
        }
        for line in ["-", "é-é", ";;;", "99999 bins", "A, 99999 bins"] {
            let _ = bin_rows(line);
        }
    }
}
