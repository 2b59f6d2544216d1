//! What stands in the way where the system or the database refuses: one table of the house's own words, since what those say themselves
//! tells a person nothing and is another text on every machine.
//!
//! What stands in the way is one table, `log/trouble.rs`: every number of the system and every code of SQLite becomes a cause with its
//! words and the next step; where SQLite is vague the files are looked at. No `io::Error` or `rusqlite::Error` is shown anywhere else. An
//! append that failed is found out by `log/doubt.rs`: close, reopen, read the tail; what stays unknown or unconfirmed is an `Astray` and
//! settled by the looks that follow.

use std::fmt;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;
use rusqlite::ffi;

use super::{files, half_made};

/// What stands in the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Trouble {
    /// No room is left.
    DiskFull,
    /// No room is left for this person.
    ShareUsedUp,
    /// The file may grow no more.
    TooLarge,
    /// The disk failed.
    DiskFails,
    /// The file system is damaged.
    DiskDamaged,
    /// The disk, or the network to it, is not there.
    NoAnswer,
    /// Another program has it.
    Held,
    /// Files cannot be held for oneself there.
    NoLocks,
    /// Not allowed.
    NoRights,
    /// Write-protected as a whole.
    DiskProtected,
    /// The machine has no more openings.
    TooManyOpen,
    /// The machine has no more memory.
    NoMemory,
    /// The name is too long.
    NameTooLong,
    /// The name is none.
    BadName,
    /// Nothing of that name.
    Missing,
    /// Something of that name.
    There,
    /// A folder, where a file should be.
    IsFolder,
    /// A file, where a folder should be.
    NoFolder,
    /// Links that lead nowhere.
    Circle,
    /// Not to be had from this disk.
    NotThere,
    /// Whoever was to take it has gone.
    Closed,
    /// Broken off.
    Interrupted,
    /// It ends too early.
    CutShort,
    /// No text.
    NoText,
    /// It, or what stands beside it, does not open.
    NotOpened,
    /// Pages of the file contradict each other.
    PagesDoNotFit,
    /// No database.
    NoCellar,
    /// Tables or values that this program did not put there.
    NotAsLaidOut,
    /// More than is ever kept.
    TooLong,
    /// A copy that lacks something.
    NotWhole,
    /// The file took it and kept nothing.
    KeptNothing,
    /// Anything else.
    Unnamed,
}

impl Trouble {
    /// What is wrong, to stand behind a colon; and what to do next, a sentence.
    const fn told(self) -> (&'static str, &'static str) {
        match self {
            Trouble::DiskFull => ("the disk is full", "Make room on it, or go to another disk."),
            Trouble::ShareUsedUp => {
                ("your share of the disk is used up", "Make room on it, or have your share made larger.")
            }
            Trouble::TooLarge => ("no file may grow as large there", "Go to a disk that takes larger files."),
            Trouble::DiskFails => (
                "the disk failed to read or to write",
                "Try again. If it fails again, copy everything to another disk.",
            ),
            Trouble::DiskDamaged => {
                ("the disk's own order is damaged", "Copy everything off it and have the disk checked.")
            }
            Trouble::NoAnswer => {
                ("its disk or network drive does not answer", "Plug it in or connect it again, then try again.")
            }
            Trouble::Held => ("another program holds it", "Close the other program, or try again in a moment."),
            Trouble::NoLocks => {
                ("its disk does not let a program hold a file for itself", "Move the cellar to a disk of this machine.")
            }
            Trouble::NoRights => {
                ("you are not allowed to do that there", "Have its owner allow it, or choose a place of your own.")
            }
            Trouble::DiskProtected => {
                ("its disk is write-protected", "Unlock the disk, or choose a place on another one.")
            }
            Trouble::TooManyOpen => ("too many files are open on this machine", "Close other programs and try again."),
            Trouble::NoMemory => ("this machine is out of memory", "Close other programs and try again."),
            Trouble::NameTooLong => ("its name is too long", "Choose a shorter name."),
            Trouble::BadName => ("that cannot be a name there", "Choose another name."),
            Trouble::Missing => ("there is no such file or folder", "Check the name."),
            Trouble::There => ("something of that name is there already", "Choose another name."),
            Trouble::IsFolder => ("it is a folder", "Name the file in it."),
            Trouble::NoFolder => ("a part of its path is a file, not a folder", "Check the path."),
            Trouble::Circle => ("its links lead in a circle", "Name the file itself."),
            Trouble::NotThere => ("that cannot be done on its disk", "Choose a place on a disk of this machine."),
            Trouble::Closed => ("what was to take it was closed", "Open that again and try again."),
            Trouble::Interrupted => ("it was broken off", "Try again."),
            Trouble::CutShort => ("it ends too early", "Get it anew from where it came from."),
            Trouble::NoText => ("it is no text in UTF-8", "Save it as text in UTF-8."),
            Trouble::NotOpened => ("it, or what stands beside it, could not be opened", "Try again."),
            Trouble::PagesDoNotFit => (
                "the pages of the file do not fit together",
                "Run verify, and restore the facts from a backup or another laptop.",
            ),
            Trouble::NoCellar => ("it is not a cellar", "Check the name."),
            Trouble::NotAsLaidOut => (
                "something in the file is not as this program laid it out",
                "Run verify, and restore the facts from a backup or another laptop.",
            ),
            Trouble::TooLong => ("it is too long", "Break it up."),
            Trouble::NotWhole => ("the copy does not hold the newest facts", "Try again."),
            Trouble::KeptNothing => {
                ("the file took it and stored nothing", "Run verify: something in the file keeps facts out.")
            }
            Trouble::Unnamed => ("the machine refused it without a reason", "Try again, or go to another disk."),
        }
    }

