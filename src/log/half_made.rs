//! A file that is made under a hidden name and put in its place whole, or not at all; and a folder that is thrown away again.
//!
//! A program that is killed meanwhile leaves them behind. Whoever makes the next one at that place clears them away: they have a name that
//! only this program gives, and nobody holds the lock that their maker held. A file is, besides, empty, or has the head of a cellar, or is
//! its owner's alone.
//!
//! A new cellar, the demo and a backup are made under a hidden name (`log/half_made.rs`), locked as long as their maker lives, and put in
//! their place whole, the mark first. So are sheets; folders that are thrown away (`ThrowAway`) are cleared away by the same signs.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use super::error::{LogError, show};
use super::trouble::Trouble;
use super::{files, header, mark};

/// What stands between the name of a file and the random end of that under which it is made.
const BEING_MADE: &str = "-being-made-";
/// What stands between the name of a folder that is thrown away and its random end.
const FOR_NOW: &str = "-for-now-";
/// How long that end is.
const DIGITS: usize = 8;
/// So often another name is taken, where somebody who cleared away took the new file for one that was left.
const TRIES: usize = 5;
/// What may stand beside a file while it is made.
const BESIDE: [&str; 5] = ["-wal", "-shm", "-journal", mark::ENDING, mark::SNAPSHOT];

/// What may stand where a file is put in its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Room {
    /// Nothing.
    New,
    /// A plain file, which goes.
    Over,
}

/// A half-made file: it and what stands beside it are gone when this goes, whatever happened.
#[derive(Debug)]
pub struct HalfMade {
    path: PathBuf,
    target: PathBuf,
    room: Room,
    /// Held with a lock that says that its maker lives. After everything else: to close it gives up what SQLite holds.
    held: File,
}

impl HalfMade {
    /// A new empty file beside a target, hidden and of a random name. What killed programs left is cleared away.
    pub fn beside(target: &Path, room: Room, failed: impl FnOnce(io::Error) -> LogError) -> Result<HalfMade, LogError> {
        let folder = folder_for(target, room)?;
        clear(&folder);
        HalfMade::begin(&folder, target, room).map_err(failed)
    }

    fn begin(folder: &Path, target: &Path, room: Room) -> io::Result<HalfMade> {
        for _ in 0..TRIES {
            let mut name = std::ffi::OsString::from(".");
            name.push(target.file_name().unwrap_or_default());
            name.push(format!("{BEING_MADE}{}", files::random_hex(DIGITS)?));
            let path = folder.join(name);
            let held = files::create_private(&path)?;
            if is_still_ours(&held) {
                return Ok(HalfMade { path, target: target.to_owned(), room, held });
            }
        }
        Err(io::ErrorKind::ResourceBusy.into())
    }

    /// The same for a cellar. What SQLite kept beside an earlier file of the name would be taken for a part of the new one.
    pub fn cellar_beside(
        target: &Path,
        room: Room,
        failed: impl FnOnce(io::Error) -> LogError,
    ) -> Result<HalfMade, LogError> {
        folder_for(target, room)?;
        for ending in ["-wal", "-journal"] {
            let left = files::beside(target, ending);
            if left.exists() {
                return Err(LogError::Exists(show(&left)));
            }
        }
        HalfMade::beside(target, room, failed)
    }

    /// Where it is made.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Puts it in its place, finished and closed.
    fn put_in_place(&self, failed: impl FnOnce(io::Error) -> LogError) -> Result<(), LogError> {
        let place = match self.room {
            Room::New => place,
            Room::Over => place_over,
        };
        place(&self.path, &self.target).map_err(|error| match error.kind() {
            io::ErrorKind::AlreadyExists => LogError::Exists(show(&self.target)),
            _ => failed(error),
        })
    }

