//! A write-ahead log that an earlier file left beside a file that was put in its place.
//!
//! The database would lay it over whatever file stands there: newer facts would be hidden, or the pages mixed. Neither
//! the file nor its log names the other, so what is in them decides, before anything may be written:
//!
//! ```text
//!  the mark knows both by number, and the file was not written since ──► it belongs there
//!  else: the facts of the file by itself, and of both together
//!        together sound, and nothing of the file missing ──► it belongs there (a crash, a copied folder)
//!        else, where the file by itself is sound         ──► it does not: it is set aside, its facts written out
//!        neither sound                                   ──► damage, which is said by whoever reads it
//! ```
//!
//! Before SQLite opens a file, `log/leftover.rs` judges the write-ahead log beside it: by the mark where that stood beside this very pair,
//! else by what is in the file alone and in both together. Which number a file has proves nothing alone: a restored folder has all of them
//! new.

use std::collections::HashMap;
use std::fs::{self, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use rusqlite::Connection;

use super::error::{LogError, show, words};
use super::find::{heads, link_of};
use super::mark::{self, Warning};
use super::row::{LINE_COLUMNS, LINE_TABLES, StoredLine};
use super::walk::{Stretch, walk};
use super::{Access, Head, Position, files, header, open};
use crate::cellar::core::fact::{Device, FactId};
use crate::cellar::core::moment::Moment;

/// The length of the head of a write-ahead log: one that has no more holds nothing.
const EMPTY_BYTES: u64 = 32;

/// What stands beside a file that is to be opened.
struct Beside<'a> {
    path: &'a Path,
    newest: PathBuf,
}

/// Sets aside a write-ahead log that is not of this file. Gives what is to be said of it.
pub fn settle(path: &Path) -> Result<Option<Warning>, LogError> {
    let beside = Beside { path, newest: files::beside(path, "-wal") };
    match fs::symlink_metadata(&beside.newest) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Ok(metadata) if metadata.is_file() && metadata.len() <= EMPTY_BYTES => return Ok(None),
        Ok(metadata) if metadata.is_file() => {}
        // What is no file, or a link to one elsewhere, was not left by the database.
        _ => return Err(beside.left_over()),
    }
    if header::keeps_no_write_ahead_log(path)? {
        return beside.set_aside(&[]).map(Some);
    }
    if mark::knows(path, &beside.newest) {
        return Ok(None);
    }
    let Some(facts) = beside.judge() else { return Ok(None) };
    beside.set_aside(&facts).map(Some)
}

/// Refuses a link beside whose own name the write-ahead log of a file was left: its facts would be missing from where the link leads.
pub fn refuse_left_beside_link(path: &Path, target: &Path) -> Result<(), LogError> {
    let left = files::beside(path, "-wal");
    let is_link = fs::symlink_metadata(path).is_ok_and(|metadata| metadata.is_symlink());
    if is_link && holds_something(&left) {
        return Err(LogError::LeftBesideLink { left: show(&left), target: show(target) });
    }
    Ok(())
}

/// Whether a write-ahead log stands there that is not empty.
pub fn holds_something(newest: &Path) -> bool {
    fs::symlink_metadata(newest).is_ok_and(|metadata| metadata.is_file() && metadata.len() > EMPTY_BYTES)
}

impl Beside<'_> {
    /// The lines that only the write-ahead log holds, as far as they can be read, where it is not of this file.
    fn judge(&self) -> Option<Vec<String>> {
        let alone = open::alone(self.path).ok()?;
        let held = heads(&alone);
        let together = open::connect(self.path, Access::ReadOnly);
        // Where nothing may be written nothing can be laid over the file either, and whoever opens it says what is to be done.
        if matches!(together, Err(LogError::NewestApart(_) | LogError::WriteProtected(_))) {
            return None;
        }
        let fits = |connection: &Connection| {
            held.as_ref().map_or(true, |held| holds_all(connection, held))
                && self.is_of_that_length(connection)
                && is_sound(connection)
        };
        if together.as_ref().is_ok_and(fits) {
            return None;
        }
        let held = held.ok().filter(|_| is_sound(&alone))?;
        let only_there = |connection: &Connection| lines_beyond(connection, &held).unwrap_or_default();
        Some(together.as_ref().map_or_else(|_| Vec::new(), only_there))
    }

    /// Whether the file with it is as long as the write-ahead log says that it is. Pages of a long file that are none of those that a short one
    /// is read from would fit it otherwise.
    fn is_of_that_length(&self, together: &Connection) -> bool {
        let pages: rusqlite::Result<u32> = together.pragma_query_value(None, "page_count", |row| row.get(0));
        let lengths = lengths_after_commits(&self.newest);
        pages.is_ok_and(|pages| lengths.is_ok_and(|lengths| lengths.is_empty() || lengths.contains(&pages)))
    }

    /// Gives it a name that says what it is, so that nothing takes it for a part of the file any more.
    fn set_aside(&self, facts: &[String]) -> Result<Warning, LogError> {
        self.refuse_where_held()?;
        let today = Moment::now().date();
        let aside = free(self.path, &format!("-wal-of-another-file-{today}")).ok_or_else(|| self.left_over())?;
        fs::rename(&self.newest, &aside).map_err(|_| self.left_over())?;
        // An index to it, which would be read for one of what comes to stand there next.
        let _ = fs::remove_file(files::beside(self.path, "-shm"));
        let written = free(self.path, &format!("-facts-of-another-file-{today}.jsonl")).filter(|_| !facts.is_empty());
        let written = written.filter(|file| write_lines(file, facts).is_ok());
        Ok(match written {
            Some(file) => {
                Warning::SetAside { path: show(self.path), aside: show(&aside), facts: facts.len(), file: show(&file) }
            }
            None => Warning::SetAsideUnread { path: show(self.path), aside: show(&aside) },
        })
    }

    /// Another program that has the file open is at work with what stands beside it.
    #[cfg(unix)]
    fn refuse_where_held(&self) -> Result<(), LogError> {
        use rustix::fs::{FlockOperation, fcntl_lock};
        let file = OpenOptions::new().read(true).write(true).open(self.path).map_err(|_| self.left_over())?;
        match fcntl_lock(&file, FlockOperation::NonBlockingLockExclusive) {
            Err(rustix::io::Errno::AGAIN | rustix::io::Errno::ACCESS) => Err(LogError::Locked(show(self.path))),
            _ => Ok(()),
        }
    }

    #[cfg(not(unix))]
    fn refuse_where_held(&self) -> Result<(), LogError> {
        Ok(())
    }

    fn left_over(&self) -> LogError {
        LogError::LeftOver { path: show(self.path), left: show(&self.newest) }
    }
}