    /// What to do next, a sentence.
    #[must_use]
    pub const fn next(self) -> &'static str {
        self.told().1
    }

    /// What an error of the system means.
    #[must_use]
    pub fn of(error: &io::Error) -> Trouble {
        if let Some(known) = of_number(error) {
            return known;
        }
        match error.kind() {
            ErrorKind::NotFound => Trouble::Missing,
            ErrorKind::PermissionDenied => Trouble::NoRights,
            ErrorKind::AlreadyExists | ErrorKind::DirectoryNotEmpty => Trouble::There,
            ErrorKind::WouldBlock | ErrorKind::ResourceBusy | ErrorKind::ExecutableFileBusy | ErrorKind::Deadlock => {
                Trouble::Held
            }
            ErrorKind::NotADirectory => Trouble::NoFolder,
            ErrorKind::IsADirectory => Trouble::IsFolder,
            ErrorKind::ReadOnlyFilesystem => Trouble::DiskProtected,
            ErrorKind::StorageFull => Trouble::DiskFull,
            ErrorKind::QuotaExceeded => Trouble::ShareUsedUp,
            ErrorKind::FileTooLarge => Trouble::TooLarge,
            ErrorKind::InvalidFilename => Trouble::NameTooLong,
            ErrorKind::InvalidInput => Trouble::BadName,
            ErrorKind::InvalidData => Trouble::NoText,
            ErrorKind::UnexpectedEof => Trouble::CutShort,
            ErrorKind::TimedOut
            | ErrorKind::StaleNetworkFileHandle
            | ErrorKind::NotConnected
            | ErrorKind::HostUnreachable
            | ErrorKind::NetworkUnreachable
            | ErrorKind::NetworkDown => Trouble::NoAnswer,
            ErrorKind::BrokenPipe | ErrorKind::ConnectionReset | ErrorKind::ConnectionAborted => Trouble::Closed,
            ErrorKind::Interrupted => Trouble::Interrupted,
            ErrorKind::OutOfMemory => Trouble::NoMemory,
            ErrorKind::Unsupported | ErrorKind::CrossesDevices | ErrorKind::NotSeekable => Trouble::NotThere,
            _ => Trouble::Unnamed,
        }
    }

    /// What a refusal of the database means; none where it is not the database's own, but of a value that was read.
    pub(super) fn of_database(error: &rusqlite::Error) -> Option<Trouble> {
        let extended = error.sqlite_error()?.extended_code;
        let known = match extended {
            ffi::SQLITE_IOERR_NOMEM => Some(Trouble::NoMemory),
            ffi::SQLITE_IOERR_LOCK
            | ffi::SQLITE_IOERR_RDLOCK
            | ffi::SQLITE_IOERR_UNLOCK
            | ffi::SQLITE_IOERR_SHMLOCK
            | ffi::SQLITE_IOERR_CHECKRESERVEDLOCK => Some(Trouble::NoLocks),
            ffi::SQLITE_IOERR_BLOCKED => Some(Trouble::Held),
            ffi::SQLITE_IOERR_AUTH => Some(Trouble::NoRights),
            ffi::SQLITE_CANTOPEN_ISDIR => Some(Trouble::IsFolder),
            _ => None,
        };
        Some(known.unwrap_or(match error.sqlite_error_code()? {
            ErrorCode::DiskFull => Trouble::DiskFull,
            ErrorCode::SystemIoFailure => Trouble::DiskFails,
            ErrorCode::CannotOpen => Trouble::NotOpened,
            ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked | ErrorCode::FileLockingProtocolFailed => Trouble::Held,
            ErrorCode::ReadOnly | ErrorCode::PermissionDenied | ErrorCode::AuthorizationForStatementDenied => {
                Trouble::NoRights
            }
            ErrorCode::OutOfMemory => Trouble::NoMemory,
            ErrorCode::OperationInterrupted | ErrorCode::OperationAborted => Trouble::Interrupted,
            ErrorCode::DatabaseCorrupt => Trouble::PagesDoNotFit,
            ErrorCode::NotADatabase => Trouble::NoCellar,
            ErrorCode::TooBig => Trouble::TooLong,
            ErrorCode::NoLargeFileSupport => Trouble::TooLarge,
            _ => Trouble::NotAsLaidOut,
        }))
    }

    /// The same, where the database only says that it did not get on with its files: those are looked at, so that the cause is named.
    pub(super) fn at(path: &Path, error: &rusqlite::Error) -> Option<Trouble> {
        let said = Trouble::of_database(error)?;
        let vague = matches!(said, Trouble::NotOpened | Trouble::DiskFails | Trouble::NoRights);
        match said {
            Trouble::PagesDoNotFit => Trouble::of_reading_beside(path).or(Some(said)),
            _ if vague => in_the_way(path).or(Some(said)),
            _ => Some(said),
        }
    }

    /// Why the write-ahead log beside a file cannot be read, if so. It is no file whose closing gives up what this program holds.
    pub(super) fn of_reading_beside(path: &Path) -> Option<Trouble> {
        let mut newest = std::fs::File::open(files::beside(path, "-wal")).ok()?;
        io::copy(&mut newest, &mut io::sink()).err().as_ref().map(Trouble::of)
    }
}

