//! Finding facts by when they happened. Those that arrived in their place are in that order by position, and late ones have an index
//! of their own, so that any day of a long log is at hand without a table of days.

use rusqlite::{Connection, OptionalExtension, Row, params};

use super::error::LogError;
use super::read::head;
use super::{Log, Position};
use crate::cellar::core::moment::Moment;

impl Log {
    /// When the last fact before an instant happened.
    pub fn last_before(&self, instant: i64) -> Result<Option<Moment>, LogError> {
        self.consistently(|connection| {
            let timely = "SELECT instant, offset_minutes FROM facts WHERE position < ?1 AND late IS NULL
                ORDER BY position DESC LIMIT 1";
            let late = "SELECT instant, offset_minutes FROM facts WHERE late IS NOT NULL AND instant < ?1
                ORDER BY instant DESC, late DESC, n DESC LIMIT 1";
            let moment = |row: &Row<'_>| Ok(Moment::new(row.get(0)?, row.get(1)?));
            let first = first_timely(connection, instant)?.get();
            let timely = connection.prepare_cached(timely)?.query_row([first], moment).optional()?;
            let late = connection.prepare_cached(late)?.query_row([instant], moment).optional()?;
            Ok([timely, late].into_iter().flatten().max_by_key(|moment| moment.instant()))
        })
    }
}

/// The position of the first fact that arrived in its place and happened at an instant or later; where there is none, the one behind
/// the last fact. Late facts may lie between those in their place; each is looked at once at the most.
pub fn first_timely(connection: &Connection, instant: i64) -> rusqlite::Result<Position> {
    let select = "SELECT position, instant FROM facts WHERE position >= ?1 AND position < ?2 AND late IS NULL
        ORDER BY position LIMIT 1";
    let mut statement = connection.prepare_cached(select)?;
    let behind = head(connection)?.get() + 1;
    let (mut first, mut from, mut until) = (behind, 1, behind);
    while from < until {
        let middle = from + (until - from) / 2;
        let found = statement.query_row(params![middle, until], |row| Ok((row.get(0)?, row.get(1)?))).optional()?;
        match found {
            Some((position, at)) => {
                let (position, at): (i64, i64) = (position, at);
                if at < instant {
                    from = position + 1;
                } else {
                    (first, until) = (position, middle);
                }
            }
            None => until = middle,
        }
    }
    Ok(Position::new(first))
}
