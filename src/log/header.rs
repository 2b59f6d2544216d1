//! The first bytes of a file, read before SQLite touches it: what is not a cellar stays as it is, byte for byte.

use std::fs;
use std::path::Path;

use super::error::{LogError, show};
use super::place::{hold, read_at};
use super::schema::{APPLICATION_ID, SCHEMA_VERSION};
use super::trouble::Trouble;

/// The bytes that every SQLite file begins with.
const MAGIC: &[u8; 16] = b"SQLite format 3\0";
/// Where the version of the tables stands (see the published file format, section 1.3).
const VERSION_AT: usize = 60;
/// Where the application's mark stands.
const APPLICATION_AT: usize = 68;
/// Where it stands whether the file keeps a write-ahead log (2) or not (1).
const JOURNAL_AT: usize = 18;
/// The length of the header.
pub const HEADER_BYTES: usize = 100;

/// Refuses everything that is not a cellar this program can read.
pub fn check(path: &Path) -> Result<(), LogError> {
    let unreadable = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => LogError::NotFound(show(path)),
        _ => LogError::CannotRead { path: show(path), problem: Trouble::of(&error) },
    };
    let metadata = fs::metadata(path).map_err(unreadable)?;
    if metadata.is_dir() {
        return Err(LogError::Folder(show(path)));
    }
    if !metadata.is_file() {
        return Err(LogError::NotACellar(show(path)));
    }
    if metadata.len() == 0 {
        return Err(LogError::Empty(show(path)));
    }
    let mut header = [0; HEADER_BYTES];
    let file = hold(path).map_err(unreadable)?;
    match read_at(&file, &mut header, 0) {
        Ok(()) => {}
        Err(error) if error.kind() == std::io::ErrorKind::UnexpectedEof => {
            return Err(LogError::NotACellar(show(path)));
        }
        Err(error) => return Err(unreadable(error)),
    }
    if !header.starts_with(MAGIC) {
        return Err(LogError::NotACellar(show(path)));
    }
    check_marks(path, number_at(&header, APPLICATION_AT), number_at(&header, VERSION_AT))
}

/// Whether the first bytes of a file are those of a cellar, of whatever version.
pub fn is_ours(head: &[u8]) -> bool {
    let head = head.first_chunk::<HEADER_BYTES>();
    head.is_some_and(|head| head.starts_with(MAGIC) && number_at(head, APPLICATION_AT) == APPLICATION_ID)
}

/// Whether a file that is a cellar keeps no write-ahead log, as a backup does: one beside it is not of it.
pub fn keeps_no_write_ahead_log(path: &Path) -> Result<bool, LogError> {
    let mut header = [0; HEADER_BYTES];
    hold(path)
        .and_then(|file| read_at(&file, &mut header, 0))
        .map_err(|error| LogError::CannotRead { path: show(path), problem: Trouble::of(&error) })?;
    Ok(header[JOURNAL_AT] == 1)
}

/// Refuses another program's file and a newer program's.
pub fn check_marks(path: &Path, application: i32, version: i32) -> Result<(), LogError> {
    if application != APPLICATION_ID {
        return Err(LogError::Foreign(show(path)));
    }
    if version > SCHEMA_VERSION {
        return Err(LogError::Newer { path: show(path), found: version, known: SCHEMA_VERSION });
    }
    if version < 1 {
        return Err(LogError::Damaged { path: show(path), problem: format!("its version is given as {version}") });
    }
    Ok(())
}

fn number_at(header: &[u8; HEADER_BYTES], at: usize) -> i32 {
    i32::from_be_bytes([header[at], header[at + 1], header[at + 2], header[at + 3]])
}
