//! A room in one line: `long: A-D, 5 stacks, 4 high, pairs; E, 3 stacks, 2 high`.

use super::series::{add, series};
use super::{LineError, count_of, parts, say};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::floor::room::{RoomLaidOut, RowLaidOut};

/// What a cellar's only room is called where nobody says it.
const ONLY_ROOM: &str = "cellar";
/// How a line is written.
const LIKE: &str = "A-D, 5 stacks, 4 high, pairs or fours";
/// How many barrels a rack cradles where nobody says it.
const PAIRS: u8 = 2;

/// What is said of some rows.
#[derive(Debug, Default)]
struct Rows {
    labels: Vec<Label>,
    stacks: Option<u16>,
    tiers: Option<u16>,
    sides: Option<u8>,
}

impl State {
    /// The room that a line lays out. Rows that it has and the line does not name stay as they are; what is not said of later rows is as
    /// of those before.
    pub fn room_written(&self, line: &str) -> Result<RoomLaidOut, LineError> {
        let (name, rest) = line.split_once(':').map_or((None, line), |(name, rest)| (Some(name.trim()), rest));
        let room = match (name, self.rooms.iter().next()) {
            (Some(name), _) => Label::new(name)?,
            (None, None) => Label::new(ONLY_ROOM)?,
            (None, Some((_, there))) => return Err(LineError::WhichRoom { like: there.label.clone() }),
        };
        let mut laid = RoomLaidOut {
            room,
            rows: Vec::new(),
            temperature_c: None,
            humidity_pct: None,
            round_days: None,
            tolerated: None,
        };
        let mut before = Rows::default();
        for group in rest.split(';').filter(|group| !group.trim().is_empty()) {
            let rows = read(group, &before, &mut laid)?;
            laid.rows.extend(rows.laid(&laid.rows)?);
            before = rows;
        }
        if laid.rows.is_empty() {
            return Err(LineError::WhichRows);
        }
        laid.rows = self.with_rows_there(&laid);
        Ok(laid)
    }

    /// The rows of a line among those that the room has, each where it stood.
    fn with_rows_there(&self, laid: &RoomLaidOut) -> Vec<RowLaidOut> {
        let there = self.rooms.by_label(laid.room.as_str()).map_or(&[][..], |room| &room.rows);
        let said = |row: &RowLaidOut| laid.rows.iter().find(|said| said.row == row.row);
        let kept = there.iter().map(|row| said(row).unwrap_or(row).clone());
        let new = laid.rows.iter().filter(|row| there.iter().all(|old| old.row != row.row)).cloned();
        kept.chain(new).collect()
    }
}

/// What a group of parts says, where something was said before it.
fn read(group: &str, before: &Rows, laid: &mut RoomLaidOut) -> Result<Rows, LineError> {
    let mut rows = Rows::default();
    for part in parts(group) {
        let unknown = || LineError::Unknown { word: part.to_owned(), like: LIKE };
        let lower = part.to_lowercase();
        match lower.as_str() {
            "pairs" | "pair" | "in pairs" | "twos" => say(&mut rows.sides, "A rack", 2)?,
            "fours" | "four" | "in fours" => say(&mut rows.sides, "A rack", 4)?,
            _ => match count_of(&lower) {
                Some((count, "stack" | "stacks" | "long")) => say(&mut rows.stacks, "The number of stacks", count)?,
                Some((count, "high" | "tier" | "tiers")) => say(&mut rows.tiers, "The height", count)?,
                Some((count, "°c" | "c")) => laid.temperature_c = Some(f64::from(count)),
                Some((count, "%")) => laid.humidity_pct = Some(f64::from(count)),
                Some((_, words)) if words.starts_with(|sign: char| sign.is_alphabetic()) && words.len() > 1 => {
                    return Err(unknown());
                }
                _ => {
                    let bare = ["rows ", "row "].iter().find(|word| lower.starts_with(**word));
                    let named = bare.map_or(part, |word| part[word.len()..].trim());
                    let labels = series(named)?;
                    if labels.iter().any(|label| label.as_str().contains([' ', '/'])) {
                        return Err(unknown());
                    }
                    add(&mut rows.labels, labels)?;
                }
            },
        }
    }
    Ok(Rows {
        stacks: rows.stacks.or(before.stacks),
        tiers: rows.tiers.or(before.tiers),
        sides: rows.sides.or(before.sides),
        ..rows
    })
}

