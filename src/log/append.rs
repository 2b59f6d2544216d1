//! Appending: one immediate transaction, and after any failure a look at what is really there.

use std::collections::HashMap;

use rusqlite::{Connection, Transaction, TransactionBehavior, params};
use serde::de::IgnoredAny;

use super::chain::Link;
use super::error::LogError;
use super::find::last_of;
use super::read::head;
use super::row::fit;
use super::trouble::Trouble;
use super::{Access, Head, Log, Position, key};
use crate::cellar::core::fact::{Device, FactId, FactKey, Line};

/// The end of the log: how many facts there are, and the highest place in the order that any of them takes. A new fact
/// below it arrives late.
#[derive(Clone, Debug, Default)]
pub struct Top {
    pub head: Position,
    key: Option<FactKey>,
}

impl Top {
    /// The end of the log as it is now.
    pub fn of(connection: &Connection) -> rusqlite::Result<Top> {
        let mut top = Top::default();
        top.refresh(connection)?;
        Ok(top)
    }

    /// Takes account of what has arrived since, by this program or another.
    pub(super) fn refresh(&mut self, connection: &Connection) -> rusqlite::Result<()> {
        let now = head(connection)?;
        if now == self.head {
            return Ok(());
        }
        // The last one that arrived in its place is the highest: the late ones after it are below it.
        let select = "SELECT instant, devices.name, n FROM facts JOIN devices USING (device)
            WHERE position > ?1 AND late IS NULL ORDER BY position DESC LIMIT 1";
        let mut statement = connection.prepare_cached(select)?;
        let mut rows = statement.query([self.head.0])?;
        if let Some(row) = rows.next()? {
            self.key = key(row.get(0)?, row.get_ref(1)?.as_str().unwrap_or_default(), row.get(2)?);
        }
        self.head = now;
        Ok(())
    }

    /// Takes a new fact; says whether it is late.
    fn take(&mut self, key: FactKey) -> bool {
        self.head = Position(self.head.0 + 1);
        let late = self.key.as_ref().is_some_and(|highest| key < *highest);
        if !late {
            self.key = Some(key);
        }
        late
    }
}

/// Why facts were not appended.
enum Failure {
    /// For a reason of our own: nothing was tried.
    Refused(LogError),
    /// The database failed midway: what is on the disk must be looked at.
    Broken(rusqlite::Error),
}

impl From<rusqlite::Error> for Failure {
    fn from(error: rusqlite::Error) -> Failure {
        Failure::Broken(error)
    }
}

/// What a transaction stored.
struct Stored {
    top: Top,
    heads: Vec<Head>,
}

/// So many facts of one act are held here as well, until the file itself holds them. More come from a file of their own.
const HELD: usize = 1_000;

impl Log {
    /// Appends facts, all or none. They are on the disk when this returns.
    ///
    /// `seen` is the head that the decision saw; if others have appended since, nothing is written and the answer is
    /// [`LogError::Moved`]. Each fact must follow the last one of its device.
    pub fn append(&mut self, seen: Position, lines: &[Line]) -> Result<Position, LogError> {
        if self.access == Access::ReadOnly {
            return Err(LogError::ReadOnly(super::error::show(&self.path)));
        }
        for line in lines {
            fit(line)
                .and_then(|()| is_json(&line.body))
                .map_err(|problem| LogError::Unfit { id: line.id.clone(), problem })?;
        }
        self.mark.prepare()?;
        match store(self, self.top.clone(), seen, lines) {
            Ok(stored) => {
                self.top = stored.top;
                if self.place.holds(self.top.head.0 - i64::try_from(lines.len()).unwrap_or(0)) {
                    self.newest.clear();
                }
                if lines.len() <= HELD {
                    self.newest.extend_from_slice(lines);
                }
                // Whoever says that it is stored means the file of that name.
                self.look().map_err(LogError::EnteredAstray)?;
                self.remember(stored.heads);
                Ok(self.top.head)
            }
            Err(Failure::Refused(error)) => Err(error),
            Err(Failure::Broken(error)) => {
                // To open another file that came to stand there would say nothing of this one.
                self.look()?;
                self.find_out(lines, Trouble::at(&self.path, &error).unwrap_or(Trouble::NotAsLaidOut))
            }
        }
    }

