//! Damage is said when it is read: what an opening reads is checked against the chain of its device beside the fold, and a fact
//! that is not what was stored is named and left out. The cellar is then open for reading only.

use std::thread;

use super::error::DeskError;
use super::folding::{Folded, Run, Until, all_retractions, fold_log};
use super::snapshot;
use crate::cellar::core::fact::FactId;
use crate::cellar::core::fold::Retractions;
use crate::log::{Log, LogError, Position};
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

/// Folds a log, from the snapshot beside it where that still holds, without the facts among those read that are damaged.
pub(super) fn fold_whole(log: &Log) -> Result<Opened, DeskError> {
    let mut retractions = all_retractions(log)?;
    let snapshot = snapshot::load(log, &retractions)?;
    let start = snapshot.clone().unwrap_or_default();
    let from = start.timely;
    let (run, damaged) = if log.head()?.get() - from.get() <= FEW {
        (fold_log(log, start, &retractions, Until::End)?, log.damaged_after(from)?)
    } else {
        fold_and_check(log, start, &retractions, from)?
    };
    if damaged.is_empty() {
        return Ok(Opened { retractions, snapshot, run, damaged });
    }
    retractions.leave_out(damaged.iter().cloned());
    let run = fold_log(log, Folded::default(), &retractions, Until::End)?;
    Ok(Opened { retractions, snapshot: None, run, damaged })
}

/// Folds on this thread and checks on another.
fn fold_and_check(
    log: &Log,
    start: Folded,
    retractions: &Retractions,
    from: Position,
) -> Result<(Run, Vec<FactId>), LogError> {
    let reader = log.reader()?;
    thread::scope(|scope| {
        let checking = scope.spawn(move || reader.damaged_after(from));
        let run = fold_log(log, start, retractions, Until::End)?;
        match checking.join() {
            Ok(damaged) => Ok((run, damaged?)),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    })
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
