//! Damage is said when it is read: what an opening reads is checked against the chain of its device beside the fold, and a fact
//! that is not what was stored is named and left out. The cellar is then open for reading only.
//!
//! Commands wait for the check. The screen does not: there the check goes on beside what is done, looks at what lies behind the
//! snapshot as well, and is told of when it is over.
//!
//! What an opening reads is checked against the chain beside the fold (`desk/damage.rs`, `log/damage.rs`); what is damaged is left out of
//! every fold as if it were taken back (`Retractions::leave_out`), and nothing can be entered any more. Commands wait for the check
//! (`Desk::open`); the screen does not (`Desk::open_at_once`, `heed_check`), and has what lies behind the snapshot checked too. Until that
//! is over no snapshot is left. One walker says what follows in the chain (`log/walk.rs`): searches for damage, `verify` and the judgement
//! of a left write-ahead log all use it. It writes each line from its columns into one buffer by the function that exports it
//! (`LineText::write_json`).

use std::sync::Arc;
use std::thread::{self, JoinHandle};

use super::Desk;
use super::checkpoint::Checkpoints;
use super::error::DeskError;
use super::folding::{Folded, Run, Until, all_retractions, fold_log};
use super::heads::Heads;
use super::snapshot;
use crate::cellar::core::fact::FactId;
use crate::cellar::core::fold::Retractions;
use crate::log::{DamageSearch, Log, LogError, Position, Trouble};
use crate::units::{by_count, counted};

/// So few facts are checked where they are read: starting a thread would take longer.
const FEW: i64 = 4_096;
/// So many damaged facts are named; how many others there are is counted.
const NAMED: usize = 4;

/// What opening a cellar comes to.
pub(super) struct Opened {
    /// Which facts are taken back or left out.
    pub retractions: Retractions,
    /// The fold in the snapshot, where one fits.
    pub snapshot: Option<Folded>,
    /// The fold of everything.
    pub run: Run,
    /// The facts that are left out since they are damaged.
    pub damaged: Vec<FactId>,
}

/// Where a fold of all facts begins: with a snapshot or with the first fact.
struct Beginning {
    retractions: Retractions,
    snapshot: Option<Folded>,
    head: Position,
}

impl Beginning {
    fn of(log: &Log) -> Result<Beginning, LogError> {
        let retractions = all_retractions(log)?;
        let snapshot = snapshot::load(log, &retractions)?;
        Ok(Beginning { snapshot, retractions, head: log.head()? })
    }

    fn start(&self) -> Folded {
        self.snapshot.clone().unwrap_or_default()
    }

    fn from(&self) -> Position {
        self.snapshot.as_ref().map_or(Position::START, |snapshot| snapshot.timely)
    }

    fn is_short(&self) -> bool {
        self.head.get() - self.from().get() <= FEW
    }

    fn fold(&self, log: &Log) -> Result<Run, LogError> {
        fold_log(log, self.start(), &self.retractions, Until::End)
    }

    /// What the opening comes to: where facts are damaged, without them and what the snapshot says.
    fn opened(self, log: &Log, run: Run, damaged: Vec<FactId>) -> Result<Opened, LogError> {
        let Beginning { mut retractions, snapshot, .. } = self;
        if damaged.is_empty() {
            return Ok(Opened { retractions, snapshot, run, damaged });
        }
        retractions.leave_out(damaged.iter().cloned());
        let run = fold_log(log, Folded::default(), &retractions, Until::End)?;
        Ok(Opened { retractions, snapshot: None, run, damaged })
    }
}

/// Folds a log, from the snapshot beside it where that still holds, without the facts among those read that are damaged.
pub(super) fn fold_whole(log: &Log) -> Result<Opened, LogError> {
    let beginning = Beginning::of(log)?;
    let search = DamageSearch::new(beginning.from(), beginning.head);
    let (run, damaged) = if beginning.is_short() {
        (beginning.fold(log)?, log.search_damage(&search)?)
    } else {
        beside_a_check(log, &search, || beginning.fold(log))?
    };
    beginning.opened(log, run, damaged)
}

/// Does something with all facts while another thread checks them, and then helps to.
pub(super) fn beside_a_check<T>(
    log: &Log,
    search: &DamageSearch,
    work: impl FnOnce() -> Result<T, LogError>,
) -> Result<(T, Vec<FactId>), LogError> {
    let reader = log.reader()?;
    thread::scope(|scope| {
        let checking = scope.spawn(move || reader.search_damage(search));
        let done = work().inspect_err(|_| search.stop())?;
        let mut damaged = log.search_damage(search)?;
        match checking.join() {
            Ok(found) => damaged.extend(found?),
            Err(panic) => std::panic::resume_unwind(panic),
        }
        damaged.sort();
        damaged.dedup();
        Ok((done, damaged))
    })
}

