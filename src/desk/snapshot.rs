//! The snapshot: a fold of the log kept in a file beside it, so that the next opening folds only what came since.
//!
//! It is a cache and nothing else: it may be deleted at will, and whatever does not match (another version of the
//! program, another log, a damaged file, a late fact or an undo that reaches behind it) means that the log is folded
//! from its beginning. It is bound to the log by a SHA-256 over the last link of every device and over itself. Whoever makes that right
//! again could still have it say anything: a verification folds all facts and compares.

use std::fs;
use std::io::{self, Write};
use std::ops::ControlFlow;
use std::path::PathBuf;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::folding::Folded;
use super::passed_over::PassedOver;
use crate::cellar::core::fact::{FactId, FactKey, KINDS, What};
use crate::cellar::core::fold::Retractions;
use crate::cellar::core::state::State;
use crate::log::{Log, LogError, Position, ScanStart, create_private};

/// Raised with every change to what the fold makes of a fact, or to the shape of the state or of the snapshot. It stands
/// in the seal, which comes first: what follows it may then be read as anything, and is thrown away.
const FOLD_VERSION: u32 = 47;

/// What the facts of the demo come to in this version: the digest of those facts, and that of their fold.
#[cfg(test)]
const DEMO_FOLD: (u32, &str, &str) = (47, "3c3018486e1b642954187e3f", "c760017b2e573e2f681b0652");

/// What makes a snapshot fit a log.
#[derive(PartialEq, Eq, Serialize, Deserialize)]
struct Seal {
    program: String,
    fold: u32,
    cellar: String,
    /// The kinds of facts and their versions that this program knows: what it cannot read it does not fold.
    kinds: u32,
    /// What the log held when the snapshot was written.
    head: i64,
    /// The last fact of each device then, with its link in the chain.
    heads: Vec<(FactId, String)>,
}

#[derive(Serialize, Deserialize)]
struct Snapshot {
    seal: Seal,
    timely: i64,
    reached: FactKey,
    passed: i64,
    state: State,
}

fn path(log: &Log) -> PathBuf {
    let mut name = log.path().as_os_str().to_owned();
    name.push("-snapshot");
    PathBuf::from(name)
}

/// Writes a fold of an earlier moment, sealed to what the log holds now.
pub(super) fn save(log: &Log, head: Position, folded: &Folded) -> io::Result<()> {
    let Some(reached) = folded.reached.clone() else { return Ok(()) };
    let heads = log.heads().map_err(io::Error::other)?;
    if count(heads.iter().map(|head| head.id.n)) != Some(head.get()) {
        // Another program has appended since the last look; at the next opening all this would fit nothing.
        return Ok(());
    }
    let snapshot = Snapshot {
        seal: Seal {
            program: env!("CARGO_PKG_VERSION").to_owned(),
            fold: FOLD_VERSION,
            cellar: log.cellar().to_owned(),
            kinds: known_kinds(),
            head: head.get(),
            heads: heads.into_iter().map(|head| (head.id, head.link.to_string())).collect(),
        },
        timely: folded.timely.get(),
        reached,
        passed: folded.passed,
        state: folded.state.clone(),
    };
    let body = postcard::to_stdvec(&snapshot).map_err(io::Error::other)?;
    let target = path(log);
    let mut name = target.clone().into_os_string();
    name.push("-new");
    let temporary = PathBuf::from(name);
    let _ = fs::remove_file(&temporary);
    let mut file = create_private(&temporary)?;
    file.write_all(&digest(&body))?;
    file.write_all(&body)?;
    drop(file);
    fs::rename(temporary, target)
}

/// The fold in the snapshot, if there is one that fits.
pub(super) fn load(log: &Log, retractions: &Retractions) -> Result<Option<Folded>, LogError> {
    let Some(snapshot) = read(log) else { return Ok(None) };
    if !fits(log, &snapshot.seal)? || !goes_on_after(log, &snapshot)? || reaches_behind(log, &snapshot, retractions)? {
        return Ok(None);
    }
    Ok(Some(Folded {
        state: snapshot.state,
        timely: Position::new(snapshot.timely),
        reached: Some(snapshot.reached),
        passed: snapshot.passed,
        // None is written of a log in which there is such a fact.
        passed_over: PassedOver::default(),
    }))
}

/// A file that is not there or cannot be read is no snapshot, whatever the reason.
fn read(log: &Log) -> Option<Snapshot> {
    let bytes = fs::read(path(log)).ok()?;
    let (before, body) = bytes.split_first_chunk::<32>()?;
    (digest(body) == *before).then_some(())?;
    postcard::from_bytes(body).ok()
}

/// The SHA-256 of all that a snapshot says: the cellar's name, the last link of each device, and the state.
fn digest(body: &[u8]) -> [u8; 32] {
    Sha256::digest(body).into()
}

/// Whether the first facts that arrived in the log, as many as the snapshot was made from, are those it was made from.
fn fits(log: &Log, seal: &Seal) -> Result<bool, LogError> {
    let same_program =
        seal.program == env!("CARGO_PKG_VERSION") && seal.fold == FOLD_VERSION && seal.kinds == known_kinds();
    if !same_program || seal.cellar != log.cellar() {
        return Ok(false);
    }
    for (id, link) in &seal.heads {
        let same = log.link_of(id)?.is_some_and(|found| found.to_string() == *link);
        // Restored and merged again, a log holds the same facts in another order of arrival.
        let early = log.position_of(id)?.is_some_and(|position| position.get() <= seal.head);
        if !same || !early {
            return Ok(false);
        }
    }
    Ok(count(seal.heads.iter().map(|(id, _)| id.n)) == Some(seal.head))
}

