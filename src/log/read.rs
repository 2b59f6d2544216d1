//! Reading all facts, in the order in which things happened or in that in which they arrived.

use std::ops::ControlFlow;

use rusqlite::fallible_streaming_iterator::FallibleStreamingIterator;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, Row, Rows, Transaction, TransactionBehavior, params};

use super::dated::first_timely;
use super::error::LogError;
use super::row::{AUTHORED_COLUMNS, LINE_COLUMNS, LINE_TABLES, SCAN_COLUMNS, StoredLine};
use super::trouble::Unlike;
use super::{Log, Position, key};
use crate::cellar::core::fact::{Device, FactId, FactKey, Line, Stamp, is_despite};
use crate::cellar::core::moment::Moment;

/// Where a scan begins.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ScanStart {
    /// With the first fact.
    Beginning,
    /// With the first fact that happened at an instant or later.
    From(i64),
    /// After a fact of an earlier scan: that was the last one handed out when the facts in their place had come to
    /// `timely`, and its key was `key`.
    After {
        /// The position of the last fact that had arrived in its place.
        timely: Position,
        /// The key of the last fact, late or not.
        key: FactKey,
    },
}

/// A fact as a scan hands it out: columns borrowed from the row, valid until the next one.
///
/// Each column that is read costs about a tenth of what stepping to the row does; the position, which only few readers
/// want, is therefore read when asked for.
#[derive(Clone, Copy)]
pub struct RawFact<'row> {
    row: &'row Row<'row>,
    /// Whether a fact of a later place had arrived before it.
    pub late: bool,
    /// The device that wrote it.
    pub device: &'row Device,
    /// Its number on that device.
    pub n: u64,
    /// When it happened.
    pub at: Moment,
    /// The name of its kind.
    pub kind: &'row str,
    /// The version of its kind.
    pub version: u32,
    /// The fields of its kind, a JSON object.
    pub body: &'row [u8],
}

impl<'row> RawFact<'row> {
    /// The fact's place in the order of arrival.
    #[must_use]
    pub fn position(&self) -> Position {
        // The key of the table is always a number, even in a damaged file.
        Position(self.row.get(6).unwrap_or_default())
    }

    /// The fact's name.
    #[must_use]
    pub fn id(&self) -> FactId {
        FactId { device: self.device.clone(), n: self.n }
    }

    /// The fact's place in the order.
    #[must_use]
    pub fn key(&self) -> FactKey {
        FactKey { instant: self.at.instant(), id: self.id() }
    }

    /// What the fold needs of the fact beside its fields.
    #[must_use]
    pub fn stamp(&self) -> Stamp {
        Stamp { id: self.id(), at: self.at, despite: is_despite(self.body) }
    }

    #[inline]
    fn read(row: &'row Row<'row>, devices: &'row [Device], late: bool) -> rusqlite::Result<RawFact<'row>> {
        let (ValueRef::Integer(device), ValueRef::Integer(n), ValueRef::Integer(instant), ValueRef::Integer(offset)) =
            (row.get_ref(0)?, row.get_ref(1)?, row.get_ref(2)?, row.get_ref(3)?)
        else {
            return Err(unreadable(row));
        };
        let (ValueRef::Text(kind), ValueRef::Text(body), ValueRef::Integer(version)) =
            (row.get_ref(4)?, row.get_ref(5)?, row.get_ref(7)?)
        else {
            return Err(unreadable(row));
        };
        let device = usize::try_from(device).ok().and_then(|number| devices.get(number.wrapping_sub(1)));
        let numbers = (u64::try_from(n), i16::try_from(offset), u32::try_from(version));
        match (device, numbers, std::str::from_utf8(kind)) {
            (Some(device), (Ok(n), Ok(offset), Ok(version)), Ok(kind)) => {
                Ok(RawFact { row, late, device, n, at: Moment::new(instant, offset), kind, version, body })
            }
            _ => Err(unreadable(row)),
        }
    }

    fn sorts_before(&self, instant: i64, device: &Device, n: u64) -> bool {
        (self.at.instant(), self.device, self.n) < (instant, device, n)
    }
}

/// A fact as a scan of whole rows hands it out. Who entered it and when is read when asked for, and the whole line is built then.
#[derive(Clone, Copy)]
pub struct RawLine<'fact, 'row> {
    /// The fact.
    pub fact: &'fact RawFact<'row>,
}

impl RawLine<'_, '_> {
    /// Who entered it. A name that cannot be read is nobody's, and is told by a verification.
    #[must_use]
    pub fn author(&self) -> &str {
        self.fact.row.get_ref(11).ok().and_then(|author| author.as_str().ok()).unwrap_or_default()
    }

