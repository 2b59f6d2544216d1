//! Where a barrel lies: room, row, stack, tier, side.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::label::{Label, harmless};

/// A rack: one tier of one stack of a row, for example `long/A-03-2`. Stack and tier count from 1; tier 1 is the floor.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct RackPlace {
    /// The room's label.
    pub room: Label,
    /// The row's label within the room.
    pub row: Label,
    /// The stack along the row, from 1.
    pub stack: u16,
    /// The tier of the stack, from 1 at the floor.
    pub tier: u16,
}

/// A barrel's place: a side of a rack, for example `long/A-03-2-b`. Sides are letters from `a`.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Place {
    /// The rack that cradles the barrel.
    pub rack: RackPlace,
    /// The side of the rack, from 0; written as a letter from `a`.
    pub side: u8,
}

impl fmt::Display for RackPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}-{:02}-{}", self.room, self.row, self.stack, self.tier)
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}", self.rack, side_letter(self.side))
    }
}

impl Place {
    /// The place without its room, as it is said in the room itself: `A-03-2-b`.
    #[must_use]
    pub fn within_room(&self) -> String {
        let rack = &self.rack;
        format!("{}-{:02}-{}-{}", rack.row, rack.stack, rack.tier, side_letter(self.side))
    }
}

/// The letter of a side, from `a`.
#[must_use]
pub fn side_letter(side: u8) -> char {
    char::from(b'a' + side.min(25))
}

impl FromStr for RackPlace {
    type Err = PlaceError;

    fn from_str(text: &str) -> Result<RackPlace, PlaceError> {
        let wrong = || PlaceError(harmless(&text.chars().take(60).collect::<String>()));
        // The room may itself hold a slash and the row a hyphen, so both are looked for from the right.
        let (room, rest) = text.rsplit_once('/').ok_or_else(wrong)?;
        let mut parts = rest.rsplitn(3, '-');
        let mut number = || parts.next().and_then(counted);
        let (tier, stack) = (number(), number());
        let row = parts.next().ok_or_else(wrong)?;
        match (stack, tier, Label::read(room), Label::read(row)) {
            (Some(stack), Some(tier), Ok(room), Ok(row)) => Ok(RackPlace { room, row, stack, tier }),
            _ => Err(wrong()),
        }
    }
}

impl FromStr for Place {
    type Err = PlaceError;

    fn from_str(text: &str) -> Result<Place, PlaceError> {
        let wrong = || PlaceError(harmless(&text.chars().take(60).collect::<String>()));
        let (rack, side) = text.rsplit_once('-').ok_or_else(wrong)?;
        match side.as_bytes() {
            [letter @ b'a'..=b'z'] => Ok(Place { rack: rack.parse()?, side: letter - b'a' }),
            _ => Err(wrong()),
        }
    }
}

fn counted(digits: &str) -> Option<u16> {
    let plain = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
    digits.parse().ok().filter(|&number: &u16| plain && number >= 1)
}

macro_rules! serde_by_text {
    ($($type:ty),*) => { $(
        impl TryFrom<String> for $type {
            type Error = PlaceError;
            fn try_from(text: String) -> Result<Self, PlaceError> { text.parse() }
        }
        impl From<$type> for String {
            fn from(place: $type) -> String { place.to_string() }
        }
    )* };
}
serde_by_text!(RackPlace, Place);

/// A text that names no place.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("'{0}' is not a place. Write room/row-stack-tier-side, like long/A-03-2-b; a rack is without its side.")]
pub struct PlaceError(String);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_and_writes_places() {
        let place: Place = "long/A-03-2-b".parse().unwrap();
        assert_eq!((place.rack.stack, place.rack.tier, place.side), (3, 2, 1));
        assert_eq!(place.to_string(), "long/A-03-2-b");
        assert_eq!(place.within_room(), "A-03-2-b");
        assert_eq!("long/A-03-2".parse::<RackPlace>().unwrap().to_string(), "long/A-03-2");
    }

    #[test]
    fn rooms_and_rows_may_have_marks_of_their_own() {
        let place: Place = "old/north/B-west-12-1-a".parse().unwrap();
        assert_eq!((place.rack.room.as_str(), place.rack.row.as_str()), ("old/north", "B-west"));
    }

    #[test]
    fn what_is_no_place_is_refused() {
        for text in ["", "long", "long/A", "long/A-03-2", "long/A-0-2-a", "long/A-03-2-B", "long/A-+3-2-a", "/A-03-2-a"]
        {
            assert!(text.parse::<Place>().is_err(), "{text}");
        }
    }
}