    /// Writes down, outside the file, how far the devices have come. A failure loses no fact, only the watch over it.
    pub(super) fn remember(&mut self, heads: Vec<Head>) {
        if let Err(warning) = self.mark.advance(heads)
            && !self.warnings.contains(&warning)
        {
            self.warnings.push(warning);
        }
    }
}

/// Whether a body is JSON: an exported line that no program can read would stay in the log for ever.
fn is_json(body: &str) -> Result<(), String> {
    serde_json::from_str::<IgnoredAny>(body).map(|_| ()).map_err(|_| "its fields are not JSON".to_owned())
}

fn store(log: &Log, mut top: Top, seen: Position, lines: &[Line]) -> Result<Stored, Failure> {
    let connection = log.connection().map_err(Failure::Refused)?;
    let transaction = Transaction::new_unchecked(connection, TransactionBehavior::Immediate)
        .map_err(|error| Failure::Refused(log.look().err().map_or_else(|| log.explain(&error), LogError::from)))?;
    log.look().map_err(|astray| Failure::Refused(astray.into()))?;
    top.refresh(&transaction)?;
    if top.head != seen {
        return Err(Failure::Refused(LogError::Moved { seen, head: top.head }));
    }
    let mut devices: HashMap<Device, (i64, u64, Link)> = HashMap::new();
    for line in lines {
        let (number, n, link) = match devices.get(&line.id.device) {
            Some(&known) => known,
            None => number_of(&transaction, &line.id.device)?,
        };
        if line.id.n != n + 1 {
            return Err(Failure::Refused(LogError::OutOfTurn { id: line.id.clone(), expected: n + 1 }));
        }
        let link = link.then(line);
        let late = top.take(FactKey { instant: line.at.instant(), id: line.id.clone() });
        insert(&transaction, top.head, number, line, late, link)?;
        devices.insert(line.id.device.clone(), (number, line.id.n, link));
    }
    transaction.commit()?;
    let heads = devices.into_iter().map(|(device, (_, n, link))| Head { id: FactId { device, n }, link }).collect();
    Ok(Stored { top, heads })
}

/// A device's number in this file, and the number and link of its last fact. A new device gets the next number.
fn number_of(transaction: &Transaction<'_>, device: &Device) -> Result<(i64, u64, Link), Failure> {
    let mut select = transaction.prepare_cached("SELECT device FROM devices WHERE name = ?1")?;
    let mut rows = select.query([device.as_str()])?;
    if let Some(row) = rows.next()? {
        let number = row.get(0)?;
        let (n, link) = last_of(transaction, number)?;
        return Ok((number, n, link));
    }
    let number: i64 =
        transaction.query_row("SELECT coalesce(max(device), 0) + 1 FROM devices", [], |row| row.get(0))?;
    transaction.execute("INSERT INTO devices (device, name) VALUES (?1, ?2)", params![number, device.as_str()])?;
    Ok((number, 0, Link::START))
}

fn insert(
    transaction: &Transaction<'_>,
    position: Position,
    device: i64,
    line: &Line,
    late: bool,
    seal: Link,
) -> Result<(), Failure> {
    let mut statement = transaction.prepare_cached(
        "INSERT INTO facts (position, device, n, instant, offset_minutes, kind, body, late, written_instant,
            written_offset, author, version, job, note, link)
            VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15)",
    )?;
    let stored = statement.execute(params![
        position.0,
        device,
        i64::try_from(line.id.n).unwrap_or(i64::MAX),
        line.at.instant(),
        line.at.offset_minutes(),
        line.kind.as_str(),
        line.body,
        late.then_some(line.id.device.as_str()),
        line.written.instant(),
        line.written.offset_minutes(),
        line.by.as_str(),
        line.version,
        line.job.as_ref().map(crate::cellar::core::label::Label::as_str),
        line.note.as_ref().map(crate::cellar::core::label::Text::as_str),
        seal.as_bytes(),
    ])?;
    if stored == 1 {
        Ok(())
    } else {
        // Something in the file that this program did not make keeps it from being stored, and says nothing.
        Err(Failure::Refused(LogError::NotStored { problem: Trouble::KeptNothing }))
    }
}
