//! Why the log could not do what was asked: each a sentence that says what is wrong, what was kept and what would do.

use std::path::Path;

use rusqlite::ErrorCode;
use thiserror::Error;

use super::Position;
use super::astray::Astray;
use super::trouble::{Trouble, Unlike};
use crate::cellar::core::fact::FactId;
use crate::cellar::core::label::harmless;

/// Why the log could not do what was asked.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LogError {
    /// No file of that name.
    #[error("There is no cellar at {0}. Check the name, or make a new cellar there.")]
    NotFound(String),
    /// A folder, not a file.
    #[error("{0} is a folder. Name the cellar's file in it.")]
    Folder(String),
    /// A file of no bytes.
    #[error(
        "{0} is an empty file, not a cellar. It was left as it is. Restore a backup, or make a new cellar under another name."
    )]
    Empty(String),
    /// Not a database at all.
    #[error("{0} is not a cellar. It was left as it is. Check the name.")]
    NotACellar(String),
    /// Another program's database.
    #[error("{0} belongs to another program. It was left as it is. Check the name.")]
    Foreign(String),
    /// A newer program's file.
    #[error(
        "{path} was made by a newer version of this program (its format is {found}, this one reads up to {known}). It was left as it is. Install the newer version."
    )]
    Newer {
        /// The file.
        path: String,
        /// The version of its tables.
        found: i32,
        /// The highest version known here.
        known: i32,
    },
    /// Something of that name is there already.
    #[error("{0} is there already. Nothing was changed. Choose another name.")]
    Exists(String),
    /// Something that is no plain file has that name.
    #[error("{0} is no plain file, so nothing is written over it. Choose another name.")]
    NoPlainFile(String),
    /// The open cellar itself has that name.
    #[error("{0} is the cellar itself. A copy needs a name of its own.")]
    Itself(String),
    /// A file could not be written.
    #[error("{path} cannot be written: {problem}. What was there is as it was. {}", .problem.next())]
    NotWritten {
        /// The file.
        path: String,
        /// Why.
        problem: Trouble,
    },
    /// The folder that should hold the file is not there.
    #[error("There is no folder {0}. Make it first, or choose another place.")]
    NoFolder(String),
    /// The file could not be made.
    #[error("{path} could not be made: {problem}. Nothing was left behind. {}", .problem.next())]
    CannotCreate {
        /// The file.
        path: String,
        /// What stood in the way.
        problem: Trouble,
    },
    /// The file could not be read.
    #[error("{path} could not be read: {problem}. It was left as it is. {}", .problem.next())]
    CannotRead {
        /// The file.
        path: String,
        /// What stood in the way.
        problem: Trouble,
    },
    /// Another program holds the file.
    #[error("{0} is held by another program. Nothing was written. Close the other program, or try again in a moment.")]
    Locked(String),
    /// The file is not what its name leads to.
    #[error(transparent)]
    Astray(#[from] Astray),
    /// It was stored, but the name did not lead to the file any more, or the disk does not confirm it.
    #[error("{}", .0.of_the_last())]
    EnteredAstray(Astray),
    /// What has the name of the mark is no mark.
    #[error(
        "{path} stands where this program keeps watch over the newest facts, but {what}. Nothing was written, and it was left as it is. Move it away and try again."
    )]
    InTheWay {
        /// What has the name of the mark.
        path: String,
        /// What it is instead.
        what: String,
    },
    /// Opened for reading only.
    #[error("{0} was opened for reading only. Nothing was written. Open it for writing to enter facts.")]
    ReadOnly(String),
    /// The file or its folder may not be written.
    #[error(
        "{0} cannot be written: the file or its folder is write-protected. Nothing was written. Open it for reading only, or copy it to a place where you may write."
    )]
    WriteProtected(String),
    /// Facts stand in the sidecar of a file whose folder cannot be written.
    #[error(
        "{0} cannot be opened here: its newest facts still stand in {0}-wal, and its folder is write-protected. Nothing was changed. Copy all files of its name together to a place where you may write, and open it there."
    )]
    NewestApart(String),
    /// The sidecar of a file stands beside a link that leads elsewhere.
    #[error(
        "{left} stands beside a link to {target}: it holds the newest facts of the file that stood here before. Nothing was changed. If that file is {target} now, move it there as {target}-wal; else move it to another folder, and try again."
    )]
    LeftBesideLink {
        /// The sidecar.
        left: String,
        /// Where the link leads.
        target: String,
    },
    /// A sidecar of an earlier file stands beside a copy that was put in its place.
    #[error(
        "{left} was left by an earlier file and does not belong to {path}. Nothing was changed. Move it to another folder and try again: it may hold facts that this file does not."
    )]
    LeftOver {
        /// The file.
        path: String,
        /// What was left.
        left: String,
    },
    /// The file is damaged.
    #[error(
        "{path} is damaged: {problem}. It was left as it is. Run verify, and restore the facts from a backup or another laptop."
    )]
    Damaged {
        /// The file.
        path: String,
        /// What was found.
        problem: String,
    },
    /// The SQLite that this program was built with is too old to be trusted.
    #[error(
        "This program was built with SQLite {0}, which can lose facts. It needs 3.51.3 or newer. Nothing was opened."
    )]
    OldSqlite(String),
    /// A setting that the safety of the facts hangs on could not be made.
    #[error(
        "{path} could not be opened safely: the setting {setting} is {found}. Nothing was written. A file on a local disk would do."
    )]
    Unsafe {
        /// The file.
        path: String,
        /// Which setting.
        setting: String,
        /// What it is instead.
        found: String,
    },
    /// Facts have arrived that the decision did not see.
    #[error("Other facts were entered meanwhile. Nothing was written. Look at them and decide again.")]
    Moved {
        /// The head that the decision saw.
        seen: Position,
        /// The head now.
        head: Position,
    },
    /// A fact that does not follow the last one of its device.
    #[error(
        "The fact {id} does not follow the last one of its device: number {expected} comes next. Nothing was written. Bring in the facts before it first."
    )]
    OutOfTurn {
        /// The fact.
        id: FactId,
        /// The number that would follow.
        expected: u64,
    },
    /// A fact that the log cannot keep as it is.
    #[error("The fact {id} cannot be kept: {problem}. Nothing was written.")]
    Unfit {
        /// The fact.
        id: FactId,
        /// What is wrong with it.
        problem: String,
    },
    /// The facts are not on disk, and this is known for certain.
    #[error(
        "This was not stored: {problem}. Everything entered before it was kept. {} Then enter it again.", .problem.next()
    )]
    NotStored {
        /// What stood in the way.
        problem: Trouble,
    },
    /// The safe copy could not be made.
    #[error(
        "The backup {path} was not made: {problem}. Nothing was left behind and the cellar is as it was. {}", .problem.next()
    )]
    NoBackup {
        /// The file that was to be made.
        path: String,
        /// What stood in the way.
        problem: Trouble,
    },
    /// Anything else that the database says.
    #[error("{path} could not be used: {problem}. Nothing was written. {}", .problem.next())]
    Database {
        /// The file.
        path: String,
        /// What it says.
        problem: Trouble,
    },
}

