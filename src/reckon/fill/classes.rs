//! Barrels that no wish tells apart, taken together: the search only has to say how many of each.

use super::Candidate;
use super::choice::Choice;

/// Barrels of one capacity that are of the same wishes' kinds.
#[derive(Clone, Debug)]
pub struct Class {
    /// What any of them is.
    pub each: Candidate,
    /// Which candidates, in walking order.
    pub members: Vec<usize>,
}

/// All candidates, by class.
#[derive(Clone, Debug)]
pub struct Classes(pub Vec<Class>);

impl Classes {
    /// Sorts candidates into classes, in the order in which their first barrels are walked.
    pub fn of(candidates: &[Candidate]) -> Classes {
        let mut classes: Vec<Class> = Vec::new();
        let mut known = rustc_hash::FxHashMap::default();
        for (at, &each) in candidates.iter().enumerate() {
            let class = *known.entry((each.capacity, each.kinds)).or_insert_with(|| {
                classes.push(Class { each, members: Vec::new() });
                classes.len() - 1
            });
            classes[class].members.push(at);
        }
        Classes(classes)
    }

    /// The barrels of a choice, in walking order; of each class those that come first.
    pub fn members_of(&self, choice: &Choice) -> Vec<usize> {
        let taken = self.0.iter().zip(&choice.counts).flat_map(|(class, &count)| &class.members[..count]);
        let mut members: Vec<usize> = taken.copied().collect();
        members.sort_unstable();
        members
    }
}