/// Folds a log as [`fold_whole`] does, but leaves the check to a thread of its own where it is long, or looks behind a snapshot.
pub(super) fn fold_at_once(
    log: &Log,
    done: impl FnOnce() + Send + 'static,
) -> Result<(Opened, Option<Checking>), LogError> {
    let beginning = Beginning::of(log)?;
    let run = beginning.fold(log)?;
    let (damaged, unchecked) = if beginning.is_short() {
        (log.damaged_after(beginning.from())?, beginning.from())
    } else {
        (Vec::new(), beginning.head)
    };
    let head = beginning.head;
    let opened = beginning.opened(log, run, damaged)?;
    let is_all_checked = unchecked == Position::START || !opened.damaged.is_empty();
    let checking = if is_all_checked { None } else { Some(Checking::begin(log, unchecked, head, done)?) };
    Ok((opened, checking))
}

/// A check that goes on beside what is done with the cellar. It ends early when this is dropped.
pub(super) struct Checking {
    search: Arc<DamageSearch>,
    thread: Option<JoinHandle<Result<Vec<FactId>, LogError>>>,
    /// How much of the log was there at the opening.
    head: Position,
}

impl Checking {
    fn begin(
        log: &Log,
        until: Position,
        head: Position,
        done: impl FnOnce() + Send + 'static,
    ) -> Result<Checking, LogError> {
        let search = Arc::new(DamageSearch::new(Position::START, until));
        let (reader, shared) = (log.reader()?, Arc::clone(&search));
        let run = move || {
            let found = reader.search_damage(&shared);
            // The file is given up before anybody hears of it.
            drop(reader);
            done();
            found
        };
        let started = thread::Builder::new().name("check".to_owned()).spawn(run);
        // What keeps a thread from being started is that the machine has no more to give.
        let failed = |_| LogError::CannotRead { path: log.path().display().to_string(), problem: Trouble::NoMemory };
        let thread = started.map_err(failed)?;
        Ok(Checking { search, thread: Some(thread), head })
    }

    /// Waits for what it finds.
    fn wait(mut self) -> Result<Vec<FactId>, LogError> {
        match self.thread.take().map(JoinHandle::join) {
            None => Ok(Vec::new()),
            Some(Ok(found)) => found,
            Some(Err(panic)) => std::panic::resume_unwind(panic),
        }
    }
}

impl Drop for Checking {
    fn drop(&mut self) {
        self.search.stop();
        if let Some(thread) = self.thread.take() {
            // Whoever leaves does not want to know any more.
            let _ = thread.join();
        }
    }
}

impl Desk {
    /// Takes in what the check beside the work found, once it is over: where a fact is damaged it is left out from here on, nothing can
    /// be entered any more, and what is to be said of it is given.
    pub fn heed_check(&mut self) -> Result<Option<String>, DeskError> {
        let Some(checking) = self.checking.take() else { return Ok(None) };
        let head = checking.head;
        let damaged = checking.wait()?;
        // What stands under the name of a file that went away says nothing of this one.
        if damaged.is_empty() || self.log.look().is_err() {
            return Ok(None);
        }
        let (heads, retractions, run) = self.log.at_one_instant(|| -> Result<_, LogError> {
            let mut retractions = all_retractions(&self.log)?;
            retractions.leave_out(damaged.iter().cloned());
            let run = fold_log(&self.log, Folded::default(), &retractions, Until::End)?;
            Ok((Heads::of(&self.log)?, retractions, run))
        })?;
        (self.heads, self.retractions, self.damaged) = (heads, retractions, damaged);
        (self.checkpoints, self.snapshot) = (Checkpoints::default(), None);
        self.adopt_run(run);
        self.heed_what_is_passed_over();
        let since = self.head.get() - head.get();
        let kept = match since {
            ..=0 => String::new(),
            1 => " The fact that was entered since it was opened is kept in it.".to_owned(),
            _ => format!(" The {since} facts that were entered since it was opened are kept in it."),
        };
        Ok(self.why_only_read.as_ref().map(|why| format!("{why}{kept}")))
    }
}

/// What is said of damaged facts.
pub(super) fn sentence(damaged: &[FactId]) -> String {
    let named: Vec<String> = damaged.iter().take(NAMED).map(|id| format!("fact {} of {}", id.n, id.device)).collect();
    let more = match damaged.len().saturating_sub(NAMED) {
        0 => String::new(),
        others => format!(" and {}", counted(others, "other")),
    };
    let count = u64::try_from(damaged.len()).unwrap_or(u64::MAX);
    format!(
        "This cellar is open for reading only: {} damaged and left out ({}{more}). What is shown lacks what {} said. Keep this file, and go on \
         with your newest backup; verify tells more.",
        by_count(count, "a fact is", &format!("{count} facts are")),
        named.join(", "),
        by_count(count, "it", "they"),
    )
}
