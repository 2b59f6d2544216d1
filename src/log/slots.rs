//! The file of a mark: two places for one text, so that a power cut never leaves neither.
//!
//! ```text
//!  0                         half                        whole
//!  │ the base: on the disk   │ the running text          │      the one of the higher turn that is whole counts
//! ```
//!
//! The running text is written in place and without waiting for the disk. The base is waited for: it is written when the
//! file is made or grows, so a running text that a power cut tore leaves the base, which lags behind and is true.

use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;
use std::time::Duration;

use super::files;

/// A place is a multiple of this, so that writing it again changes the file in place.
const BLOCK_BYTES: usize = 4096;
/// A file longer than this is not read: ten thousand devices take a tenth of it.
const LONGEST_BYTES: u64 = 1 << 24;
/// How often another program that writes just now is waited for, and how long each time.
const TRIES: u32 = 50;
const WAIT: Duration = Duration::from_millis(2);

/// Why a file is no use.
#[derive(Debug)]
pub enum Useless {
    /// Its place is taken by what is no plain file: in words.
    InTheWay(&'static str),
    /// The system does not give it.
    Failed(io::Error),
}

impl From<io::Error> for Useless {
    fn from(error: io::Error) -> Useless {
        Useless::Failed(error)
    }
}

/// Opens a plain file without following a link, or making one wait where something else has its name.
fn open(path: &Path, options: &mut OpenOptions) -> Result<File, Useless> {
    match std::fs::symlink_metadata(path) {
        Ok(metadata) if metadata.is_symlink() => return Err(Useless::InTheWay("it is a link to another file")),
        Ok(metadata) if metadata.is_dir() => return Err(Useless::InTheWay("it is a folder")),
        Ok(metadata) if !metadata.is_file() => return Err(Useless::InTheWay("it is no plain file")),
        _ => {}
    }
    // It may have been put there just now.
    files::without_following(options);
    let file = options.open(path)?;
    if file.metadata()?.is_file() { Ok(file) } else { Err(Useless::InTheWay("it is no plain file")) }
}

/// The texts in a file, the running one first; none where there is no file.
pub fn read(path: &Path) -> Result<Option<Vec<Vec<u8>>>, Useless> {
    match open(path, OpenOptions::new().read(true)) {
        Ok(mut file) => Ok(Some(texts(&mut file)?)),
        Err(Useless::Failed(error)) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(useless) => Err(useless),
    }
}

fn texts(file: &mut File) -> Result<Vec<Vec<u8>>, Useless> {
    if file.metadata()?.len() > LONGEST_BYTES {
        return Err(Useless::InTheWay("it is far too long"));
    }
    let mut whole = Vec::new();
    file.seek(SeekFrom::Start(0))?;
    file.read_to_end(&mut whole)?;
    let (base, running) = whole.split_at(whole.len() / 2);
    // A file of one place only is an earlier program's.
    Ok(vec![running.to_vec(), base.to_vec(), whole.clone()])
}

/// Writes a text that is made of those that are there, while no other program does; `make` gives it. A file that is new
/// or too small is on the disk with it when this returns.
pub fn write(path: &Path, make: impl FnOnce(&[Vec<u8>]) -> io::Result<String>) -> Result<(), Useless> {
    let is_new = std::fs::symlink_metadata(path).is_err();
    let mut file = open(path, files::private(OpenOptions::new().read(true).write(true).create(true).truncate(false)))?;
    lock(&file)?;
    let length = usize::try_from(file.metadata()?.len()).unwrap_or(usize::MAX);
    let found = texts(&mut file).unwrap_or_default();
    let text = make(&found)?.into_bytes();
    let half = length / 2;
    let fits = half > text.len() && half.is_multiple_of(BLOCK_BYTES) && is_whole(&found, half);
    if fits {
        return Ok(put(&mut file, half, text, half)?);
    }
    // With room to grow, so that a new device seldom costs this.
    let half = (text.len() + text.len() / 4 + 1).next_multiple_of(BLOCK_BYTES);
    if let Err(error) = reserve(&file, half * 2).and_then(|()| grow(&mut file, text, half)) {
        // Half a mark would be taken for one that somebody changed.
        if is_new {
            let _ = std::fs::remove_file(path);
        }
        return Err(error.into());
    }
    if is_new {
        files::sync_folder(path)?;
    }
    Ok(())
}

/// Writes both places anew.
fn grow(file: &mut File, text: Vec<u8>, half: usize) -> io::Result<()> {
    put(file, 0, text.clone(), half)?;
    put(file, half, text, half)?;
    file.set_len((half * 2) as u64)?;
    file.sync_all()
}

/// Has the disk keep room for so many bytes before anything is written over: a full disk then leaves what stands there. A file
/// system that keeps none goes without.
#[cfg(target_os = "linux")]
fn reserve(file: &File, bytes: usize) -> io::Result<()> {
    use rustix::fs::{FallocateFlags, fallocate};
    use rustix::io::Errno;
    match fallocate(file, FallocateFlags::KEEP_SIZE, 0, bytes as u64) {
        Err(full @ (Errno::NOSPC | Errno::DQUOT)) => Err(full.into()),
        _ => Ok(()),
    }
}

#[cfg(not(target_os = "linux"))]
fn reserve(_file: &File, _bytes: usize) -> io::Result<()> {
    Ok(())
}

/// Whether the base is a text that fills its place: a file of one place has none.
fn is_whole(found: &[Vec<u8>], half: usize) -> bool {
    found.get(1).is_some_and(|base| base.len() == half && base.starts_with(b"{") && base.ends_with(b"\n"))
}

fn put(file: &mut File, at: usize, mut text: Vec<u8>, place: usize) -> io::Result<()> {
    text.resize(place - 1, b' ');
    text.push(b'\n');
    file.seek(SeekFrom::Start(at as u64))?;
    file.write_all(&text)
}

/// Waits a moment for another program that writes. Given up when the file is closed.
#[cfg(unix)]
fn lock(file: &File) -> io::Result<()> {
    use rustix::fs::{FlockOperation, flock};
    for _ in 0..TRIES {
        match flock(file, FlockOperation::NonBlockingLockExclusive) {
            Err(rustix::io::Errno::AGAIN) => std::thread::sleep(WAIT),
            // Some file systems know no locks: there a torn text is told by its check.
            _ => return Ok(()),
        }
    }
    Err(io::Error::new(io::ErrorKind::WouldBlock, "another program holds it"))
}

#[cfg(not(unix))]
fn lock(_file: &File) -> io::Result<()> {
    Ok(())
}