/// The kinds of facts and their versions that this program knows, as a checksum.
fn known_kinds() -> u32 {
    let kinds = KINDS.iter().map(|&kind| format!("{kind} {}\n", What::newest_version(kind).unwrap_or(1)));
    crc32fast::hash(kinds.collect::<String>().as_bytes())
}

/// How many facts there are of devices with these last numbers.
fn count(mut numbers: impl Iterator<Item = u64>) -> Option<i64> {
    numbers.try_fold(0_i64, i64::checked_add_unsigned)
}

/// Whether a scan that goes on where the snapshot ends hands out exactly the facts that are not in it: the last fact in
/// its place is one of this order of arrival, and the next one lies behind.
fn goes_on_after(log: &Log, snapshot: &Snapshot) -> Result<bool, LogError> {
    let timely = Position::new(snapshot.timely);
    let mut last_is_in_it = timely == Position::START;
    if !last_is_in_it {
        log.arrived_after(Position::new(snapshot.timely - 1), &mut |fact| {
            last_is_in_it = fact.position() == timely && !fact.late && fact.key() <= snapshot.reached;
            ControlFlow::Break(())
        })?;
    }
    let mut next_is_behind = true;
    log.scan(&ScanStart::After { timely, key: snapshot.reached.clone() }, &mut |fact| {
        next_is_behind = fact.key() > snapshot.reached;
        ControlFlow::Break(())
    })?;
    Ok(last_is_in_it && next_is_behind)
}

/// Whether something that arrived since reaches behind the snapshot: a late fact, or a fact taken back or restored.
fn reaches_behind(log: &Log, snapshot: &Snapshot, retractions: &Retractions) -> Result<bool, LogError> {
    let head = Position::new(snapshot.seal.head);
    if log.lowest_late_after(head)?.is_some_and(|late| late <= snapshot.reached) {
        return Ok(true);
    }
    let mut new = Vec::new();
    log.retractions_after(head, &mut |fact| {
        new.push(fact.id());
        ControlFlow::Continue(())
    })?;
    if new.is_empty() {
        return Ok(false);
    }
    // A retraction of a retraction restores what that one took back.
    for id in retractions.reached_from(&new) {
        if let Some(line) = log.line(id)?
            && (FactKey { instant: line.at.instant(), id: line.id }) <= snapshot.reached
        {
            return Ok(true);
        }
    }
    Ok(false)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cellar::core::fact::{IncomingFact, Stamp};
    use crate::cellar::core::fold::fold;

    const FACTS: &str = include_str!("../../demo-cellar/facts.jsonl");

    fn short_digest(bytes: &[u8]) -> String {
        let bytes: Vec<String> = Sha256::digest(bytes).iter().take(12).map(|byte| format!("{byte:02x}")).collect();
        bytes.concat()
    }

    /// The fold of the demo's facts, as a snapshot holds it. Nothing in it hangs on the machine: maps are written in order, and
    /// the estimates learn by arithmetic that is the same everywhere.
    fn fold_of_the_demo() -> Vec<u8> {
        let facts = FACTS.lines().map(|line| IncomingFact::from_json(line).unwrap().0);
        let mut facts: Vec<(Stamp, What)> =
            facts.map(|fact| (Stamp::new(fact.id.unwrap(), fact.at), fact.what)).collect();
        facts.sort_by_cached_key(|(stamp, _)| stamp.key());
        let mut retractions = Retractions::default();
        retractions.extend(facts.iter().filter_map(|(stamp, what)| match what {
            What::Retracted(retracted) => Some((stamp.key(), retracted.of.clone())),
            _ => None,
        }));
        let mut state = State::default();
        for (stamp, what) in &facts {
            fold(&mut state, &retractions, stamp, what);
        }
        postcard::to_stdvec(&state).unwrap()
    }

    #[test]
    fn a_fold_that_changed_has_another_version() {
        let (version, facts, state) = DEMO_FOLD;
        let (facts_now, state_now) = (short_digest(FACTS.as_bytes()), short_digest(&fold_of_the_demo()));
        if (version, facts, state) == (FOLD_VERSION, facts_now.as_str(), state_now.as_str()) {
            return;
        }
        let unraised = version == FOLD_VERSION && facts == facts_now;
        let next = if unraised { FOLD_VERSION + 1 } else { FOLD_VERSION };
        let why = if unraised {
            "The fold makes something else of the same facts: an old snapshot must not be taken for it."
        } else if version == FOLD_VERSION {
            "The demo's facts are others. If what a fact does changed with them, raise the version as well."
        } else {
            "The version was raised."
        };
        panic!(
            "{why} In src/desk/snapshot.rs put\n\nconst FOLD_VERSION: u32 = {next};\n\
             const DEMO_FOLD: (u32, &str, &str) = ({next}, \"{facts_now}\", \"{state_now}\");\n"
        );
    }
}