/// Whether a log holds all facts up to these.
pub fn holds_all(connection: &Connection, heads: &[Head]) -> bool {
    heads.iter().all(|head| link_of(connection, &head.id).is_ok_and(|link| link == Some(head.link)))
}

/// Whether the pages of a file fit together, and its facts follow each other without a gap, each chained to the one before.
fn is_sound(connection: &Connection) -> bool {
    let pages: rusqlite::Result<String> = connection.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0));
    let mut expected = Position::START;
    let mut follow = true;
    let left = walk(connection, Stretch::ALL, &mut |passed| {
        expected = Position(expected.0 + 1);
        follow = passed.position == expected && passed.findings.is_empty();
        if follow { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
    });
    pages.is_ok_and(|said| said == "ok") && follow && left.is_ok_and(|left| left.is_empty())
}

/// The length of the file in pages after each transaction of a write-ahead log (see the published file format, section 4.1). The last ones may be
/// torn: so any of them may be the one that counts.
fn lengths_after_commits(newest: &Path) -> io::Result<Vec<u32>> {
    let mut file = fs::File::open(newest)?;
    let mut head = [0; 32];
    file.read_exact(&mut head)?;
    let number = |bytes: &[u8], at: usize| bytes[at..at + 4].iter().fold(0, |sum, byte| sum << 8 | u32::from(*byte));
    let page = i64::from(number(&head, 8));
    let mut lengths = Vec::new();
    let mut frame = [0; 24];
    while file.read_exact(&mut frame).is_ok() {
        let length = number(&frame, 4);
        // Behind the last transaction frames of earlier ones may follow, with other salts.
        if frame[8..16] != head[16..24] {
            break;
        }
        if length > 0 {
            lengths.push(length);
        }
        file.seek(SeekFrom::Current(page))?;
    }
    Ok(lengths)
}

/// The exported lines of a log beyond those of another, which this one does not all hold.
fn lines_beyond(connection: &Connection, held: &[Head]) -> rusqlite::Result<Vec<String>> {
    let last: HashMap<&Device, u64> = held.iter().map(|head| (&head.id.device, head.id.n)).collect();
    let mut lines = Vec::new();
    let mut statement = connection.prepare(&format!("SELECT {LINE_COLUMNS} FROM {LINE_TABLES} ORDER BY position"))?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let stored = StoredLine::read(row)?;
        let FactId { device, n } = &stored.line.id;
        if last.get(device).is_none_or(|last| n > last) {
            lines.push(stored.line.to_json());
        }
    }
    Ok(lines)
}

/// A name beside the file that nothing has.
fn free(path: &Path, ending: &str) -> Option<PathBuf> {
    let numbered = |number: u32| match (number, ending.strip_suffix(".jsonl")) {
        (1, _) => files::beside(path, ending),
        (_, Some(stem)) => files::beside(path, &format!("{stem}-{number}.jsonl")),
        (_, None) => files::beside(path, &format!("{ending}-{number}")),
    };
    (1..1_000).map(numbered).find(|name| fs::symlink_metadata(name).is_err())
}

fn write_lines(file: &Path, lines: &[String]) -> io::Result<()> {
    let mut out = io::BufWriter::new(files::create_private(file)?);
    for line in lines {
        writeln!(out, "{line}")?;
    }
    out.into_inner().map_err(|error| io::Error::other(words(error.error())))?.sync_all()
}
