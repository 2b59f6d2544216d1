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

    /// From the last retraction to the first: one that is not itself taken back takes back its fact. A retraction can
    /// take back only an earlier retraction, so that no two can take back each other.
    fn resolve(&mut self) {
        let keys: FxHashMap<&FactId, &FactKey> = self.all.keys().map(|key| (&key.id, key)).collect();
        let mut gone = FxHashSet::default();
        for (key, of) in self.all.iter().rev() {
            let later_retraction = keys.get(of).is_some_and(|target| **target >= *key);
            if !gone.contains(&key.id) && !later_retraction {
                gone.insert(of.clone());
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
