//! The event log: every fact of a cellar in one SQLite file, never changed, never deleted, and checked by a chain.
//!
//! ```text
//!  append ──► facts ──────────────────────────────────────────► scan, in the order in which things happened
//!             position  device  n  instant  kind  body … link
//!                1        1     1   08:00    …     …   a1f3   ┐ those in their place are in order by position
//!                2        1     2   08:05    …     …   77c0   │
//!                3        2     1   08:02    …     …   9e2b   ┘ late: kept in order by an index, merged in when read
//!
//!  link = SHA-256(link of the device's fact before, the fact's exported line)      devices: 1 d-4f…, 2 d-c0…
//!
//!  cellar-mark, beside the file: this laptop's device, and per device the last n and link that were ever stored here
//! ```
//!
//! What is appended is on the disk before [`Log::append`] returns. Facts that vanish from the end of the file leave a
//! valid shorter chain; the mark beside the file notices that. A copy of the file without its mark gets a new device,
//! so two copies never give the same name to two facts.
//!
//! [`Log::scan`] is the hot path: it hands out borrowed columns and costs little more than stepping through the rows.

mod append;
mod astray;
mod backup;
mod chain;
mod damage;
mod dated;
mod doubt;
mod error;
mod files;
mod find;
mod half_made;
mod header;
mod kept;
mod known;
mod leftover;
mod mark;
mod open;
mod place;
mod read;
mod row;
mod schema;
mod slots;
mod trouble;
mod verify;
mod walk;

use std::fmt;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::Connection;
use rusqlite::config::DbConfig;

pub use astray::Astray;
pub use backup::Backup;
pub use chain::Link;
pub use damage::DamageSearch;
pub use error::LogError;
pub use files::{create_private, last_written};
pub use half_made::{ThrowAway, write_private};
pub use kept::Kept;
pub use known::{Fork, Standing};
pub use mark::{Loss, Warning};
pub use open::NewCellar;
pub use read::{RawFact, RawLine, ScanStart};
pub use schema::{APPLICATION_ID, SCHEMA_VERSION};
pub use trouble::Trouble;
pub use verify::{Difference, Problem, Report};

use crate::cellar::core::fact::{Device, FactId, FactKey, Line};
use append::Top;
use doubt::Doubt;
use find::link_of;
use mark::MarkKeeper;
use place::Place;

/// How many facts a log held when it was looked at: the position of its last one. Positions count the facts in the order
/// in which they arrived in this file, from 1 without a gap, and mean nothing in another file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Position(i64);

impl Position {
    /// Before the first fact.
    pub const START: Position = Position(0);

    /// The position of that many facts.
    #[must_use]
    pub const fn new(facts: i64) -> Position {
        Position(facts)
    }

    /// The number.
    #[must_use]
    pub const fn get(self) -> i64 {
        self.0
    }
}

impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// So often a file is looked at that is not what it was …
const LOOKS: u32 = 3;
/// … and so long between two looks.
const BETWEEN_LOOKS: Duration = Duration::from_millis(40);

/// What a log is opened for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Access {
    /// To read and append.
    ReadWrite,
    /// To read only: works on a write-protected file or folder as well.
    ReadOnly,
}

/// The last fact of a device.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Head {
    /// Which fact it is.
    pub id: FactId,
    /// Its link, which seals all facts of the device.
    pub link: Link,
}

/// An open log.
#[derive(Debug)]
pub struct Log {
    path: PathBuf,
    cellar: String,
    access: Access,
    /// Absent only after a failure from which the file could not be opened again.
    connection: Option<Connection>,
    /// After the connection, so that it is given up after it.
    place: Place,
    top: Top,
    mark: MarkKeeper,
    warnings: Vec<Warning>,
    /// What was appended and is not known to be stored for good.
    doubt: Option<Doubt>,
    /// What was appended since the file itself was last seen to hold all: where that is written over, it stands here alone.
    newest: Vec<Line>,
}

impl Log {
    /// The file, with every symbolic link resolved.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The cellar's own random name, given when it was made.
    #[must_use]
    pub fn cellar(&self) -> &str {
        &self.cellar
    }

    /// What the log was opened for.
    #[must_use]
    pub const fn access(&self) -> Access {
        self.access
    }