/// What stands in the way of a file and of those that the database lays beside it, as far as that still shows.
fn in_the_way(path: &Path) -> Option<Trouble> {
    let failed = |error: io::Error| Some(Trouble::of(&error));
    // Only looked at: to open and close the file would give up what this program holds of it.
    match std::fs::metadata(path) {
        Err(error) => return failed(error),
        Ok(metadata) if metadata.is_dir() => return Some(Trouble::IsFolder),
        Ok(_) => {}
    }
    if let Some(error) = not_allowed(path) {
        return failed(error);
    }
    half_made::try_to_write_beside(path).err().and_then(failed)
}

/// Why a file, or what is beside it, may not be read.
#[cfg(unix)]
fn not_allowed(path: &Path) -> Option<io::Error> {
    use rustix::fs::{Access, access};
    let all = [path.to_owned(), files::beside(path, "-wal"), files::beside(path, "-shm")];
    let may_be_read = |path: &PathBuf| access(path, Access::READ_OK).err().map(io::Error::from);
    all.iter().filter_map(may_be_read).find(|error| error.kind() != ErrorKind::NotFound)
}

#[cfg(not(unix))]
fn not_allowed(_path: &Path) -> Option<io::Error> {
    None
}

/// What the numbers of a system mean that the standard library gives no kind of its own.
#[cfg(unix)]
fn of_number(error: &io::Error) -> Option<Trouble> {
    use rustix::io::Errno;
    match Errno::from_io_error(error)? {
        Errno::IO => Some(Trouble::DiskFails),
        Errno::MFILE | Errno::NFILE => Some(Trouble::TooManyOpen),
        Errno::LOOP => Some(Trouble::Circle),
        Errno::NXIO | Errno::NODEV => Some(Trouble::NoAnswer),
        Errno::NOLCK => Some(Trouble::NoLocks),
        Errno::OVERFLOW => Some(Trouble::TooLarge),
        Errno::ILSEQ => Some(Trouble::BadName),
        Errno::NOTTY | Errno::MLINK => Some(Trouble::NotThere),
        #[cfg(target_os = "linux")]
        Errno::UCLEAN => Some(Trouble::DiskDamaged),
        #[cfg(target_os = "linux")]
        Errno::NOMEDIUM | Errno::REMOTEIO | Errno::HOSTDOWN => Some(Trouble::NoAnswer),
        _ => None,
    }
}

#[cfg(not(unix))]
fn of_number(_error: &io::Error) -> Option<Trouble> {
    None
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.told().0)
    }
}

/// That what was read is not what a log holds, in words.
#[derive(Debug)]
pub(super) struct Unlike(pub String);

impl fmt::Display for Unlike {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Unlike {}

#[cfg(test)]
mod tests {
    use super::*;

