//! The mark beside the file: what was ever stored here, so that facts which vanish from the file are missed.
//!
//! A chain that lost its end is still a valid chain. The mark holds, per device, the number and link of the last fact
//! that the file is known to have held. It is written after every commit, in place and without a sync: it may lag behind
//! the file by what a power cut takes from it, which costs nothing, but the file may never lag behind the mark. Before the
//! first fact is stored it is there, on the disk: a mark that is missing or torn was not made so by a power cut.

use std::collections::BTreeMap;
use std::fmt;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use rusqlite::Connection;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use thiserror::Error;

use super::chain::Link;
use super::error::{LogError, show, words};
use super::find::{heads, last_of_name, link_of};
use super::place::Identity;
use super::slots::{self, Useless};
use super::trouble::Trouble;
use super::{Access, Head, files, leftover};
use crate::cellar::core::fact::{Device, FactId};

/// How the name of a mark ends, after the name of the cellar's file.
pub const ENDING: &str = "-mark";
/// How the name of the snapshot ends, which is written where facts were entered.
pub const SNAPSHOT: &str = "-snapshot";

/// What is missing from a file against its mark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Loss {
    /// The last facts of a device are not there.
    Missing {
        /// Whose facts.
        device: Device,
        /// The number of the first one that is missing.
        from: u64,
        /// The number of the last one that was there.
        to: u64,
    },
    /// A fact is there, but it or one before it is not the one that was stored.
    Changed(FactId),
}

impl fmt::Display for Loss {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Loss::Missing { device, from, to } if from == to => write!(f, "fact {from} of device {device} is missing"),
            Loss::Missing { device, from, to } => write!(f, "facts {from} to {to} of device {device} are missing"),
            Loss::Changed(id) => {
                write!(f, "fact {} of device {} or one before it is not the one that was stored", id.n, id.device)
            }
        }
    }
}

/// What the person should know about an opened file.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Warning {
    /// Facts that were stored here are gone.
    #[error(
        "Facts that were stored in this cellar are gone from its file: {0}. All others are kept. Merge the latest backup or the other laptop's cellar to bring them back; verify will fail until then."
    )]
    Lost(Loss),
    /// The mark cannot be read.
    #[error(
        "{path}, which watches over the newest facts, cannot be read: {problem}. The facts in the file are kept, but whether the newest are all there cannot be told. Compare with the latest backup."
    )]
    MarkDamaged {
        /// The mark.
        path: String,
        /// What is wrong with it.
        problem: String,
    },
    /// The mark is gone.
    #[error(
        "{0}, which watches over the newest facts, is gone. The facts in the file are kept, but whether the newest are all there cannot be told. Compare with the latest backup or the other laptop."
    )]
    MarkGone(String),
    /// The mark is another cellar's.
    #[error(
        "{0} belongs to another cellar: the file beside it was replaced. The facts in the file are kept. If this is not the cellar you expected, close it and restore the right file."
    )]
    OtherCellar(String),
    /// What an earlier file left was set aside, and its facts were written out.
    #[error(
        "{path}-wal was left by an earlier file that stood here and did not belong to this one: it was set aside as {aside}, and nothing was laid over this file. It holds {facts} facts that this file does not; they are in {file}. Look at them, and take them in with: barrelwalk record --cellar {path} {file}"
    )]
    SetAside {
        /// The cellar's file.
        path: String,
        /// What the write-ahead log is called now.
        aside: String,
        /// How many facts only it holds.
        facts: usize,
        /// Where they are.
        file: String,
    },
    /// What an earlier file left was set aside, and could not be read by itself.
    #[error(
        "{path}-wal was left by an earlier file that stood here and did not belong to this one: it was set aside as {aside}, and nothing was laid over this file. It may hold facts that this file does not: keep it. Put beside the file that it came from, and called as that one with -wal behind, it is read again."
    )]
    SetAsideUnread {
        /// The cellar's file.
        path: String,
        /// What the write-ahead log is called now.
        aside: String,
    },
    /// The mark cannot be written.
    #[error(
        "{path}, which watches over the newest facts, cannot be written: {problem}. Every fact is stored all the same. Mend the cause soon."
    )]
    MarkNotWritten {
        /// The mark.
        path: String,
        /// What stood in the way.
        problem: String,
    },
}

/// The last fact that was stored of a device.
type Marks = BTreeMap<Device, (u64, Link)>;

