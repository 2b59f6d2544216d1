//! The fold: all facts in their order, without those that are taken back.
//!
//! Which facts are taken back must be known before the first is folded, for a retraction stands later in the order
//! than what it takes back. [`Retractions`] works that out from all `retracted` facts at once, whatever order they came in.

use rustc_hash::{FxHashMap, FxHashSet};

use super::evolve::evolve;
use super::fact::{FactId, FactKey, Stamp, What};
use super::state::State;

/// Which facts are taken back.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Retractions {
    /// Every retraction, by its place in the order, with what it takes back.
    all: std::collections::BTreeMap<FactKey, FactId>,
    /// The facts that are taken back in effect.
    gone: FxHashSet<FactId>,
}

impl Retractions {
    /// Takes in a retraction.
    pub fn add(&mut self, key: FactKey, of: FactId) {
        self.all.insert(key, of);
        self.resolve();
    }

    /// Takes in many retractions at once.
    pub fn extend(&mut self, retractions: impl IntoIterator<Item = (FactKey, FactId)>) {
        self.all.extend(retractions);
        self.resolve();
    }

    /// A retraction that is not itself taken back takes back its fact, whatever the clocks said: one that another laptop
    /// wrote by a slow clock counts like any other. Every retraction is judged after all that could take it back. Only
    /// forged ones can take back each other in a ring; there the last in the order of the facts holds.
    fn resolve(&mut self) {
        let targets: FxHashMap<&FactId, &FactId> = self.all.iter().map(|(key, of)| (&key.id, of)).collect();
        // How many that could take back a retraction are not judged yet.
        let mut waiting: FxHashMap<&FactId, usize> = targets.keys().map(|&id| (id, 0)).collect();
        for of in self.all.values() {
            if let Some(count) = waiting.get_mut(of) {
                *count += 1;
            }
        }
        let mut ready: Vec<&FactId> = waiting.iter().filter(|(_, count)| **count == 0).map(|(&id, _)| id).collect();
        let mut judged: FxHashSet<&FactId> = FxHashSet::default();
        let mut gone: FxHashSet<FactId> = FxHashSet::default();
        let mut last_first = self.all.keys().rev();
        // Where none is ready, only rings are left.
        let mut next_of_ring =
            |judged: &FxHashSet<&FactId>| last_first.find(|key| !judged.contains(&key.id)).map(|key| &key.id);
        while let Some(id) = ready.pop().or_else(|| next_of_ring(&judged)) {
            let of = targets[id];
            // A retraction that names itself takes back nothing.
            if !judged.insert(id) || of == id {
                continue;
            }
            if !gone.contains(id) {
                gone.insert(of.clone());
            }
            if let Some(count) = waiting.get_mut(of) {
                *count -= 1;
                if *count == 0 && !judged.contains(of) {
                    ready.push(of);
                }
            }
        }
        self.gone = gone;
    }

    /// Whether a fact is taken back.
    #[must_use]
    pub fn contains(&self, id: &FactId) -> bool {
        !self.gone.is_empty() && self.gone.contains(id)
    }

    /// The facts that are taken back in effect.
    pub fn gone(&self) -> impl Iterator<Item = &FactId> {
        self.gone.iter()
    }

    /// Every retraction with what it takes back, in order.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (&FactKey, &FactId)> {
        self.all.iter()
    }
}

/// Folds one fact unless it is taken back.
pub fn fold(state: &mut State, retractions: &Retractions, stamp: &Stamp, what: &What) {
    if !retractions.contains(&stamp.id) {
        evolve(state, stamp, what);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cellar::fact::Device;

    fn fact(n: u64) -> FactId {
        FactId { device: Device::new("a").unwrap(), n }
    }

    /// Which of the facts 1 to 9 are taken back by retractions given as their hour, their number and what they name.
    fn gone(retractions: &[(i64, u64, u64)]) -> Vec<u64> {
        let mut all = Retractions::default();
        all.extend(retractions.iter().map(|&(instant, n, of)| (FactKey { instant, id: fact(n) }, fact(of))));
        (1..=9).filter(|&n| all.contains(&fact(n))).collect()
    }

    #[test]
    fn a_retraction_that_is_taken_back_takes_back_nothing() {
        assert_eq!(gone(&[(10, 2, 1)]), [1]);
        assert_eq!(gone(&[(10, 2, 1), (11, 3, 2)]), [2]);
        assert_eq!(gone(&[(10, 2, 1), (11, 3, 2), (12, 4, 3)]), [1, 3]);
        assert_eq!(gone(&[(10, 2, 1), (11, 3, 2), (12, 4, 1)]), [1, 2]);
    }

    #[test]
    fn a_slow_clock_does_not_hold_up_a_retraction() {
        assert_eq!(gone(&[(10, 2, 1), (9, 3, 2)]), [2]);
        assert_eq!(gone(&[(12, 2, 1), (11, 3, 2), (10, 4, 3), (9, 5, 4)]), [2, 4]);
    }

    #[test]
    fn retractions_that_take_back_each_other_come_to_an_end() {
        assert!(gone(&[(10, 2, 2)]).is_empty());
        assert_eq!(gone(&[(10, 2, 3), (11, 3, 2)]), [2]);
        assert_eq!(gone(&[(10, 2, 3), (11, 3, 2), (9, 4, 3)]), [3]);
        assert_eq!(gone(&[(10, 2, 3), (11, 3, 4), (12, 4, 2), (13, 5, 1)]), [1, 2, 4]);
    }
}
