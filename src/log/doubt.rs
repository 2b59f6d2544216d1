//! What is true of facts whose storing answered with a failure: the file is closed, opened again and looked at, at once and then
//! again until it is known.
//!
//! ```text
//!  append fails ──► look ──► in the file, on the disk ───────────► stored
//!                        ├─► not in the file ────────────────────► not stored
//!                        ├─► in the file, the disk says nothing ─► counts; nothing more is appended   ┐ looked at
//!                        └─► the file cannot be looked at ───────► unknown; nothing more is appended  ┘ again
//! ```

use std::time::Duration;

use rusqlite::Connection;

use super::astray::Astray;
use super::error::{LogError, show};
use super::find::{heads, stored};
use super::trouble::Trouble;
use super::{Access, Head, Log, Position, open};
use crate::cellar::core::fact::Line;

/// How long another program that holds the file is waited for where it is looked at again by itself: nobody asked for that, and a key may
/// come.
const PATIENCE_OF_A_LOOK: Duration = Duration::from_millis(100);

/// Facts that were appended and are not known to be stored for good.
#[derive(Debug)]
pub struct Doubt {
    lines: Vec<Line>,
    /// What is said of it.
    pub astray: Astray,
    /// What stood in the way of knowing.
    pub problem: Trouble,
}

/// What became of facts.
enum Fate {
    Stored,
    NotStored,
    /// They are in the file, but the disk does not say that it has them.
    Unconfirmed(Trouble),
}

impl Log {
    /// A commit that answered with a failure may be on the disk all the same: says what is true.
    pub(super) fn find_out(&mut self, lines: &[Line], problem: Trouble) -> Result<Position, LogError> {
        match self.fate_of(lines, open::PATIENCE) {
            Ok(Fate::Stored) => Ok(self.top.head),
            Ok(Fate::NotStored) => Err(LogError::NotStored { problem }),
            Ok(Fate::Unconfirmed(problem)) => Err(LogError::EnteredAstray(self.doubt(lines.to_vec(), problem, true))),
            Err(problem) => Err(self.doubt(lines.to_vec(), problem, false).into()),
        }
    }

    /// Looks again at what is not known to be stored. Says whether it is, once that is known. It holds nobody up for long.
    pub fn settle_doubt(&mut self) -> Option<bool> {
        // What stands under the name now may be another file.
        if self.place.look(self.access).is_err() {
            return None;
        }
        let Doubt { lines, .. } = self.doubt.take()?;
        match self.fate_of(&lines, PATIENCE_OF_A_LOOK) {
            Ok(Fate::Stored) => return Some(true),
            Ok(Fate::NotStored) => return Some(false),
            Ok(Fate::Unconfirmed(problem)) => self.doubt(lines, problem, true),
            Err(problem) => self.doubt(lines, problem, false),
        };
        None
    }

    /// The facts of which it is not known whether they are stored; of a file that was written over, those that were entered last.
    #[must_use]
    pub fn doubtful(&self) -> &[Line] {
        self.doubt.as_ref().map_or(&self.newest, |doubt| &doubt.lines)
    }

    fn doubt(&mut self, lines: Vec<Line>, problem: Trouble, there: bool) -> Astray {
        let path = show(&self.path);
        let astray = if there { Astray::Unconfirmed { path, problem } } else { Astray::Unknown { path, problem } };
        self.doubt = Some(Doubt { lines, astray: astray.clone(), problem });
        astray
    }

    /// Closes the file, opens it again and looks for the facts in it.
    fn fate_of(&mut self, lines: &[Line], patience: Duration) -> Result<Fate, Trouble> {
        if let Some(broken) = self.connection.take() {
            // The file is closed in either case; a further failure of the same disk says nothing new.
            let _ = broken.close();
        }
        // Closing may take away what stood beside it.
        self.place.opened_again(Access::ReadOnly);
        let connection =
            open::connect_within(&self.path, Access::ReadWrite, patience).map_err(|error| error.trouble())?;
        let because = |error: &rusqlite::Error| Trouble::at(&self.path, error).unwrap_or(Trouble::NotAsLaidOut);
        let found = look_for(lines, &connection).map_err(|error| because(&error))?;
        // What was found may stand in the system's memory only, and what was not found may half stand in the write-ahead
        // log. Carrying the log over into the file and emptying it settles both.
        let settled = empty_write_ahead_log(&connection).map_err(|error| because(&error));
        self.place.opened_again(Access::ReadWrite);
        let refreshed = self.top.refresh(&connection).and_then(|()| connection.busy_timeout(open::PATIENCE));
        self.connection = Some(connection);
        refreshed.map_err(|error| Trouble::at(&self.path, &error).unwrap_or(Trouble::NotAsLaidOut))?;
        let Some(heads) = found else { return Ok(Fate::NotStored) };
        self.remember(heads);
        Ok(match settled {
            Ok(true) => Fate::Stored,
            Ok(false) => Fate::Unconfirmed(Trouble::Held),
            Err(problem) => Fate::Unconfirmed(problem),
        })
    }
}

/// The last facts of all devices, where the facts are in the file.
fn look_for(lines: &[Line], connection: &Connection) -> rusqlite::Result<Option<Vec<Head>>> {
    for line in lines {
        if stored(connection, &line.id)?.is_none_or(|stored| stored.line != *line) {
            return Ok(None);
        }
    }
    heads(connection).map(Some)
}

/// Carries the write-ahead log over into the file, waits for the disk and empties it; says whether all of it was carried
/// over.
fn empty_write_ahead_log(connection: &Connection) -> rusqlite::Result<bool> {
    connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| {
        let (frames, carried): (i64, i64) = (row.get(1)?, row.get(2)?);
        Ok(frames == carried)
    })
}