    /// The same of a cellar, with the mark that was made beside it. A mark of an earlier file of the name says nothing about this one.
    pub fn put_cellar_in_place(&self, failed: impl FnOnce(io::Error) -> LogError) -> Result<(), LogError> {
        let own = files::beside(&self.path, mark::ENDING);
        let beside = files::beside(&self.target, mark::ENDING);
        // Where no file stands yet its mark does no harm; the other way about the mark would be missed.
        let goes_first = self.room == Room::New && fs::hard_link(&own, &beside).is_ok();
        self.put_in_place(failed).inspect_err(|_| {
            if goes_first {
                let _ = fs::remove_file(&beside);
            }
        })?;
        if !goes_first {
            mark::forget(&self.target);
            // Where something of its name is no mark, that is said at the opening.
            if fs::symlink_metadata(&beside).is_err() {
                let _ = fs::rename(own, beside);
            }
        }
        Ok(())
    }
}

/// Writes a text into a file that only its owner may read, whole or not at all: over one that is there where that is said.
pub fn write_private(target: &Path, text: &[u8], over: bool) -> Result<(), LogError> {
    let failed = |error: io::Error| LogError::NotWritten { path: show(target), problem: Trouble::of(&error) };
    let half_made = HalfMade::beside(target, if over { Room::Over } else { Room::New }, failed)?;
    fs::write(&half_made.path, text).map_err(failed)?;
    half_made.put_in_place(failed)
}

/// Writes a page into a file of its own beside another one and waits for the disk, to learn whether that can be done; nothing is left of it.
pub fn try_to_write_beside(target: &Path) -> io::Result<()> {
    let tried = HalfMade::begin(&folder_of(target), target, Room::Over)?;
    (&tried.held).write_all(&[0; 4096])?;
    tried.held.sync_all()
}

/// A folder that is thrown away again: it and all that is in it are gone when this goes.
#[derive(Debug)]
pub struct ThrowAway {
    path: PathBuf,
    /// Held with a lock that says that its maker lives.
    held: Option<File>,
}

impl ThrowAway {
    /// A new folder in another one, its owner's alone, whose name begins with a word. What killed programs left of that word there is
    /// cleared away.
    pub fn within(above: &Path, word: &str) -> io::Result<ThrowAway> {
        clear_folders(above, word);
        for _ in 0..TRIES {
            let path = above.join(format!("{word}{FOR_NOW}{}", files::random_hex(DIGITS)?));
            files::create_private_folder(&path)?;
            // Where a folder cannot be opened as a file is, nobody clears away after a kill.
            let held = File::open(&path).ok();
            if held.as_ref().is_none_or(is_still_ours) && path.is_dir() {
                return Ok(ThrowAway { path, held });
            }
        }
        Err(io::ErrorKind::ResourceBusy.into())
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }
}

impl Drop for ThrowAway {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.path);
        self.held = None;
    }
}

/// Clears away the folders of a word that killed programs left.
fn clear_folders(above: &Path, word: &str) {
    let Ok(entries) = fs::read_dir(above) else { return };
    for path in entries.flatten().map(|entry| entry.path()) {
        let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
        let end = name.strip_prefix(word).and_then(|name| name.strip_prefix(FOR_NOW));
        let mut options = OpenOptions::new();
        files::without_following(options.read(true));
        if end.is_some_and(is_random_end)
            && let Ok(held) = options.open(&path)
            && held.metadata().is_ok_and(|metadata| metadata.is_dir() && files::is_private(&metadata))
            && lock(&held) == Lock::Taken
        {
            let _ = fs::remove_dir_all(&path);
        }
    }
}

impl Drop for HalfMade {
    fn drop(&mut self) {
        remove(&self.path);
    }
}

fn remove(path: &Path) {
    let _ = fs::remove_file(path);
    for ending in BESIDE {
        let _ = fs::remove_file(files::beside(path, ending));
    }
}

/// Clears away what killed programs left half-made in a folder. What cannot be told to be that is left as it is.
fn clear(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for path in entries.flatten().map(|entry| entry.path()) {
        let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
        let base = BESIDE.iter().find_map(|ending| name.strip_suffix(ending)).unwrap_or(name);
        if is_name_of_half_made(base) && is_left(&path.with_file_name(base)) {
            remove(&path.with_file_name(base));
        }
    }
}

fn is_name_of_half_made(name: &str) -> bool {
    let end = name.strip_prefix('.').and_then(|name| name.rsplit_once(BEING_MADE)).map(|(_, end)| end);
    end.is_some_and(is_random_end)
}

