//! Checkpoints: earlier folds, kept so that a late fact or an undo does not fold the log from its beginning.

use super::folding::Folded;
use crate::cellar::fact::FactKey;
use crate::log::Position;

/// A checkpoint is left after so many facts that were appended one by one.
pub(super) const SPACING: i64 = 512;

/// Logs shorter than this are folded in a moment; no snapshot is kept of them.
const WORTH_A_SNAPSHOT: i64 = 20_000;

/// A snapshot lies so many facts back, so that an undo after the next opening still finds it before its target.
const SNAPSHOT_BEFORE_END: i64 = 2_048;

/// Earlier folds, oldest first, the further back the fewer.
#[derive(Default)]
pub(super) struct Checkpoints {
    folds: Vec<Folded>,
}

impl Checkpoints {
    /// The latest one.
    pub fn last(&self) -> Option<&Folded> {
        self.folds.last()
    }

    /// The latest one that has not come past an instant.
    pub fn last_until(&self, instant: i64) -> Option<&Folded> {
        self.folds.iter().rfind(|fold| fold.reached.as_ref().is_some_and(|reached| reached.instant <= instant))
    }

    /// The latest one that has not come to a fact or its place.
    pub fn last_before(&self, key: &FactKey) -> Option<&Folded> {
        self.folds.iter().rfind(|fold| fold.reached.as_ref().is_some_and(|reached| reached < key))
    }

    /// Keeps another one, later than all that are here, and thins out the older ones: of those whose age lies between
    /// two powers of four only the oldest stays.
    pub fn add(&mut self, folded: Folded) {
        if self.folds.last().is_some_and(|last| last.reached >= folded.reached) {
            return;
        }
        let newest = folded.timely.get();
        self.folds.push(folded);
        let mut seen = None;
        self.folds.retain(|fold| {
            let age = u64::try_from((newest - fold.timely.get()) / SPACING).unwrap_or(0);
            let class = age.checked_ilog(4);
            let first = seen != Some(class);
            seen = Some(class);
            first
        });
    }

    /// Forgets those that have taken in a fact or its place.
    pub fn forget_from(&mut self, key: &FactKey) {
        self.folds.retain(|fold| fold.reached.as_ref().is_some_and(|reached| reached < key));
    }

    /// Whether enough facts have come since the latest one.
    pub fn is_due(&self, timely: Position) -> bool {
        timely.get() - self.last().map_or(0, |last| last.timely.get()) >= SPACING
    }

    /// The one that the next opening should begin with, if folding anew would take long.
    pub fn worth_keeping(&self, head: Position) -> Option<&Folded> {
        if head.get() < WORTH_A_SNAPSHOT {
            return None;
        }
        self.folds.iter().rfind(|fold| head.get() - fold.timely.get() >= SNAPSHOT_BEFORE_END)
    }
}