    /// Lets nothing be appended any more: what is open for writing is from here on open for reading only.
    pub fn forbid_writing(&mut self) {
        self.access = Access::ReadOnly;
    }

    /// The device under whose name this laptop enters facts into this file.
    #[must_use]
    pub const fn device(&self) -> &Device {
        self.mark.device()
    }

    /// What the person should know about this file: facts that are missing from it, a damaged mark.
    #[must_use]
    pub fn warnings(&self) -> &[Warning] {
        &self.warnings
    }

    /// Whether the file is still what its name leads to, and holds what this laptop stored. Cheap enough to ask between two
    /// keystrokes.
    pub fn look(&self) -> Result<(), Astray> {
        self.place.look(self.access)?;
        if let Some(doubt) = &self.doubt {
            return Err(doubt.astray.clone());
        }
        // Most often its write-ahead log was carried over; a copy may have been laid over it as well.
        if self.place.was_written() && !self.is_what_it_was() {
            return Err(Astray::WrittenOver(error::show(&self.path)));
        }
        Ok(())
    }

    /// Whether a file that was written is what it was, and more. While another program carries its write-ahead log over, it may look
    /// otherwise for a moment.
    fn is_what_it_was(&self) -> bool {
        (0..LOOKS).any(|again| {
            if again > 0 {
                std::thread::sleep(BETWEEN_LOOKS);
            }
            let alone = open::alone(&self.path).and_then(|alone| find::heads(&alone)).ok();
            let facts = alone.as_ref().map(|heads| heads.iter().map(|head| head.id.n).sum());
            let is_sound = self.place.only_grew(facts) && self.holds_own_facts(alone.as_deref());
            if is_sound {
                self.place.is_sound(facts);
            }
            is_sound
        })
    }

    /// Whether the last facts that were stored here are in the file, and none of those that it holds by itself are hidden by its write-ahead
    /// log.
    fn holds_own_facts(&self, alone: Option<&[Head]>) -> bool {
        let Some(connection) = &self.connection else { return true };
        // Pages that are kept in memory would say what was there before.
        let forgotten = connection.execute_batch("PRAGMA shrink_memory");
        let is_there = |head: &Head| link_of(connection, &head.id).is_ok_and(|link| link == Some(head.link));
        let is_hidden = || alone.is_some_and(|alone| !leftover::holds_all(connection, alone));
        forgotten.is_ok() && self.mark.last_of_own().as_ref().is_none_or(is_there) && !is_hidden()
    }

    /// Gives this laptop another random device name, for use from the next fact on: needed where a fork shows that
    /// another laptop enters facts under the same name.
    pub fn renew_device(&mut self) -> Result<&Device, LogError> {
        self.mark.renew_device().map_err(|error| self.cannot_read(&error))?;
        Ok(self.mark.device())
    }

    /// Where the file was written over, the write-ahead log is not carried over into what is there now: it is left for the
    /// next opening, which sets it aside.
    fn leave_it_apart(&self) {
        if let (Some(connection), Err(Astray::WrittenOver(_))) = (&self.connection, self.look()) {
            let _ = connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true);
        }
    }

    fn connection(&self) -> Result<&Connection, LogError> {
        self.connection.as_ref().ok_or_else(|| {
            let problem = self.doubt.as_ref().map_or(Trouble::NotOpened, |doubt| doubt.problem);
            LogError::CannotRead { path: error::show(&self.path), problem }
        })
    }

    /// What a refusal of the database means for the person.
    fn explain(&self, error: &rusqlite::Error) -> LogError {
        LogError::from_database(&self.path, error)
    }

    fn cannot_read(&self, error: &std::io::Error) -> LogError {
        LogError::CannotRead { path: error::show(&self.path), problem: Trouble::of(error) }
    }
}

impl Drop for Log {
    fn drop(&mut self) {
        self.leave_it_apart();
    }
}

/// Where a fact of these columns stands in the order of facts.
fn key(instant: i64, device: &str, n: i64) -> Option<FactKey> {
    Some(FactKey { instant, id: FactId { device: Device::new(device).ok()?, n: u64::try_from(n).ok()? } })
}
