//! Checkpoints: earlier folds, kept so that a late fact or an undo does not fold the log from its beginning.

use super::folding::Folded;
use crate::cellar::core::fact::FactKey;
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
    /// The latest one that has not come past an instant.
    pub fn last_until(&self, instant: i64) -> Option<&Folded> {
        self.folds.iter().rfind(|fold| fold.reached.as_ref().is_some_and(|reached| reached.instant <= instant))
    }

    /// The latest one that has not come to a fact or its place.
    pub fn last_before(&self, key: &FactKey) -> Option<&Folded> {
        self.folds.iter().rfind(|fold| !fold.has_come_to(key))
    }

    /// Keeps another one, and thins out the older ones: of those whose age lies between two powers of four only the
    /// oldest stays.
    pub fn add(&mut self, folded: Folded) {
        let Some(reached) = &folded.reached else { return };
        let place = self.folds.partition_point(|fold| !fold.has_come_to(reached));
        if self.folds.get(place).is_some_and(|fold| fold.reached == folded.reached) {
            return;
        }
        self.folds.insert(place, folded);
        let newest = self.folds.last().map_or(0, |last| last.passed);
        let mut seen = None;
        self.folds.retain(|fold| {
            let age = u64::try_from((newest - fold.passed) / SPACING).unwrap_or(0);
            let class = age.checked_ilog(4);
            let first = seen != Some(class);
            seen = Some(class);
            first
        });
    }

    /// Forgets those that have taken in a fact or its place.
    pub fn forget_from(&mut self, key: &FactKey) {
        self.folds.retain(|fold| !fold.has_come_to(key));
    }

    /// Whether enough facts have come since the latest one.
    pub fn is_due(&self, live: &Folded) -> bool {
        live.passed - self.folds.last().map_or(0, |last| last.passed) >= SPACING
    }

    /// The one that the next opening should begin with, if folding anew would take long.
    pub fn worth_keeping(&self, head: Position) -> Option<&Folded> {
        if head.get() < WORTH_A_SNAPSHOT {
            return None;
        }
        self.folds.iter().rfind(|fold| head.get() - fold.passed >= SNAPSHOT_BEFORE_END)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cellar::core::fact::{Device, FactId};

    fn key(instant: i64) -> FactKey {
        FactKey { instant, id: FactId { device: Device::new("a").unwrap(), n: 1 } }
    }

    fn fold(passed: i64) -> Folded {
        Folded { reached: Some(key(passed)), passed, ..Folded::default() }
    }

    fn kept(checkpoints: &Checkpoints) -> Vec<i64> {
        checkpoints.folds.iter().map(|fold| fold.passed).collect()
    }

    #[test]
    fn many_leave_few_and_each_stretch_of_the_past_has_one() {
        let mut checkpoints = Checkpoints::default();
        for step in 1..=2_000 {
            checkpoints.add(fold(step * SPACING));
            assert!(checkpoints.folds.len() <= 8, "{:?}", kept(&checkpoints));
            for back in [1, 3, 10, 40, 150, 600].into_iter().filter(|back| *back < step - 1) {
                let found = checkpoints.last_before(&key((step - back) * SPACING + 1)).map_or(0, |fold| fold.passed);
                assert!(
                    found >= (step - 16 * back) * SPACING || found == 0,
                    "{back} back from {step}: {:?}",
                    kept(&checkpoints)
                );
            }
        }
    }

    #[test]
    fn they_stay_in_order_however_they_come() {
        let mut checkpoints = Checkpoints::default();
        for passed in [5_000, 100_000, 80_000, 99_000, 80_000] {
            checkpoints.add(fold(passed));
        }
        assert_eq!(kept(&checkpoints), [5_000, 80_000, 99_000, 100_000]);
        checkpoints.forget_from(&key(99_000));
        assert_eq!(kept(&checkpoints), [5_000, 80_000]);
        assert_eq!(checkpoints.last_before(&key(80_000)).map(|fold| fold.passed), Some(5_000));
        assert_eq!(checkpoints.last_until(80_000).map(|fold| fold.passed), Some(80_000));
    }
}