/// What stands in the mark.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
struct Mark {
    /// The cellar's own name.
    cellar: String,
    /// The name under which this laptop enters facts into this file.
    device: Option<Device>,
    /// The file it was made for: a copy elsewhere is another one and needs another device.
    path: String,
    /// The number that the file system gave to the file, where it gives one: a copy put in its place has another.
    file: u64,
    /// What the file is known to hold.
    heads: Marks,
    /// What it is known to have held and does not.
    lost: Marks,
    /// What stood there when it was written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    stood: Option<Stood>,
    /// Of two texts in the file the one of the higher turn is the later one.
    #[serde(default, skip_serializing_if = "is_first")]
    turn: u64,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // as serde calls it
const fn is_first(turn: &u64) -> bool {
    *turn == 0
}

impl Mark {
    /// Takes in what another program wrote down meanwhile of the same file.
    fn merge(&mut self, other: Mark) {
        if (&other.cellar, &other.path, other.file) != (&self.cellar, &self.path, self.file) {
            return;
        }
        for (ours, theirs) in [(&mut self.heads, other.heads), (&mut self.lost, other.lost)] {
            for (device, (n, link)) in theirs {
                let highest = ours.entry(device).or_insert((n, link));
                if highest.0 < n {
                    *highest = (n, link);
                }
            }
        }
    }
}

/// The file and its write-ahead log as they stood: by their numbers, and when the file itself was written last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Stood {
    device: u64,
    file: u64,
    newest: u64,
    written: u64,
    bytes: u64,
}

impl Stood {
    fn now(path: &Path, newest: &Path) -> Option<Stood> {
        let metadata = fs::metadata(path).ok()?;
        let written = metadata.modified().ok()?.duration_since(SystemTime::UNIX_EPOCH).ok()?;
        let Identity { device, number } = Identity::of(&metadata);
        let newest = Identity::at(newest)?.number;
        Some(Stood {
            device,
            file: number,
            newest,
            written: u64::try_from(written.as_nanos()).ok()?,
            bytes: metadata.len(),
        })
    }
}

/// Takes away what an earlier file of this name left that tells of facts: it would be taken for a watch over the new one.
pub fn forget(path: &Path) {
    for ending in [ENDING, SNAPSHOT] {
        let _ = fs::remove_file(files::beside(path, ending));
    }
}

/// Whether the mark beside a file was written with this very file and write-ahead log there, and the file was not written
/// since.
pub fn knows(path: &Path, newest: &Path) -> bool {
    let mark = read(&files::beside(path, ENDING)).ok().flatten();
    mark.and_then(|mark| mark.stood).is_some_and(|stood| Stood::now(path, newest) == Some(stood))
}

/// The mark with its own check.
#[derive(Serialize, Deserialize)]
struct Sealed {
    mark: Mark,
    check: String,
}

/// Keeps the mark of an open log.
#[derive(Debug)]
pub struct MarkKeeper {
    device: Device,
    mark: Mark,
    file: PathBuf,
    access: Access,
    /// Why its place cannot be used, where that is so: then nothing is entered, since it would be under a new name each time.
    in_the_way: Option<&'static str>,
    /// Whether it is known to be on the disk.
    there: bool,
    /// What was written last: where it still stands there, nobody else wrote.
    written: String,
}

