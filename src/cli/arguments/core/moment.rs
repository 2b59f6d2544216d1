//! Dates and times as they are said on the command line.

use crate::cellar::core::day::Day;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::when::{self, When};

/// A day, or a day and a time.
pub fn said(text: &str) -> Result<When, String> {
    When::read(text, Moment::now().date()).map_err(|error| error.to_string())
}

/// A day.
pub fn day(text: &str) -> Result<Day, String> {
    match when::day(text, Moment::now().date()) {
        Some(read) => read.map(Day::of).map_err(|error| error.to_string()),
        None => Day::parse(text).map_err(|error| error.to_string()),
    }
}

/// A time, or the first moment of a day.
pub fn start(text: &str) -> Result<Moment, String> {
    said(text)?.beginning(Moment::now()).map_err(|error| error.to_string())
}

/// A time, or the last moment of a day.
pub fn end(text: &str) -> Result<Moment, String> {
    said(text)?.end(Moment::now()).map_err(|error| error.to_string())
}

/// The first and the last moment of a day.
pub fn whole_day(text: &str) -> Result<(Moment, Moment), String> {
    Ok((start(text)?, end(text)?))
}
