//! The fold: all facts in their order, without those that are taken back.
//!
//! Which facts are taken back must be known before the first is folded, for a retraction stands later in the order
//! than what it takes back, as a rule. [`Retractions`] works that out from all `retracted` facts at once, whatever order
//! they came in.

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
    /// The facts that are left out of every fold, since they are not what was stored.
    left_out: FxHashSet<FactId>,
}

impl Retractions {
    /// Takes in retractions, each by its place in the order with what it takes back.
    pub fn extend(&mut self, retractions: impl IntoIterator<Item = (FactKey, FactId)>) {
        let left_out = &self.left_out;
        self.all.extend(retractions.into_iter().filter(|(key, _)| !left_out.contains(&key.id)));
        self.resolve();
    }

    /// Leaves facts out of every fold from now on, as if they had never been; a retraction among them takes nothing back.
    pub fn leave_out(&mut self, damaged: impl IntoIterator<Item = FactId>) {
        self.left_out.extend(damaged);
        let left_out = &self.left_out;
        self.all.retain(|key, _| !left_out.contains(&key.id));
        self.resolve();
    }

    /// A retraction that is not itself taken back takes back its fact. Which came first by the clock does not matter: a
    /// retraction names a fact that its writer knew, though another laptop's clock may say that it came later.
    fn resolve(&mut self) {
        // One that names itself means nothing.
        let targets: FxHashMap<&FactId, &FactId> =
            self.all.iter().map(|(key, of)| (&key.id, of)).filter(|(id, of)| id != of).collect();
        let mut open_takers: FxHashMap<&FactId, usize> = FxHashMap::default();
        for &of in targets.values() {
            *open_takers.entry(of).or_default() += 1;
        }
        // Whether a retraction stands can be said as soon as it is said of all that would take it back.
        let mut ready: Vec<&FactId> = targets.keys().copied().filter(|&id| !open_takers.contains_key(id)).collect();
        // What then is left takes back each other in a ring, which no honest writer can have meant. There the last by
        // the clock stands, so that every laptop finds the same.
        let mut last_first = self.all.keys().rev().map(|key| &key.id);
        let (mut settled, mut standing) = (FxHashSet::default(), FxHashSet::default());
        let mut gone: FxHashSet<FactId> = FxHashSet::default();
        while let Some(id) = ready.pop().or_else(|| last_first.find(|id| !settled.contains(id))) {
            let Some(&of) = targets.get(id).filter(|_| settled.insert(id)) else { continue };
            let stands = !gone.contains(id);
            if stands {
                standing.insert(id);
                if !standing.contains(of) {
                    gone.insert(of.clone());
                }
            }
            if let Some(takers) = open_takers.get_mut(of) {
                *takers -= 1;
                // One that is taken back for certain need not wait for the others.
                if stands || *takers == 0 {
                    ready.push(of);
                }
            }
        }
        self.gone = gone;
    }

    /// Whether a fact is taken back, or left out.
    #[must_use]
    pub fn contains(&self, id: &FactId) -> bool {
        (!self.gone.is_empty() && self.gone.contains(id)) || (!self.left_out.is_empty() && self.left_out.contains(id))
    }

    /// The facts that are taken back in effect.
    pub fn gone(&self) -> impl Iterator<Item = &FactId> {
        self.gone.iter()
    }

    /// What each of some retractions takes back; where that is itself a retraction, what that one takes back too, and so
    /// on: every fact whose standing may hang on them.
    #[must_use]
    pub fn reached_from<'a>(&'a self, ids: impl IntoIterator<Item = &'a FactId>) -> FxHashSet<&'a FactId> {
        let targets: FxHashMap<&FactId, &FactId> = self.all.iter().map(|(key, of)| (&key.id, of)).collect();
        let mut reached = FxHashSet::default();
        for id in ids {
            let mut next = targets.get(id);
            while let Some(of) = next.filter(|of| reached.insert(**of)) {
                next = targets.get(of);
            }
        }
        reached
    }

    /// Every retraction with what it takes back, in order.
    #[must_use]
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
