//! Damage to facts: which of them are not what was stored, told by the chain of their device. Unlike a verification it looks at the
//! facts alone, and names every one that is damaged, so that they can be left out.

use std::ops::ControlFlow;
use std::sync::atomic::{AtomicI64, Ordering};

use super::error::LogError;
use super::verify::Difference;
use super::walk::{Finding, Stretch, walk};
use super::{Log, Position};
use crate::cellar::core::fact::FactId;

/// So many facts are searched at a time: few enough that threads which search together end together.
const AT_A_TIME: i64 = 16_384;

/// A search for damaged facts. Several openings of the same log may go on with it at once, each on its thread.
#[derive(Debug)]
pub struct DamageSearch {
    /// Behind this position somebody is to search next.
    next: AtomicI64,
    until: Position,
}

impl DamageSearch {
    /// A search of what arrived after one position, up to another.
    #[must_use]
    pub const fn new(after: Position, until: Position) -> DamageSearch {
        DamageSearch { next: AtomicI64::new(after.0), until }
    }

    /// Leaves what is not searched yet.
    pub fn stop(&self) {
        self.next.store(self.until.0, Ordering::Relaxed);
    }

    fn next(&self) -> Option<Stretch> {
        let after = self.next.fetch_add(AT_A_TIME, Ordering::Relaxed);
        let until = Position((after + AT_A_TIME).min(self.until.0));
        (after < self.until.0).then_some(Stretch { after: Position(after), until })
    }
}

impl Log {
    /// The facts that arrived after `position` and are not what was stored, and the last one of a device before them that is not.
    pub fn damaged_after(&self, position: Position) -> Result<Vec<FactId>, LogError> {
        self.search_damage(&DamageSearch::new(position, self.head()?))
    }

    /// Takes part in a search until all of it is done, and gives what was found here.
    pub fn search_damage(&self, search: &DamageSearch) -> Result<Vec<FactId>, LogError> {
        let mut found = Vec::new();
        while let Some(stretch) = search.next() {
            self.consistently(|connection| {
                let left = walk(connection, stretch, &mut |passed| {
                    found.extend(passed.findings.iter().filter_map(damaged));
                    ControlFlow::Continue(())
                })?;
                found.extend(left.iter().filter_map(damaged));
                Ok(())
            })?;
        }
        // One that stands at a border is found from both sides.
        found.sort();
        found.dedup();
        Ok(found)
    }
}

/// The fact that a finding is about, where it is not to be believed. Of the last fact of a device nothing tells whether the content was
/// changed or the link; it is not taken on trust.
fn damaged(finding: &Finding) -> Option<FactId> {
    match finding {
        Finding::Link { differs: Difference::Link, .. } => None,
        Finding::Link { id, .. } => Some(id.clone()),
        Finding::Gap { expected, found } => (*found > expected.n).then(|| expected.clone()),
        Finding::Unreadable(id) => id.clone(),
    }
}