impl MarkKeeper {
    /// Reads the mark beside `path`, finds out what is missing from the file, and decides under which device's name this
    /// laptop goes on.
    pub fn open(
        path: &Path,
        cellar: &str,
        access: Access,
        connection: &Connection,
    ) -> Result<(MarkKeeper, Vec<Warning>), LogError> {
        let random = |error: io::Error| LogError::CannotRead { path: show(path), problem: Trouble::of(&error) };
        let explain = |error: rusqlite::Error| LogError::from_database(path, &error);
        let file = files::beside(path, ENDING);
        let mut warnings = Vec::new();
        let mut in_the_way = None;
        let found = match read(&file) {
            Ok(Some(mark)) if mark.cellar != cellar => {
                warnings.push(Warning::OtherCellar(show(&file)));
                None
            }
            Ok(found) => found,
            Err(unread) => {
                if let Unread::Useless(Useless::InTheWay(what)) = unread {
                    in_the_way = Some(what);
                }
                warnings.push(Warning::MarkDamaged { path: show(&file), problem: unread.words() });
                None
            }
        };
        if found.is_none() && warnings.is_empty() && was_marked(path, connection) {
            warnings.push(Warning::MarkGone(show(&file)));
        }
        let here = path.to_string_lossy().into_owned();
        let number = file_number(path);
        let found = found.unwrap_or_default();
        // What was lost before may have come back; what was there before may be lost.
        let mut lost = Marks::new();
        let mut newly_lost = false;
        for (marks, new) in [(&found.lost, false), (&found.heads, true)] {
            for (device, &(n, link)) in marks {
                if let Some(loss) = loss(connection, device, n, link).map_err(explain)? {
                    newly_lost |= new;
                    warnings.push(Warning::Lost(loss));
                    let highest = lost.entry(device.clone()).or_insert((n, link));
                    if highest.0 < n {
                        *highest = (n, link);
                    }
                }
            }
        }
        // A copy that went on under the same name, or a file that lost its end, would give one name to two facts.
        let device = match found.device {
            Some(device) if found.path == here && found.file == number && !newly_lost => device,
            _ => random_device().map_err(random)?,
        };
        let mark = Mark {
            cellar: cellar.to_owned(),
            device: Some(device.clone()),
            path: here,
            file: number,
            heads: marks_of(heads(connection).map_err(explain)?),
            lost,
            stood: None,
            turn: found.turn,
        };
        let mut keeper = MarkKeeper { device, mark, file, access, in_the_way, there: false, written: String::new() };
        // A loss is written down at once: on the next opening the file alone would not show it any more.
        if newly_lost {
            warnings.extend(keeper.write(Merged::No).err());
        }
        Ok((keeper, warnings))
    }

    /// The same mark for a second opening that only reads.
    pub fn for_reading(&self) -> MarkKeeper {
        MarkKeeper {
            device: self.device.clone(),
            mark: self.mark.clone(),
            file: self.file.clone(),
            access: Access::ReadOnly,
            in_the_way: self.in_the_way,
            there: self.there,
            written: String::new(),
        }
    }

    /// This laptop's name in this file.
    pub const fn device(&self) -> &Device {
        &self.device
    }

    /// The last fact that was stored under this laptop's name, as far as this program knows.
    pub fn last_of_own(&self) -> Option<Head> {
        let (n, link) = *self.mark.heads.get(&self.device)?;
        Some(Head { id: FactId { device: self.device.clone(), n }, link })
    }

    /// Takes another random name.
    pub fn renew_device(&mut self) -> io::Result<()> {
        self.device = random_device()?;
        self.mark.device = Some(self.device.clone());
        // If this fails the next opening finds the old name, and the next append writes the new one.
        let _ = self.write(Merged::Yes);
        Ok(())
    }

    /// Takes down the last facts of devices that were just stored.
    pub fn advance(&mut self, heads: Vec<Head>) -> Result<(), Warning> {
        self.mark.heads.extend(marks_of(heads));
        self.write(Merged::Yes)
    }

    /// Has the mark on the disk before anything is stored that it watches over. Refuses where what is no mark has its place.
    pub fn prepare(&mut self) -> Result<(), LogError> {
        if let Some(what) = self.in_the_way {
            return Err(LogError::InTheWay { path: show(&self.file), what: what.to_owned() });
        }
        if !self.there {
            // Where it cannot be written that is said by the first one that is.
            let _ = self.write(Merged::Yes);
        }
        Ok(())
    }

    /// What is missing from the file now.
    pub fn losses(&self, connection: &Connection) -> rusqlite::Result<Vec<Loss>> {
        let mut losses = Vec::new();
        for (device, (n, link)) in self.mark.lost.iter().chain(&self.mark.heads) {
            losses.extend(loss(connection, device, *n, *link)?);
        }
        Ok(losses)
    }

