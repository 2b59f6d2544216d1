//! A day of the calendar, as a release is set.

use std::fmt;

use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::label::harmless;
use crate::units::DateForm;

/// A day, written like `2029-05-01`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Day(NaiveDate);

impl Day {
    /// Reads a day from the years 1900 to 2999.
    pub fn parse(text: &str) -> Result<Day, DayError> {
        let is_plain = text.len() == "2029-05-01".len();
        let day = NaiveDate::parse_from_str(text, "%Y-%m-%d").ok().filter(|_| is_plain);
        day.filter(|day| (1900..=2999).contains(&day.year()))
            .map(Day)
            .ok_or_else(|| DayError(harmless(&text.chars().take(40).collect::<String>())))
    }

    /// The day that a date is.
    #[must_use]
    pub const fn of(date: NaiveDate) -> Day {
        Day(date)
    }

    /// The date that it is.
    #[must_use]
    pub const fn date(self) -> NaiveDate {
        self.0
    }

    /// Whether it lies in the month of another day.
    #[must_use]
    pub fn is_in_month_of(self, other: Day) -> bool {
        (self.0.year(), self.0.month()) == (other.0.year(), other.0.month())
    }

    /// How many whole months lie between an earlier day and this one.
    #[must_use]
    pub fn months_since(self, earlier: Day) -> u32 {
        let month = |day: Day| i64::from(day.0.year()) * 12 + i64::from(day.0.month0());
        let begun = i64::from(self.0.day() < earlier.0.day());
        u32::try_from(month(self) - month(earlier) - begun).unwrap_or(0)
    }

    /// The day as a cellar hand says it: `1 May 2029`.
    #[must_use]
    pub fn show(self) -> String {
        self.0.format(DateForm::customary().date()).to_string()
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0.format("%Y-%m-%d"))
    }
}

impl TryFrom<String> for Day {
    type Error = DayError;
    fn try_from(text: String) -> Result<Day, DayError> {
        Day::parse(&text)
    }
}

impl From<Day> for String {
    fn from(day: Day) -> String {
        day.to_string()
    }
}

/// A text that is no day.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("'{0}' is not a day. Write it like 2029-05-01.")]
pub struct DayError(String);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_is_written_as_it_is_read() {
        for text in ["1900-01-01", "2029-05-01", "2028-02-29"] {
            assert_eq!(Day::parse(text).unwrap().to_string(), text);
        }
        assert_eq!(Day::parse("2029-05-01").unwrap().show(), "1 May 2029");
    }

    #[test]
    fn what_is_no_day_is_said() {
        for text in ["", "2029-02-29", "1.5.2029", "2029-5-1", "1899-12-31", "3000-01-01", "2029-05-01T00:00"] {
            assert!(Day::parse(text).unwrap_err().to_string().ends_with("Write it like 2029-05-01."), "{text}");
        }
    }

    #[test]
    fn a_month_is_one_of_one_year() {
        let day = |text| Day::parse(text).unwrap();
        assert!(day("2029-05-01").is_in_month_of(day("2029-05-31")));
        assert!(!day("2028-05-01").is_in_month_of(day("2029-05-01")));
    }

    #[test]
    fn only_whole_months_count() {
        let since = |later, earlier| Day::parse(later).unwrap().months_since(Day::parse(earlier).unwrap());
        assert_eq!(since("2028-03-09", "2027-03-10"), 11);
        assert_eq!(since("2028-03-10", "2027-03-10"), 12);
        assert_eq!([since("2027-03-10", "2027-03-10"), since("2026-03-10", "2027-03-10")], [0, 0]);
    }
}
