//! Where an open file stands: what it is, by the file system's own number, and whether its name still leads to it.
//!
//! A database goes on writing to the file that it opened, whatever becomes of the name. So the name is looked at before
//! each append, after it, and whenever the screen looks: a look is three questions to the file system and a read of a few
//! bytes, some microseconds beside a wait for the disk.
//!
//! Before each append, after its commit and at each look `log/place.rs` compares the name with the file that was opened (device, number,
//! count of names, the cellar's own name where it stands in the file, the write-ahead log's number). Never open and close a cellar's file
//! beside SQLite: under POSIX that gives up its locks; `place::hold` gives the one opening there is.

use std::cell::Cell;
use std::fs::{self, File, Metadata};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError, Weak};
use std::time::SystemTime;

use rusqlite::Connection;

use super::astray::Astray;
use super::error::{LogError, show};
use super::trouble::Trouble;
use super::{Access, files, open};

/// What the file system knows a file by, whatever its name.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Identity {
    /// The device that it is on.
    pub device: u64,
    /// Its number there; where the system gives none, when it was made.
    pub number: u64,
}

impl Identity {
    /// Of what is known of a file.
    #[cfg(unix)]
    pub fn of(metadata: &Metadata) -> Identity {
        use std::os::unix::fs::MetadataExt;
        Identity { device: metadata.dev(), number: metadata.ino() }
    }

    /// Of what is known of a file.
    #[cfg(not(unix))]
    pub fn of(metadata: &Metadata) -> Identity {
        let made = metadata.created().ok().and_then(|made| made.duration_since(SystemTime::UNIX_EPOCH).ok());
        Identity { device: 0, number: made.map_or(0, |since| u64::try_from(since.as_nanos()).unwrap_or_default()) }
    }

    /// Of the file of a name, links followed; none where there is none.
    pub fn at(path: &Path) -> Option<Identity> {
        fs::metadata(path).ok().as_ref().map(Identity::of)
    }
}

#[cfg(unix)]
fn names_of(metadata: &Metadata) -> u64 {
    use std::os::unix::fs::MetadataExt;
    metadata.nlink()
}

#[cfg(not(unix))]
fn names_of(_metadata: &Metadata) -> u64 {
    1
}

/// The files that this program holds open. Under the locks of POSIX, to close any opening of a file gives up the locks of
/// all of them in the program: a second opening of the same file, closed, would let another program take its
/// write-ahead log away. So there is one opening a file, shared and closed last.
static HELD: Mutex<Vec<(Identity, Weak<File>)>> = Mutex::new(Vec::new());

/// Opens a file for looking at its bytes, or gives the opening that there is already.
pub fn hold(path: &Path) -> io::Result<Arc<File>> {
    let mut held = HELD.lock().unwrap_or_else(PoisonError::into_inner);
    held.retain(|(_, file)| file.strong_count() > 0);
    let is = Identity::of(&fs::metadata(path)?);
    if let Some(file) = held.iter().find(|(known, _)| *known == is).and_then(|(_, file)| file.upgrade()) {
        return Ok(file);
    }
    let file = Arc::new(File::open(path)?);
    held.push((Identity::of(&file.metadata()?), Arc::downgrade(&file)));
    Ok(file)
}

/// Reads bytes at a place of a held file, without going there.
#[cfg(unix)]
pub fn read_at(file: &File, bytes: &mut [u8], at: u64) -> io::Result<()> {
    std::os::unix::fs::FileExt::read_exact_at(file, bytes, at)
}

/// Reads bytes at a place of a held file.
#[cfg(not(unix))]
pub fn read_at(mut file: &File, bytes: &mut [u8], at: u64) -> io::Result<()> {
    use std::io::{Read, Seek, SeekFrom};
    file.seek(SeekFrom::Start(at))?;
    file.read_exact(bytes)
}

/// When a file was written last, and how long it was then.
type Written = (Option<SystemTime>, u64);

/// Where in the head of a file the number stands that counts the changes of how it is laid out (see the published file format, section 1.3).
/// Nothing changes that in a cellar that is open; a copy that was made anew has another one.
const LAYOUT_AT: u64 = 40;

/// An open file, its name, and what tells that they belong together.
#[derive(Clone, Debug)]
pub struct Place {
    path: PathBuf,
    held: Arc<File>,
    file: Identity,
    /// The write-ahead log, where this opening may write.
    newest: Option<Identity>,
    /// The cellar's own name, and where in the file it stands.
    cellar: (String, Option<u64>),
    written: Cell<Written>,
    /// The number of how the file is laid out, where it could be read.
    layout: Option<[u8; 4]>,
    /// How many facts the file held by itself, as of when it was written last.
    facts: Cell<u64>,
}

impl Place {
    /// Of a file that was just opened.
    pub fn of(
        path: &Path,
        held: Arc<File>,
        cellar: &str,
        access: Access,
        connection: &Connection,
    ) -> Result<Place, LogError> {
        let metadata =
            held.metadata().map_err(|error| LogError::CannotRead { path: show(path), problem: Trouble::of(&error) })?;
        let written = written(&metadata);
        let mut place = Place {
            path: path.to_owned(),
            file: Identity::of(&metadata),
            newest: None,
            cellar: (cellar.to_owned(), where_named(&held, cellar, connection)),
            layout: layout(&held),
            held,
            written: Cell::new(written),
            facts: Cell::new(0),
        };
        place.opened_again(access);
        Ok(place)
    }

