//! Labels that are said in one breath: `181-210`, `F-01 to F-30`, `A-D`.

use super::LineError;
use crate::cellar::core::label::Label;

/// The most labels that one line names: beyond it a digit too many was written.
pub const MOST: usize = 2_000;

/// What stands between the first and the last of a series.
const TO: [&str; 3] = [" to ", "..", "–"];

/// The labels that a text means, in their order: those of a series from a first to a last one, else the text itself.
///
/// A series counts by the digits at the end of its labels, as wide as they are written, or by single letters. `F-01` is one label, since
/// `F` and `01` are no two ends of a series.
pub fn series(text: &str) -> Result<Vec<Label>, LineError> {
    let text = text.trim();
    for word in TO {
        if let Some((first, last)) = text.split_once(word) {
            return between(first.trim(), last.trim()).unwrap_or_else(|| {
                Err(LineError::Unknown { word: text.to_owned(), like: "181-210, or F-01 to F-30" })
            });
        }
    }
    let mut hyphens = text.match_indices('-').map(|(at, _)| (text[..at].trim(), text[at + 1..].trim()));
    hyphens.find_map(|(first, last)| between(first, last)).unwrap_or_else(|| Ok(vec![Label::new(text)?]))
}

/// The labels of several series, none of them twice.
pub(super) fn add(labels: &mut Vec<Label>, more: Vec<Label>) -> Result<(), LineError> {
    if labels.len() + more.len() > MOST {
        return Err(LineError::TooMany(more.first().map_or_else(String::new, ToString::to_string)));
    }
    for label in more {
        if labels.contains(&label) {
            return Err(LineError::Twice(label));
        }
        labels.push(label);
    }
    Ok(())
}

/// The labels from a first to a last one; none where these are no ends of a series.
fn between(first: &str, last: &str) -> Option<Result<Vec<Label>, LineError>> {
    let counts_down = || Err(LineError::CountsDown(format!("{first}-{last}")));
    if let (Some(one), Some(other)) = (letter(first), letter(last)) {
        let letters = (one..=other).map(|letter| Label::new(&letter.to_string()).map_err(LineError::from));
        return (one.is_ascii_lowercase() == other.is_ascii_lowercase())
            .then(|| if one <= other { letters.collect() } else { counts_down() });
    }
    let ((stem, from), (same, to)) = (numbered(first)?, numbered(last)?);
    if !same.is_empty() && same != stem {
        return None;
    }
    let (Ok(low), Ok(high)) = (from.parse::<usize>(), to.parse::<usize>()) else { return None };
    if low > high {
        return Some(counts_down());
    }
    if high - low >= MOST {
        return Some(Err(LineError::TooMany(format!("{first}-{last}"))));
    }
    let width = if from.starts_with('0') || from.len() == to.len() { from.len() } else { 0 };
    Some((low..=high).map(|number| Ok(Label::new(&format!("{stem}{number:0width$}"))?)).collect())
}

fn letter(text: &str) -> Option<char> {
    let mut signs = text.chars();
    signs.next().filter(|letter| letter.is_ascii_alphabetic() && signs.next().is_none())
}

/// A label that ends in digits: what stands before them, and they; no more of them than are counted.
fn numbered(label: &str) -> Option<(&str, &str)> {
    let digits = label.bytes().rev().take_while(u8::is_ascii_digit).count();
    let at = label.len() - digits;
    (1..=9).contains(&digits).then(|| (&label[..at], &label[at..]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> Vec<String> {
        series(text).unwrap().iter().map(ToString::to_string).collect()
    }

    #[test]
    fn a_series_counts_as_it_is_written() {
        assert_eq!(said("181-183"), ["181", "182", "183"]);
        assert_eq!(said("0181 - 0183"), ["0181", "0182", "0183"]);
        assert_eq!(said("98-101"), ["98", "99", "100", "101"]);
        assert_eq!(said("F-08 to F-10"), ["F-08", "F-09", "F-10"]);
        assert_eq!(said("F-08-F-10"), ["F-08", "F-09", "F-10"]);
        assert_eq!(said("F-08-10"), ["F-08", "F-09", "F-10"]);
        assert_eq!((said("A-D"), said("1–3")), (vec!["A".into(), "B".into(), "C".into(), "D".into()], said("1..3")));
    }

    #[test]
    fn what_is_no_series_is_one_label() {
        for text in ["181", "F-01", "B-west", "A", "Côte-Haute", "é-ü"] {
            assert_eq!(said(text), [text]);
        }
    }

    #[test]
    fn what_counts_down_or_too_far_is_refused() {
        for text in ["210-181", "D-A", "1-9999", "1 to x", "1-999999999"] {
            assert!(series(text).is_err(), "{text}");
        }
    }
}
