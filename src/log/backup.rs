//! A safe copy of a log while it is open.

use std::path::Path;

use super::error::{LogError, show};
use super::find::heads;
use super::half_made::{HalfMade, Room};
use super::read::head;
use super::trouble::Trouble;
use super::verify::{self, Problem};
use super::{Access, Head, Log, Position, open};

/// What a safe copy holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Backup {
    /// How many facts.
    pub facts: u64,
    /// What is wrong with the copy, and so with the file that it was made of. None: it is whole.
    pub problems: Vec<Problem>,
    /// The last fact of each device: whoever keeps these can tell later whether the copy is whole.
    pub heads: Vec<Head>,
}

impl Log {
    /// Writes a safe copy to a file that was not there, while this log stays open. The copy is on the disk and was
    /// checked fact by fact when this returns; on any failure nothing is left behind. Of a damaged file the copy is made all the same, for there
    /// may be no other, and what is wrong is given.
    ///
    /// The copy is one plain file and opens from a write-protected stick. Opened for writing it enters facts under
    /// another device's name than this file, so that both can be merged.
    pub fn backup(&self, target: &Path) -> Result<Backup, LogError> {
        self.copy_to(target, Room::New)
    }

    /// The same, over a file that is there, which stays as it is until the copy was read and checked. Never over the cellar itself.
    pub fn backup_over(&self, target: &Path) -> Result<Backup, LogError> {
        if std::fs::canonicalize(target).is_ok_and(|target| target == self.path()) {
            return Err(LogError::Itself(show(target)));
        }
        self.copy_to(target, Room::Over)
    }

    fn copy_to(&self, target: &Path, room: Room) -> Result<Backup, LogError> {
        let failed = |problem: Trouble| LogError::NoBackup { path: show(target), problem };
        let half_made = HalfMade::cellar_beside(target, room, |error| failed(Trouble::of(&error)))?;
        let name = half_made.path().to_str().ok_or_else(|| failed(Trouble::BadName))?;
        let unread =
            |error: &rusqlite::Error| failed(Trouble::at(half_made.path(), error).unwrap_or(Trouble::NotAsLaidOut));
        let before = self.heads()?;
        self.connection()?.execute("VACUUM INTO ?1", [name]).map_err(|error| unread(&error))?;

        let copy = open::connect(half_made.path(), Access::ReadOnly).map_err(|error| failed(error.trouble()))?;
        let problems = verify::check(&copy, &mut |_, _| {}).problems;
        let read = || Ok((head(&copy)?, heads(&copy)?));
        let (Position(facts), copied) = read().map_err(|error: rusqlite::Error| unread(&error))?;
        copy.close().map_err(|(_, error)| unread(&error))?;
        // Another program may have appended between the two readings: nothing that was there may be missing.
        let whole = before.iter().all(|then| {
            copied.iter().any(|now| now.id.device == then.id.device && (now.id.n > then.id.n || now.link == then.link))
        });
        if !whole {
            return Err(failed(Trouble::NotWhole));
        }
        half_made.put_cellar_in_place(|error| failed(Trouble::of(&error)))?;
        Ok(Backup { facts: u64::try_from(facts).unwrap_or_default(), problems, heads: copied })
    }
}