    /// Words of the system, of the database and of programs, in small letters.
    const FOREIGN: [&str; 26] = [
        "os error",
        "errno",
        "sqlite",
        "query",
        "locking protocol",
        "malformed",
        "disk i/o",
        "database",
        "schema",
        "constraint",
        "datatype",
        "directory",
        "descriptor",
        "inode",
        "denied",
        "operation",
        "invalid",
        "argument",
        "device",
        "symbolic",
        "resource",
        "stale",
        "quota",
        "input/output",
        "no such table",
        "error",
    ];

    fn assert_is_ours(trouble: Trouble, of: &str) {
        let (what, next) = trouble.told();
        let text = format!("{what} {next}").to_lowercase();
        for foreign in FOREIGN {
            assert!(!text.contains(foreign), "{of}: {text}");
        }
        assert!(what.starts_with(char::is_lowercase) && !what.ends_with('.'), "{of}: {what}");
        assert!(next.starts_with(char::is_uppercase) && next.ends_with('.'), "{of}: {next}");
    }

    #[test]
    fn no_number_of_the_system_comes_through() {
        for number in 0..200 {
            let error = io::Error::from_raw_os_error(number);
            assert_is_ours(Trouble::of(&error), &error.to_string());
        }
    }

    #[test]
    fn what_happens_on_a_disk_has_its_own_words() {
        use rustix::io::Errno;
        for (number, trouble) in [
            (Errno::IO, Trouble::DiskFails),
            (Errno::NOSPC, Trouble::DiskFull),
            (Errno::DQUOT, Trouble::ShareUsedUp),
            (Errno::FBIG, Trouble::TooLarge),
            (Errno::ROFS, Trouble::DiskProtected),
            (Errno::ACCESS, Trouble::NoRights),
            (Errno::PERM, Trouble::NoRights),
            (Errno::AGAIN, Trouble::Held),
            (Errno::BUSY, Trouble::Held),
            (Errno::MFILE, Trouble::TooManyOpen),
            (Errno::NFILE, Trouble::TooManyOpen),
            (Errno::NAMETOOLONG, Trouble::NameTooLong),
            (Errno::ISDIR, Trouble::IsFolder),
            (Errno::NOTDIR, Trouble::NoFolder),
            (Errno::NOENT, Trouble::Missing),
            (Errno::LOOP, Trouble::Circle),
            (Errno::NOMEM, Trouble::NoMemory),
            (Errno::STALE, Trouble::NoAnswer),
            (Errno::INTR, Trouble::Interrupted),
        ] {
            assert_eq!(Trouble::of(&number.into()), trouble, "{number:?}");
        }
    }

    #[test]
    fn no_code_of_the_database_comes_through() {
        for primary in 1..=101 {
            for extension in 0..48 {
                let code = primary | (extension << 8);
                let refusal =
                    rusqlite::Error::SqliteFailure(ffi::Error::new(code), Some("no query solution".to_owned()));
                let trouble = Trouble::of_database(&refusal).unwrap();
                assert_is_ours(trouble, &format!("{primary} {extension}"));
            }
        }
        let of = |code| Trouble::of_database(&rusqlite::Error::SqliteFailure(ffi::Error::new(code), None));
        assert_eq!(of(ffi::SQLITE_PROTOCOL), Some(Trouble::Held));
        assert_eq!(of(ffi::SQLITE_IOERR_FSTAT), Some(Trouble::DiskFails));
        assert_eq!(of(ffi::SQLITE_IOERR_READ), Some(Trouble::DiskFails));
        assert_eq!(of(ffi::SQLITE_FULL), Some(Trouble::DiskFull));
        assert_eq!(of(ffi::SQLITE_BUSY_SNAPSHOT), Some(Trouble::Held));
        assert_eq!(of(ffi::SQLITE_CORRUPT_INDEX), Some(Trouble::PagesDoNotFit));
    }

    #[test]
    fn where_the_database_is_vague_the_files_are_looked_at() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.cellar");
        let vague = rusqlite::Error::SqliteFailure(ffi::Error::new(ffi::SQLITE_CANTOPEN), None);
        assert_eq!(Trouble::at(&path, &vague), Some(Trouble::Missing));
        std::fs::write(&path, "x").unwrap();
        assert_eq!(Trouble::at(&path, &vague), Some(Trouble::NotOpened));
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
        assert_eq!(Trouble::at(&path.join("b"), &vague), Some(Trouble::NoFolder));
        assert_eq!(Trouble::at(folder.path(), &vague), Some(Trouble::IsFolder));
    }
}