    /// The same for a second opening that only reads.
    pub fn for_reading(&self) -> Place {
        Place { newest: None, ..self.clone() }
    }

    /// Notes what stands beside the file: after each opening it may be another one.
    pub fn opened_again(&mut self, access: Access) {
        self.newest = match access {
            Access::ReadWrite => Identity::at(&files::beside(&self.path, "-wal")),
            Access::ReadOnly => None,
        };
    }

    /// Whether the name leads to the file that was opened, to it alone, and what it was opened as is in it.
    pub fn look(&self, access: Access) -> Result<(), Astray> {
        let now = fs::metadata(&self.path).map_err(|error| self.not_there(&error))?;
        if Identity::of(&now) != self.file {
            return Err(self.what_is_there());
        }
        let path = || show(&self.path);
        if access == Access::ReadWrite && names_of(&now) > 1 {
            return Err(Astray::SecondName(path()));
        }
        if let (name, Some(at)) = &self.cellar {
            let mut found = vec![0; name.len()];
            match read_at(&self.held, &mut found, *at) {
                Ok(()) if found == name.as_bytes() => {}
                // A disk that fails to read says nothing of what is written there.
                Err(error) if error.kind() != io::ErrorKind::UnexpectedEof => {
                    return Err(Astray::OutOfSight { path: path(), problem: Trouble::of(&error) });
                }
                _ => return Err(Astray::WrittenOver(path())),
            }
        }
        if self.newest.is_some() && self.newest != Identity::at(&files::beside(&self.path, "-wal")) {
            return Err(Astray::NewestGone(path()));
        }
        Ok(())
    }

    /// Whether the file itself was written since it was last found to be sound: by a carrying over of its write-ahead log, as a rule.
    pub fn was_written(&self) -> bool {
        self.held.metadata().map_or(true, |metadata| written(&metadata) != self.written.get())
    }

    /// Whether a file that was written is what it was before, and more: laid out as it was, no shorter, and with no fewer facts by itself. A copy
    /// that is laid over it may look whole under its write-ahead log.
    pub fn only_grew(&self, facts: Option<u64>) -> bool {
        let (_, before) = self.written.get();
        let is_as_long = self.held.metadata().map_or(true, |metadata| metadata.len() >= before);
        let is_laid_out_so =
            self.layout.is_none() || layout(&self.held).is_none_or(|layout| Some(layout) == self.layout);
        is_as_long && is_laid_out_so && facts.is_none_or(|facts| facts >= self.facts.get())
    }

    /// Whether the file by itself was last seen to hold so many facts.
    pub fn holds(&self, facts: i64) -> bool {
        u64::try_from(facts).is_ok_and(|facts| self.facts.get() >= facts)
    }

    /// Notes that what was written is sound, and how many facts the file holds by itself.
    pub fn is_sound(&self, facts: Option<u64>) {
        if let Ok(metadata) = self.held.metadata() {
            self.written.set(written(&metadata));
        }
        self.facts.set(facts.unwrap_or_else(|| self.facts.get()));
    }

    fn not_there(&self, error: &io::Error) -> Astray {
        let path = show(&self.path);
        match error.kind() {
            io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => {
                if self.path.parent().is_some_and(Path::is_dir) {
                    Astray::Gone(path)
                } else {
                    Astray::FolderGone(path)
                }
            }
            _ => Astray::OutOfSight { path, problem: Trouble::of(error) },
        }
    }

    /// What stands under the name instead. It is only looked at.
    fn what_is_there(&self) -> Astray {
        let path = show(&self.path);
        match open::cellar_of(&self.path) {
            Ok(cellar) if cellar == self.cellar.0 => Astray::Copy(path),
            Ok(_) => Astray::OtherCellar(path),
            Err(_) => Astray::NoCellar(path),
        }
    }
}

fn layout(held: &File) -> Option<[u8; 4]> {
    let mut number = [0; 4];
    read_at(held, &mut number, LAYOUT_AT).ok().map(|()| number)
}

fn written(metadata: &Metadata) -> Written {
    (metadata.modified().ok(), metadata.len())
}

/// Where in the file the cellar's own name stands: it is written once and never changed.
fn where_named(held: &File, cellar: &str, connection: &Connection) -> Option<u64> {
    let number = |value: i64| u64::try_from(value).ok();
    let page = number(connection.pragma_query_value(None, "page_size", |row| row.get(0)).ok()?)?;
    let select = "SELECT rootpage FROM sqlite_schema WHERE type = 'table' AND name = 'cellar'";
    let root = number(connection.query_row(select, [], |row| row.get(0)).ok()?)?;
    let begins = root.checked_sub(1)?.checked_mul(page)?;
    let mut bytes = vec![0; usize::try_from(page).ok()?];
    read_at(held, &mut bytes, begins).ok()?;
    let at = bytes.windows(cellar.len().max(1)).position(|window| window == cellar.as_bytes())?;
    Some(begins + u64::try_from(at).ok()?)
}
