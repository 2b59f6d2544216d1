//! The clock on the cellar's wall: Central European time.

use anyhow::{Context, Result};
use chrono::{Datelike, NaiveDate, NaiveDateTime, TimeDelta};

/// A moment from its text, for example `2025-05-20 08:00`.
pub fn moment(text: &str) -> Result<NaiveDateTime> {
    NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").with_context(|| format!("'{text}' is no moment"))
}

/// The time on the wall with its offset, as the facts have it.
pub fn stamp(wall: NaiveDateTime) -> String {
    let offset = if is_summer(wall.date()) { "+02:00" } else { "+01:00" };
    format!("{}{offset}", wall.format("%Y-%m-%dT%H:%M:%S"))
}

/// A date as people write it on a card: `2 Nov 2026`.
pub fn card_date(wall: NaiveDateTime) -> String {
    wall.format("%-d %b %Y").to_string()
}

/// Nobody works in the night in which the clock changes, so the whole Sunday can count as changed.
fn is_summer(date: NaiveDate) -> bool {
    last_sunday(date.year(), 3) <= Some(date) && Some(date) < last_sunday(date.year(), 10)
}

/// The last Sunday of a month that has 31 days.
fn last_sunday(year: i32, month: u32) -> Option<NaiveDate> {
    let last = NaiveDate::from_ymd_opt(year, month, 31)?;
    Some(last - TimeDelta::days(last.weekday().num_days_from_sunday().into()))
}
