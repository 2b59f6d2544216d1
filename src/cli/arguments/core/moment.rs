//! Dates and times as they are said on the command line.

use crate::cellar::core::moment::{Moment, MomentError};

/// A time, or the first moment of a day.
pub fn start(text: &str) -> Result<Moment, MomentError> {
    Moment::parse_start(text)
}

/// A time, or the last moment of a day.
pub fn end(text: &str) -> Result<Moment, MomentError> {
    Moment::parse_end(text)
}