fn is_random_end(end: &str) -> bool {
    end.len() == DIGITS && end.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'))
}

/// Whether a file of such a name is one of ours that nobody makes any more: none, or not locked and empty, a cellar's, or its owner's alone.
fn is_left(path: &Path) -> bool {
    let mut options = OpenOptions::new();
    files::without_following(options.read(true));
    let mut file = match options.open(path) {
        Ok(file) => file,
        // What stood beside it stands there alone.
        Err(error) => return error.kind() == io::ErrorKind::NotFound,
    };
    let Ok(metadata) = file.metadata() else { return false };
    if !metadata.is_file() || lock(&file) != Lock::Taken {
        return false;
    }
    if files::is_private(&metadata) {
        return true;
    }
    let mut head = Vec::new();
    let read = Read::by_ref(&mut file).take(header::HEADER_BYTES as u64).read_to_end(&mut head);
    // The first page is written last.
    read.is_ok() && (head.iter().all(|byte| *byte == 0) || header::is_ours(&head))
}

/// Whose a lock is.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Lock {
    /// This program's.
    Taken,
    /// Another one's.
    Another,
    /// There is none on this disk: nothing tells that a maker is gone.
    None,
}

/// Locks a file for as long as it is held. The lock is none of those that SQLite takes.
#[cfg(unix)]
fn lock(file: &File) -> Lock {
    match rustix::fs::flock(file, rustix::fs::FlockOperation::NonBlockingLockExclusive) {
        Ok(()) => Lock::Taken,
        Err(rustix::io::Errno::WOULDBLOCK) => Lock::Another,
        Err(_) => Lock::None,
    }
}

/// Locks a file for as long as it is held.
#[cfg(not(unix))]
fn lock(_file: &File) -> Lock {
    Lock::None
}

/// Locks what was just made. Between the making and the lock another program may have taken it for what was left.
fn is_still_ours(held: &File) -> bool {
    match lock(held) {
        Lock::Another => false,
        Lock::Taken | Lock::None => held.metadata().is_ok_and(|metadata| files::has_a_name(&metadata)),
    }
}

fn folder_of(path: &Path) -> PathBuf {
    let parent = path.parent().filter(|parent| !parent.as_os_str().is_empty());
    parent.unwrap_or(Path::new(".")).to_owned()
}

/// The folder that a file will stand in. Refuses a missing folder, and a name that is taken by what is not to go.
fn folder_for(path: &Path, room: Room) -> Result<PathBuf, LogError> {
    let folder = folder_of(path);
    if !folder.is_dir() {
        return Err(LogError::NoFolder(show(&folder)));
    }
    match (fs::symlink_metadata(path), room) {
        // A broken symbolic link is taken as well: following it would make a file somewhere unseen.
        (Ok(_), Room::New) => Err(LogError::Exists(show(path))),
        (Ok(there), Room::Over) if !there.is_file() => Err(LogError::NoPlainFile(show(path))),
        _ => Ok(folder),
    }
}

/// Puts a finished file in its place, over one that is there, and waits until the disk has it. At every moment one of the two is whole.
fn place_over(temporary: &Path, target: &Path) -> io::Result<()> {
    OpenOptions::new().write(true).open(temporary)?.sync_all()?;
    fs::rename(temporary, target)?;
    files::sync_folder(target)
}

/// Puts a finished file in its place, never over another one, and waits until the disk has it.
fn place(temporary: &Path, target: &Path) -> io::Result<()> {
    OpenOptions::new().write(true).open(temporary)?.sync_all()?;
    match fs::hard_link(temporary, target) {
        Ok(()) => {
            let _ = fs::remove_file(temporary);
        }
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => return Err(error),
        // Some file systems of sticks know no links: there the name is taken first, so that nobody else's file is lost.
        Err(_) => {
            files::create_private(target)?;
            if let Err(error) = fs::rename(temporary, target) {
                let _ = fs::remove_file(target);
                return Err(error);
            }
        }
    }
    files::sync_folder(target).inspect_err(|_| {
        let _ = fs::remove_file(target);
    })
}