    fn write(&mut self, merged: Merged) -> Result<(), Warning> {
        if self.access == Access::ReadOnly {
            return Ok(());
        }
        let not_written = |useless: Useless| Warning::MarkNotWritten {
            path: show(&self.file),
            problem: Unread::Useless(useless).words(),
        };
        let cellar = PathBuf::from(&self.mark.path);
        self.mark.stood = Stood::now(&cellar, &files::beside(&cellar, "-wal"));
        let (mark, written) = (&mut self.mark, &mut self.written);
        slots::write(&self.file, |texts| {
            let ours = texts.first().is_some_and(|text| !written.is_empty() && text.starts_with(written.as_bytes()));
            if let Some(found) = if ours { None } else { latest(texts) } {
                mark.turn = mark.turn.max(found.turn);
                if merged == Merged::Yes {
                    mark.merge(found);
                }
            }
            mark.turn += 1;
            let text = serde_json::to_string(&mark)?;
            *written = format!(r#"{{"mark":{text},"check":"{}"}}"#, check(&text));
            Ok(written.clone())
        })
        .map_err(not_written)?;
        self.there = true;
        Ok(())
    }
}

/// Whether what another program wrote down meanwhile is kept.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Merged {
    Yes,
    No,
}

/// Whether this laptop has entered facts into a file that stood there: the snapshot beside it tells, and what a killed program left of its
/// write-ahead log, which are copied by nobody who leaves the mark behind.
fn was_marked(path: &Path, connection: &Connection) -> bool {
    let was_at_work = files::beside(path, SNAPSHOT).exists() || leftover::holds_something(&files::beside(path, "-wal"));
    was_at_work && super::read::head(connection).is_ok_and(|head| head.get() > 0)
}

/// What is missing up to a fact that the file is known to have held.
fn loss(connection: &Connection, device: &Device, n: u64, link: Link) -> rusqlite::Result<Option<Loss>> {
    let id = FactId { device: device.clone(), n };
    match link_of(connection, &id)? {
        Some(found) if found == link => Ok(None),
        Some(_) => Ok(Some(Loss::Changed(id))),
        None => {
            let (last, _) = last_of_name(connection, device)?;
            Ok(Some(Loss::Missing { device: id.device, from: last + 1, to: n }))
        }
    }
}

fn marks_of(heads: Vec<Head>) -> Marks {
    heads.into_iter().map(|head| (head.id.device, (head.id.n, head.link))).collect()
}

fn check(mark: &str) -> Link {
    Link::from_bytes(&Sha256::digest(mark)).unwrap_or(Link::START)
}

/// Why a mark could not be read.
enum Unread {
    Useless(Useless),
    Torn,
}

impl Unread {
    fn words(&self) -> String {
        match self {
            Unread::Useless(Useless::InTheWay(what)) => (*what).to_owned(),
            Unread::Useless(Useless::Failed(error)) => words(error),
            Unread::Torn => "its content does not match its check".to_owned(),
        }
    }
}

/// The mark in a file, none where there is no file.
fn read(file: &Path) -> Result<Option<Mark>, Unread> {
    let mut tries = 0;
    loop {
        let Some(texts) = slots::read(file).map_err(Unread::Useless)? else { return Ok(None) };
        let read = latest(&texts).ok_or(Unread::Torn);
        tries += 1;
        // Another program may have been writing it just now.
        if read.is_ok() || tries == 3 {
            return read.map(Some);
        }
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
}

/// The latest mark among texts. One that a power cut tore is passed over; one that was changed makes all of them doubtful.
fn latest(texts: &[Vec<u8>]) -> Option<Mark> {
    let read: Vec<Result<Mark, Changed>> = texts.iter().filter_map(|text| parse(text)).collect();
    let marks: Result<Vec<Mark>, Changed> = read.into_iter().collect();
    marks.ok()?.into_iter().max_by_key(|mark| mark.turn)
}

/// A text is whole, but not the one that was written.
struct Changed;

/// The mark of a text; none where the text is not whole.
fn parse(bytes: &[u8]) -> Option<Result<Mark, Changed>> {
    let sealed: Sealed = serde_json::from_slice(bytes).ok()?;
    let mark = serde_json::to_string(&sealed.mark).ok()?;
    Some(if check(&mark).to_string() == sealed.check { Ok(sealed.mark) } else { Err(Changed) })
}

/// A device's name that no other laptop has.
fn random_device() -> io::Result<Device> {
    let name = format!("d-{}", files::random_hex(10)?);
    Device::new(&name).map_err(|error| io::Error::other(error.to_string()))
}

#[cfg(unix)]
fn file_number(path: &Path) -> u64 {
    use std::os::unix::fs::MetadataExt;
    fs::metadata(path).map(|metadata| metadata.ino()).unwrap_or_default()
}

#[cfg(not(unix))]
fn file_number(_path: &Path) -> u64 {
    0
}
