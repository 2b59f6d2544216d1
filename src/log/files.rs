//! Files that only their owner may read, put in their place whole or not at all.

use std::fs::{self, File, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use super::error::{LogError, show, words};

/// The file beside a cellar whose name ends in `ending`.
pub fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// When a cellar's file was last written, by the clock of whoever did: the mark beside it is written with every fact and by nothing
/// else; the file itself is a copy's only witness. To be asked before the file is opened. The times of other files say less: the
/// database makes and moves them as it goes.
#[must_use]
pub fn last_written(path: &Path) -> Option<SystemTime> {
    let path = fs::canonicalize(path).ok()?;
    let time = |file: &Path| fs::symlink_metadata(file).and_then(|metadata| metadata.modified()).ok();
    time(&beside(&path, super::mark::ENDING)).or_else(|| time(&path))
}

/// Makes a file that was not there, readable and writable by its owner only.
pub fn create_private(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.read(true).write(true).create_new(true);
    owner_only(&mut options);
    options.open(path)
}

/// Makes what is made by these options readable and writable by its owner only.
pub fn private(options: &mut OpenOptions) -> &mut OpenOptions {
    owner_only(options);
    options
}

/// Opens what has the name itself, not what a link leads to, and does not wait where it is a pipe.
#[cfg(unix)]
pub fn without_following(options: &mut OpenOptions) {
    use rustix::fs::OFlags;
    use std::os::unix::fs::OpenOptionsExt;
    options.custom_flags((OFlags::NOFOLLOW | OFlags::NONBLOCK).bits().cast_signed());
}

/// Opens what has the name.
#[cfg(not(unix))]
pub fn without_following(_options: &mut OpenOptions) {}

#[cfg(unix)]
fn owner_only(options: &mut OpenOptions) {
    use std::os::unix::fs::OpenOptionsExt;
    options.mode(0o600);
}

#[cfg(not(unix))]
fn owner_only(_options: &mut OpenOptions) {}

/// The folder that a new file will stand in. Refuses a missing folder, and a name that is taken.
pub fn folder_for_new(path: &Path) -> Result<PathBuf, LogError> {
    let folder = folder_of(path)?;
    // A broken symbolic link is taken as well: following it would make a file somewhere unseen.
    if fs::symlink_metadata(path).is_ok() {
        return Err(LogError::Exists(show(path)));
    }
    Ok(folder)
}

/// The folder that a file will stand in, over one that is there. Refuses a missing folder, and what is no plain file.
pub fn folder_for_any(path: &Path) -> Result<PathBuf, LogError> {
    let folder = folder_of(path)?;
    match fs::symlink_metadata(path) {
        Ok(there) if !there.is_file() => Err(LogError::NoPlainFile(show(path))),
        _ => Ok(folder),
    }
}

fn folder_of(path: &Path) -> Result<PathBuf, LogError> {
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    if !folder.is_dir() {
        return Err(LogError::NoFolder(show(folder)));
    }
    Ok(folder.to_owned())
}

/// Puts a finished file in its place, over one that is there, and waits until the disk has it. At every moment one of the two is whole.
pub fn place_over(temporary: &Path, target: &Path) -> io::Result<()> {
    OpenOptions::new().write(true).open(temporary)?.sync_all()?;
    fs::rename(temporary, target)?;
    sync_folder(target)
}

/// Writes a text into a file that only its owner may read, whole or not at all: over one that is there where that is said.
pub fn write_private(target: &Path, text: &[u8], over: bool) -> Result<(), LogError> {
    let folder = if over { folder_for_any(target) } else { folder_for_new(target) }?;
    let failed = |error: io::Error| match error.kind() {
        io::ErrorKind::AlreadyExists => LogError::Exists(show(target)),
        _ => LogError::NotWritten { path: show(target), problem: words(&error) },
    };
    let half_made = HalfMade::beside(&folder, target).map_err(failed)?;
    fs::write(&half_made.path, text).map_err(failed)?;
    let place = if over { place_over } else { place };
    place(&half_made.path, target).map_err(failed)
}

/// Puts a finished file in its place, never over another one, and waits until the disk has it.
pub fn place(temporary: &Path, target: &Path) -> io::Result<()> {
    OpenOptions::new().write(true).open(temporary)?.sync_all()?;
    match fs::hard_link(temporary, target) {
        Ok(()) => {
            let _ = fs::remove_file(temporary);
        }
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => return Err(error),
        // Some file systems of sticks know no links: there the name is taken first, so that nobody else's file is lost.
        Err(_) => {
            create_private(target)?;
            if let Err(error) = fs::rename(temporary, target) {
                let _ = fs::remove_file(target);
                return Err(error);
            }
        }
    }
    sync_folder(target).inspect_err(|_| {
        let _ = fs::remove_file(target);
    })
}

/// Waits until the disk knows the file by its name.
#[cfg(unix)]
pub fn sync_folder(file: &Path) -> io::Result<()> {
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => File::open(folder)?.sync_all(),
        _ => File::open(".")?.sync_all(),
    }
}

#[cfg(not(unix))]
pub fn sync_folder(_file: &Path) -> io::Result<()> {
    Ok(())
}

/// A half-made file: it and what SQLite keeps beside it are gone when this goes, whatever happened.
pub struct HalfMade {
    /// Where it stands.
    pub path: PathBuf,
}

impl HalfMade {
    /// A new empty file beside `target`, hidden and of a random name.
    pub fn beside(folder: &Path, target: &Path) -> io::Result<HalfMade> {
        let mut name = std::ffi::OsString::from(".");
        name.push(target.file_name().unwrap_or_default());
        name.push(format!("-{}", random_hex(8)?));
        let path = folder.join(name);
        create_private(&path)?;
        Ok(HalfMade { path })
    }
}

impl Drop for HalfMade {
    fn drop(&mut self) {
        for path in
            [self.path.clone(), beside(&self.path, "-wal"), beside(&self.path, "-shm"), beside(&self.path, "-journal")]
        {
            let _ = fs::remove_file(path);
        }
    }
}

/// That many random hexadecimal digits.
pub fn random_hex(digits: usize) -> io::Result<String> {
    let mut bytes = vec![0; digits];
    getrandom::fill(&mut bytes).map_err(|error| io::Error::other(error.to_string()))?;
    Ok((0..digits).map(|digit| char::from(b"0123456789abcdef"[usize::from(bytes[digit] & 15)])).collect())
}
