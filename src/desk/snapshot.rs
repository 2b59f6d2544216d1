//! The snapshot: a fold of the log kept in a file beside it, so that the next opening folds only what came since.
//!
//! It is a cache and nothing else: it may be deleted at will, and whatever does not match (another version of the
//! program, another log, a damaged file, a late fact or an undo that reaches behind it) means that the log is folded
//! from its beginning.

use std::fs;
use std::io::{self, Write};
use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use super::error::DeskError;
use super::folding::Folded;
use crate::cellar::fact::{FactId, FactKey};
use crate::cellar::fold::Retractions;
use crate::cellar::state::State;
use crate::log::{Log, LogError, Position, create_private};

/// Raised with every change to what the fold makes of a fact, or to the shape of the state.
const FOLD_VERSION: u32 = 5;

/// What makes a snapshot fit a log.
#[derive(PartialEq, Eq, Serialize, Deserialize)]
struct Seal {
    program: String,
    fold: u32,
    cellar: String,
    /// What the log held when the snapshot was written.
    head: i64,
    /// The last fact of each device then, with its link in the chain.
    heads: Vec<(FactId, String)>,
}

#[derive(Serialize, Deserialize)]
struct Snapshot {
    seal: Seal,
    timely: i64,
    reached: Option<FactKey>,
    state: State,
}

fn path(log: &Log) -> PathBuf {
    let mut name = log.path().as_os_str().to_owned();
    name.push("-snapshot");
    PathBuf::from(name)
}

/// Writes a fold of an earlier moment, sealed to what the log holds now.
pub(super) fn save(log: &Log, head: Position, folded: &Folded) -> io::Result<()> {
    let heads = log.heads().map_err(io::Error::other)?;
    let snapshot = Snapshot {
        seal: Seal {
            program: env!("CARGO_PKG_VERSION").to_owned(),
            fold: FOLD_VERSION,
            cellar: log.cellar().to_owned(),
            head: head.get(),
            heads: heads.into_iter().map(|head| (head.id, head.link.to_string())).collect(),
        },
        timely: folded.timely.get(),
        reached: folded.reached.clone(),
        state: folded.state.clone(),
    };
    let body = postcard::to_stdvec(&snapshot).map_err(io::Error::other)?;
    let target = path(log);
    let mut name = target.clone().into_os_string();
    name.push("-new");
    let temporary = PathBuf::from(name);
    let _ = fs::remove_file(&temporary);
    let mut file = create_private(&temporary)?;
    file.write_all(&crc32fast::hash(&body).to_le_bytes())?;
    file.write_all(&body)?;
    drop(file);
    fs::rename(temporary, target)
}

/// The fold in the snapshot, if there is one that fits.
pub(super) fn load(log: &Log, retractions: &Retractions) -> Result<Option<Folded>, DeskError> {
    let Some(snapshot) = read(log) else { return Ok(None) };
    let Some(reached) = &snapshot.reached else { return Ok(None) };
    if !fits(log, &snapshot.seal)? || reaches_behind(log, &snapshot, reached, retractions)? {
        return Ok(None);
    }
    Ok(Some(Folded { state: snapshot.state, timely: Position::new(snapshot.timely), reached: snapshot.reached }))
}

fn read(log: &Log) -> Option<Snapshot> {
    let bytes = fs::read(path(log)).ok()?;
    let (checksum, body) = bytes.split_first_chunk::<4>()?;
    (crc32fast::hash(body) == u32::from_le_bytes(*checksum)).then_some(())?;
    postcard::from_bytes(body).ok()
}

fn fits(log: &Log, seal: &Seal) -> Result<bool, LogError> {
    if seal.program != env!("CARGO_PKG_VERSION") || seal.fold != FOLD_VERSION || seal.cellar != log.cellar() {
        return Ok(false);
    }
    for (id, link) in &seal.heads {
        if log.link_of(id)?.is_none_or(|found| found.to_string() != *link) {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Whether something that arrived since reaches behind the snapshot: a late fact, or a fact taken back or restored.
fn reaches_behind(
    log: &Log,
    snapshot: &Snapshot,
    reached: &FactKey,
    retractions: &Retractions,
) -> Result<bool, LogError> {
    let head = Position::new(snapshot.seal.head);
    if log.lowest_late_after(head)?.is_some_and(|late| late <= *reached) {
        return Ok(true);
    }
    let mut new = Vec::new();
    for (key, _) in retractions.iter() {
        if log.position_of(&key.id)?.is_some_and(|position| position > head) {
            new.push(&key.id);
        }
    }
    // A retraction of a retraction restores what that one took back.
    for id in retractions.reached_from(new) {
        if let Some(line) = log.line(id)?
            && (FactKey { instant: line.at.instant(), id: line.id }) <= *reached
        {
            return Ok(true);
        }
    }
    Ok(false)
}