impl LogError {
    /// What a refusal of the database means for the person.
    pub(super) fn from_database(path: &Path, error: &rusqlite::Error) -> LogError {
        let shown = show(path);
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked | ErrorCode::FileLockingProtocolFailed) => {
                LogError::Locked(shown)
            }
            // Of what lies beside it, what cannot be read is passed over by the database; the rest then does not fit.
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::TypeMismatch) => match Trouble::of_reading_beside(path) {
                Some(problem) => LogError::Database { path: shown, problem },
                None => LogError::Damaged { path: shown, problem: "its pages do not fit together".to_owned() },
            },
            Some(ErrorCode::NotADatabase) => LogError::NotACellar(shown),
            // What is not the database's own is a value that could not be read: a text where a number belongs.
            _ => match Trouble::at(path, error) {
                Some(Trouble::NoRights | Trouble::DiskProtected) => LogError::WriteProtected(shown),
                Some(problem) => LogError::Database { path: shown, problem },
                None => LogError::Damaged { path: shown, problem: problem_of(error) },
            },
        }
    }

    /// What stood in the way, as far as that is no matter of the facts.
    pub(super) const fn trouble(&self) -> Trouble {
        match self {
            LogError::CannotRead { problem, .. }
            | LogError::CannotCreate { problem, .. }
            | LogError::Database { problem, .. } => *problem,
            LogError::NotFound(_) => Trouble::Missing,
            LogError::Folder(_) => Trouble::IsFolder,
            LogError::Locked(_) => Trouble::Held,
            LogError::WriteProtected(_) | LogError::NewestApart(_) => Trouble::NoRights,
            LogError::Damaged { .. } => Trouble::PagesDoNotFit,
            LogError::Empty(_) | LogError::NotACellar(_) | LogError::Foreign(_) => Trouble::NoCellar,
            _ => Trouble::NotOpened,
        }
    }
}

/// What a refusal of the database says, in words.
pub(super) fn problem_of(error: &rusqlite::Error) -> String {
    match (error, Trouble::of_database(error)) {
        (_, Some(trouble)) => trouble.to_string(),
        (rusqlite::Error::FromSqlConversionFailure(_, _, inner), None) if inner.is::<Unlike>() => {
            harmless(&inner.to_string())
        }
        (_, None) => Trouble::NotAsLaidOut.to_string(),
    }
}

/// A path as it may be shown.
pub(super) fn show(path: &Path) -> String {
    harmless(&path.display().to_string())
}

/// What a file system's error says.
pub(super) fn words(error: &std::io::Error) -> String {
    Trouble::of(error).to_string()
}