    /// The instant at which it was entered.
    #[must_use]
    pub fn written(&self) -> i64 {
        self.fact.row.get(9).unwrap_or_default()
    }

    /// The whole line; none where the row is damaged, which a verification tells.
    #[must_use]
    pub fn whole(&self) -> Option<Line> {
        StoredLine::read(self.fact.row).ok().map(|stored| stored.line)
    }
}

#[cold]
fn unreadable(row: &Row<'_>) -> rusqlite::Error {
    let position: i64 = row.get("position").unwrap_or_default();
    let words = format!("the fact at position {position} cannot be read");
    rusqlite::Error::FromSqlConversionFailure(0, rusqlite::types::Type::Null, Unlike(words).into())
}

impl Log {
    /// Hands out every fact from `start` on in the order in which things happened, until `each` breaks off. Gives the
    /// position of the last fact that had arrived when the scan began: what came later is not part of it.
    pub fn scan(
        &self,
        start: &ScanStart,
        each: &mut dyn FnMut(&RawFact<'_>) -> ControlFlow<()>,
    ) -> Result<Position, LogError> {
        self.consistently(|connection| {
            let devices = devices(connection)?;
            merge(connection, SCAN, start, &devices, each)?;
            head(connection)
        })
    }

    /// Hands out every fact from `start` on with all that stands in its row, in the order in which things happened, until `each` breaks off.
    pub fn scan_lines(
        &self,
        start: &ScanStart,
        each: &mut dyn FnMut(RawLine<'_, '_>) -> ControlFlow<()>,
    ) -> Result<(), LogError> {
        self.consistently(|connection| {
            let devices = devices(connection)?;
            merge(connection, LINES, start, &devices, &mut |fact| each(RawLine { fact }))
        })
    }

    /// Hands out every fact from the first on with who entered it, in the order in which things happened, until `each`
    /// breaks off.
    pub fn scan_authored(&self, each: &mut dyn FnMut(&RawFact<'_>, &str) -> ControlFlow<()>) -> Result<(), LogError> {
        self.consistently(|connection| {
            let devices = devices(connection)?;
            merge(connection, AUTHORED, &ScanStart::Beginning, &devices, &mut |raw| {
                // A name that cannot be read is nobody's, and is told by a verification.
                let author = raw.row.get_ref(8).ok().and_then(|author| author.as_str().ok());
                each(raw, author.unwrap_or_default())
            })
        })
    }

    /// Hands out every fact that arrived after `position`, in the order of arrival, until `each` breaks off. Gives the
    /// position of the last fact that had arrived when the reading began.
    pub fn arrived_after(
        &self,
        position: Position,
        each: &mut dyn FnMut(&RawFact<'_>) -> ControlFlow<()>,
    ) -> Result<Position, LogError> {
        self.consistently(|connection| {
            let select = format!("SELECT {SCAN_COLUMNS}, late FROM facts WHERE position > ?1 ORDER BY position");
            in_order_of_arrival(connection, &select, position, each)?;
            head(connection)
        })
    }

    /// Hands out every fact that arrived after `position` and takes another one back, in the order of arrival, until
    /// `each` breaks off.
    pub fn retractions_after(
        &self,
        position: Position,
        each: &mut dyn FnMut(&RawFact<'_>) -> ControlFlow<()>,
    ) -> Result<(), LogError> {
        self.consistently(|connection| {
            // By their own index: they are few among many.
            let select = format!(
                "SELECT {SCAN_COLUMNS}, late FROM facts INDEXED BY retractions
                WHERE kind = 'retracted' AND position > ?1 ORDER BY position"
            );
            in_order_of_arrival(connection, &select, position, each)
        })
    }

    /// The lowest key among the facts that arrived late after `position`: a state of the facts before that key still
    /// holds. None where every fact since then arrived in its place.
    pub fn lowest_late_after(&self, position: Position) -> Result<Option<FactKey>, LogError> {
        self.consistently(|connection| {
            // By position, for few facts are new; the index of late facts would be walked from its beginning.
            let select =
                "SELECT instant, late, n, position FROM facts NOT INDEXED WHERE position > ?1 AND late IS NOT NULL
                ORDER BY instant, late, n LIMIT 1";
            let mut statement = connection.prepare_cached(select)?;
            let mut rows = statement.query([position.0])?;
            match rows.next()? {
                None => Ok(None),
                Some(row) => {
                    let found = key(row.get(0)?, row.get_ref(1)?.as_str().unwrap_or_default(), row.get(2)?);
                    found.map(Some).ok_or_else(|| unreadable(row))
                }
            }
        })
    }

    /// Hands out the whole line of every fact, in the order in which things happened, until `each` breaks off; with
    /// `since` only of what happened then or later.
    pub fn export(
        &self,
        since: Option<Moment>,
        each: &mut dyn FnMut(&Line) -> ControlFlow<()>,
    ) -> Result<(), LogError> {
        self.consistently(|connection| {
            let devices = devices(connection)?;
            let mut failed = None;
            let start = since.map_or(ScanStart::Beginning, |since| ScanStart::From(since.instant()));
            merge(connection, LINES, &start, &devices, &mut |fact| match StoredLine::read(fact.row) {
                Ok(stored) => each(&stored.line),
                Err(error) => {
                    failed = Some(error);
                    ControlFlow::Break(())
                }
            })?;
            failed.map_or(Ok(()), Err)
        })
    }

    /// Has several readings see the log as of one instant, whatever other programs append meanwhile.
    pub fn at_one_instant<T, E: From<LogError>>(&self, read: impl FnOnce() -> Result<T, E>) -> Result<T, E> {
        self.consistently(|_| Ok(read()))?
    }

    /// Reads in one transaction, so that everything is seen as of one instant.
    pub(super) fn consistently<T>(&self, read: impl FnOnce(&Connection) -> rusqlite::Result<T>) -> Result<T, LogError> {
        let connection = self.connection()?;
        let whole = || {
            // Inside the callback of another reading the transaction is there already.
            if !connection.is_autocommit() {
                return read(connection);
            }
            let transaction = Transaction::new_unchecked(connection, TransactionBehavior::Deferred)?;
            let result = read(&transaction)?;
            transaction.finish()?;
            Ok(result)
        };
        whole().map_err(|error| self.explain(&error))
    }
}

/// Hands out what a query finds after a position, late or not, until `each` breaks off.
fn in_order_of_arrival(
    connection: &Connection,
    select: &str,
    position: Position,
    each: &mut dyn FnMut(&RawFact<'_>) -> ControlFlow<()>,
) -> rusqlite::Result<()> {
    let devices = devices(connection)?;
    let mut statement = connection.prepare_cached(select)?;
    let mut rows = statement.query([position.0])?;
    while let Some(row) = rows.next()? {
        let late = row.get_ref(8)? != ValueRef::Null;
        if each(&RawFact::read(row, &devices, late)?).is_break() {
            break;
        }
    }
    Ok(())
}

/// The position of the last fact.
pub fn head(connection: &Connection) -> rusqlite::Result<Position> {
    let mut statement = connection.prepare_cached("SELECT coalesce(max(position), 0) FROM facts")?;
    statement.query_row([], |row| row.get(0)).map(Position)
}

/// The devices' names, by their number from 1.
pub fn devices(connection: &Connection) -> rusqlite::Result<Vec<Device>> {
    let mut statement = connection.prepare_cached("SELECT device, name FROM devices ORDER BY device")?;
    let mut rows = statement.query([])?;
    let mut devices = Vec::new();
    while let Some(row) = rows.next()? {
        let number: i64 = row.get(0)?;
        let device = row.get_ref(1)?.as_str().ok().and_then(|name| Device::new(name).ok());
        match device {
            Some(device) if usize::try_from(number) == Ok(devices.len() + 1) => devices.push(device),
            _ => {
                let words = format!("the name of device number {number} cannot be read");
                return Err(rusqlite::Error::FromSqlConversionFailure(
                    1,
                    rusqlite::types::Type::Text,
                    Unlike(words).into(),
                ));
            }
        }
    }
    Ok(devices)
}

/// The key of a late fact that waits for its turn, without a copy of its device's name.
type LateKey = (i64, usize, u64);

fn next_late(rows: &mut Rows<'_>, devices: &[Device]) -> rusqlite::Result<Option<LateKey>> {
    let Some(row) = rows.next()? else { return Ok(None) };
    let fact = RawFact::read(row, devices, true)?;
    let device: i64 = row.get(0)?;
    Ok(Some((fact.at.instant(), usize::try_from(device - 1).unwrap_or_default(), fact.n)))
}

/// Which columns are read, and from where.
type Columns = (&'static str, &'static str);
const SCAN: Columns = (SCAN_COLUMNS, "facts");
const AUTHORED: Columns = (AUTHORED_COLUMNS, "facts");
const LINES: Columns = (LINE_COLUMNS, LINE_TABLES);

fn timely_facts((columns, tables): Columns) -> String {
    format!("SELECT {columns} FROM {tables} WHERE position > ?1 AND late IS NULL ORDER BY position")
}

fn late_facts((columns, tables): Columns) -> String {
    format!(
        "SELECT {columns} FROM {tables} WHERE late IS NOT NULL AND (instant, late, n) > (?1, ?2, ?3)
            ORDER BY instant, late, n"
    )
}

/// Merges the facts that arrived in their place, which are in order by position, with the late ones, which are in order
/// by their index.
fn merge(
    connection: &Connection,
    columns: Columns,
    start: &ScanStart,
    devices: &[Device],
    each: &mut dyn FnMut(&RawFact<'_>) -> ControlFlow<()>,
) -> rusqlite::Result<()> {
    let mut timely = connection.prepare_cached(&timely_facts(columns))?;
    let mut late = connection.prepare_cached(&late_facts(columns))?;
    let (mut timely, mut late) = match start {
        ScanStart::Beginning => (timely.query([0])?, late.query(params![i64::MIN, "", 0])?),
        ScanStart::From(instant) => {
            let before = first_timely(connection, *instant)?.get() - 1;
            (timely.query([before])?, late.query(params![instant, "", 0])?)
        }
        ScanStart::After { timely: position, key } => {
            let n = i64::try_from(key.id.n).unwrap_or(i64::MAX);
            (timely.query([position.0])?, late.query(params![key.instant, key.id.device.as_str(), n])?)
        }
    };
    let mut waiting = next_late(&mut late, devices)?;
    while let Some(row) = timely.next()? {
        let fact = RawFact::read(row, devices, false)?;
        while let Some((instant, device, n)) = waiting {
            if fact.sorts_before(instant, &devices[device], n) {
                break;
            }
            if hand_out(&late, devices, each)?.is_break() {
                return Ok(());
            }
            waiting = next_late(&mut late, devices)?;
        }
        if each(&fact).is_break() {
            return Ok(());
        }
    }
    while waiting.is_some() {
        if hand_out(&late, devices, each)?.is_break() {
            return Ok(());
        }
        waiting = next_late(&mut late, devices)?;
    }
    Ok(())
}

/// Hands out the late fact that waits.
fn hand_out(
    late: &Rows<'_>,
    devices: &[Device],
    each: &mut dyn FnMut(&RawFact<'_>) -> ControlFlow<()>,
) -> rusqlite::Result<ControlFlow<()>> {
    match late.get() {
        Some(row) => Ok(each(&RawFact::read(row, devices, true)?)),
        None => Ok(ControlFlow::Continue(())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::log::schema::TABLES;

    #[test]
    fn nothing_is_sorted_while_reading() {
        let connection = Connection::open_in_memory().unwrap();
        connection.execute_batch(TABLES).unwrap();
        let plan = |select: &str, values: &[&dyn rusqlite::ToSql]| {
            let mut statement = connection.prepare(&format!("EXPLAIN QUERY PLAN {select}")).unwrap();
            let steps = statement.query_map(values, |row| row.get::<_, String>(3)).unwrap();
            steps.collect::<Result<Vec<_>, _>>().unwrap().join("; ")
        };
        for columns in [SCAN, AUTHORED, LINES] {
            let timely = plan(&timely_facts(columns), &[&0]);
            assert!(
                timely.starts_with("SEARCH facts USING INTEGER PRIMARY KEY") && !timely.contains("TEMP"),
                "{timely}"
            );
            let late = plan(&late_facts(columns), &[&0, &"", &0]);
            assert!(late.starts_with("SEARCH facts USING INDEX late_facts") && !late.contains("TEMP"), "{late}");
        }
        let retractions = plan("SELECT n FROM facts WHERE kind = 'retracted' ORDER BY position", &[]);
        assert!(retractions.contains("INDEX retractions") && !retractions.contains("TEMP"), "{retractions}");
        let lowest =
            "SELECT n FROM facts NOT INDEXED WHERE position > ?1 AND late IS NOT NULL ORDER BY instant LIMIT 1";
        assert!(plan(lowest, &[&0]).starts_with("SEARCH facts USING INTEGER PRIMARY KEY"));
    }
}