impl Rows {
    fn laid(&self, before: &[RowLaidOut]) -> Result<Vec<RowLaidOut>, LineError> {
        let row = |label: &Label| {
            if before.iter().any(|row| row.row == *label) {
                return Err(LineError::Twice(label.clone()));
            }
            Ok(RowLaidOut {
                row: label.clone(),
                stacks: self.stacks.ok_or_else(|| LineError::HowManyStacks(label.clone()))?,
                tiers: self.tiers.ok_or_else(|| LineError::HowHigh(label.clone()))?,
                sides: self.sides.unwrap_or(PAIRS),
            })
        };
        if self.labels.is_empty() { Err(LineError::WhichRows) } else { self.labels.iter().map(row).collect() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(line: &str) -> Vec<(String, u16, u16, u8)> {
        let laid = State::default().room_written(line).unwrap();
        laid.rows.iter().map(|row| (row.row.to_string(), row.stacks, row.tiers, row.sides)).collect()
    }

    #[test]
    fn a_room_is_read_from_a_line() {
        let all = [("A".to_owned(), 5, 4, 2), ("B".to_owned(), 5, 4, 2), ("C".to_owned(), 5, 4, 2)];
        for line in [
            "A-C, 5 stacks, 4 high, pairs",
            "long: A, B, C, 4 tiers, 5 stacks",
            "4 high, 5 STACKS, rows A-C",
            "A-C,5stacks,4high",
        ] {
            assert_eq!(rows(line), all, "{line}");
        }
        assert_eq!(rows("1-2, 1 stack, 2 high, fours"), [("1".to_owned(), 1, 2, 4), ("2".to_owned(), 1, 2, 4)]);
        assert_eq!(
            rows("A, 5 stacks, 4 high; B, 3 stacks; C"),
            [("A".to_owned(), 5, 4, 2), ("B".to_owned(), 3, 4, 2), ("C".to_owned(), 3, 4, 2)]
        );
    }

    #[test]
    fn the_name_and_the_air_of_a_room_are_read() {
        let laid = State::default().room_written("Long room: A, 5 stacks, 4 high, 13 °C, 80 %").unwrap();
        assert_eq!((laid.room.as_str(), laid.temperature_c, laid.humidity_pct), ("Long room", Some(13.0), Some(80.0)));
        assert_eq!(State::default().room_written("A, 5 stacks, 4 high").unwrap().room.as_str(), "cellar");
    }

    #[test]
    fn what_lacks_or_is_wrong_is_said() {
        let said = |line: &str| State::default().room_written(line).unwrap_err().to_string();
        for (line, expected) in [
            ("", "Which rows?"),
            ("A-D", "How many stacks does row A have?"),
            ("A-D, 5 stacks", "How high are the stacks of row A?"),
            ("A-D, 5 stakcs, 4 high", "'5 stakcs' is not understood."),
            ("A, A, 5 stacks, 4 high", "'A' stands there twice."),
            ("A, 5 stacks, 4 high; A", "'A' stands there twice."),
            ("A, 5 stacks, 6 stacks", "The number of stacks is said twice"),
            (": A, 5 stacks, 4 high", "A name cannot be empty."),
            ("A, four high, 5 stacks", "'four high' is not understood."),
        ] {
            assert!(said(line).starts_with(expected), "{line}: {}", said(line));
        }
    }

    #[test]
    fn no_line_is_a_panic() {
        for line in
            ["-", "--", "°", "é-é", ";;;", ",,,", ":::", "99999 stacks", "1-", "-1", "A-é, 5", "\u{202e}, 5 stacks"]
        {
            let _ = State::default().room_written(line);
        }
    }
}
