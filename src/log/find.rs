//! Finding single facts, the last ones, and those that take others back.

use rusqlite::{Connection, Params, Row, params};

use super::chain::Link;
use super::error::LogError;
use super::read::head;
use super::row::{LINE_COLUMNS, StoredLine};
use super::trouble::Unlike;
use super::{Head, Log, Position};
use crate::cellar::core::fact::{Device, FactId, Line};

impl Log {
    /// The position of the last fact.
    pub fn head(&self) -> Result<Position, LogError> {
        head(self.connection()?).map_err(|error| self.explain(&error))
    }

    /// Whether facts have arrived since `position` was the head, from this program or another. Cheap enough to ask
    /// between two keystrokes.
    pub fn changed_since(&self, position: Position) -> Result<bool, LogError> {
        Ok(self.head()? != position)
    }

    /// The last fact of each device, by the devices' names.
    pub fn heads(&self) -> Result<Vec<Head>, LogError> {
        self.consistently(heads)
    }

    /// The position at which a fact stands in this file.
    pub fn position_of(&self, id: &FactId) -> Result<Option<Position>, LogError> {
        Ok(self.stored(id)?.map(|stored| Position(stored.position)))
    }

    /// The link of a fact in the chain of its device.
    pub fn link_of(&self, id: &FactId) -> Result<Option<Link>, LogError> {
        Ok(self.stored(id)?.map(|stored| stored.link))
    }

    /// The whole line of a fact.
    pub fn line(&self, id: &FactId) -> Result<Option<Line>, LogError> {
        Ok(self.stored(id)?.map(|stored| stored.line))
    }

    /// The last facts of a device, newest first, at most `limit`; with `before` only those of a lower number.
    pub fn tail_of(&self, device: &Device, before: Option<u64>, limit: usize) -> Result<Vec<Line>, LogError> {
        let before = before.and_then(|n| i64::try_from(n).ok()).unwrap_or(i64::MAX);
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        self.lines("devices.name = ?1 AND n < ?2 ORDER BY n DESC LIMIT ?3", params![device.as_str(), before, limit])
    }

    /// When the newest of the facts behind a position happened or was entered, whichever is later; in microseconds since 1970.
    pub fn newest_behind(&self, position: Position) -> Result<Option<i64>, LogError> {
        self.consistently(|connection| {
            let select = "SELECT max(max(instant, written_instant)) FROM facts WHERE position > ?1";
            connection.query_row(select, [position.0], |row| row.get(0))
        })
    }

    /// All facts of the kind that takes another fact back, in the order of arrival.
    pub fn retractions(&self) -> Result<Vec<Line>, LogError> {
        self.lines("kind = 'retracted' ORDER BY position", [])
    }

    pub(super) fn stored(&self, id: &FactId) -> Result<Option<StoredLine>, LogError> {
        self.consistently(|connection| stored(connection, id))
    }

    fn lines(&self, condition: &str, values: impl Params) -> Result<Vec<Line>, LogError> {
        self.consistently(|connection| {
            let select = format!("SELECT {LINE_COLUMNS} FROM facts JOIN devices USING (device) WHERE {condition}");
            let mut statement = connection.prepare_cached(&select)?;
            statement.query_map(values, |row| StoredLine::read(row).map(|stored| stored.line))?.collect()
        })
    }
}

/// A fact as the file holds it.
pub fn stored(connection: &Connection, id: &FactId) -> rusqlite::Result<Option<StoredLine>> {
    let Ok(n) = i64::try_from(id.n) else { return Ok(None) };
    let select =
        format!("SELECT {LINE_COLUMNS} FROM facts JOIN devices USING (device) WHERE devices.name = ?1 AND n = ?2");
    let mut statement = connection.prepare_cached(&select)?;
    let mut rows = statement.query(params![id.device.as_str(), n])?;
    rows.next()?.map(StoredLine::read).transpose()
}

/// The last fact of each device.
pub fn heads(connection: &Connection) -> rusqlite::Result<Vec<Head>> {
    let mut statement = connection.prepare_cached("SELECT device, name FROM devices ORDER BY name")?;
    let mut rows = statement.query([])?;
    let mut heads = Vec::new();
    while let Some(row) = rows.next()? {
        let number: i64 = row.get(0)?;
        let name = row.get_ref(1)?.as_str().unwrap_or_default();
        let (n, link) = last_of(connection, number)?;
        // A device that has no fact yet was made by a transaction that failed to bring one.
        if let (Ok(device), true) = (Device::new(name), n > 0) {
            heads.push(Head { id: FactId { device, n }, link });
        }
    }
    Ok(heads)
}

/// The number and link of a device's last fact; 0 and the start of the chain where it has none.
pub fn last_of(connection: &Connection, device: i64) -> rusqlite::Result<(u64, Link)> {
    let mut statement =
        connection.prepare_cached("SELECT n, link FROM facts WHERE device = ?1 ORDER BY n DESC LIMIT 1")?;
    let mut rows = statement.query([device])?;
    match rows.next()? {
        None => Ok((0, Link::START)),
        Some(row) => Ok((number(row, 0)?, link(row, 1)?)),
    }
}

/// The number of a fact in a column.
fn number(row: &Row<'_>, column: usize) -> rusqlite::Result<u64> {
    let n: i64 = row.get(column)?;
    u64::try_from(n).map_err(|_| rusqlite::Error::IntegralValueOutOfRange(column, n))
}

/// The link in a column.
pub fn link(row: &Row<'_>, column: usize) -> rusqlite::Result<Link> {
    row.get_ref(column)?.as_blob().ok().and_then(Link::from_bytes).ok_or_else(|| {
        let words = "a link of the chain is not 32 bytes";
        rusqlite::Error::FromSqlConversionFailure(column, rusqlite::types::Type::Blob, Unlike(words.to_owned()).into())
    })
}

/// The same for a device by its name.
pub fn last_of_name(connection: &Connection, device: &Device) -> rusqlite::Result<(u64, Link)> {
    let mut statement = connection.prepare_cached("SELECT device FROM devices WHERE name = ?1")?;
    let mut rows = statement.query([device.as_str()])?;
    match rows.next()? {
        None => Ok((0, Link::START)),
        Some(row) => last_of(connection, row.get(0)?),
    }
}

/// The link of a fact as it stands in the file.
pub fn link_of(connection: &Connection, id: &FactId) -> rusqlite::Result<Option<Link>> {
    let Ok(n) = i64::try_from(id.n) else { return Ok(None) };
    let select = "SELECT link FROM facts JOIN devices USING (device) WHERE devices.name = ?1 AND n = ?2";
    let mut statement = connection.prepare_cached(select)?;
    let mut rows = statement.query(params![id.device.as_str(), n])?;
    rows.next()?.map(|row| link(row, 0)).transpose()
}
