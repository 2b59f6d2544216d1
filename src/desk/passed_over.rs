//! What is passed over: facts of the log that this program cannot read.
//!
//! A newer program may have entered kinds or versions that this one does not know. What is shown lacks them, so nothing can
//! be decided on it: a cellar in which there is one is open for reading only, and says so.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

use crate::cellar::core::fact::FactError;
use crate::cellar::core::label::harmless;
use crate::log::RawFact;
use crate::units::{by_count, counted};

/// So many kinds are named; how many others there are is counted.
const NAMED: usize = 4;

/// A fact that cannot be read.
#[derive(Clone, Debug)]
pub(super) struct Unread {
    kind: String,
    version: u32,
    why: FactError,
}

impl Unread {
    pub fn new(raw: &RawFact<'_>, why: FactError) -> Unread {
        Unread { kind: harmless(&raw.kind.chars().take(40).collect::<String>()), version: raw.version, why }
    }

    /// Whether it takes a newer program to read it.
    fn is_newer(&self) -> bool {
        matches!(self.why, FactError::UnknownKind(_) | FactError::NewerKind { .. })
    }
}

impl fmt::Display for Unread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "({}, version {}) cannot be read here. {}", self.kind, self.version, self.why)
    }
}

/// How many facts of a log cannot be read, by what they are.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PassedOver {
    newer: Arc<Counts>,
    unreadable: Arc<Counts>,
}

/// How many there are of a kind in a version.
type Counts = BTreeMap<(String, u32), u64>;

impl PassedOver {
    /// Whether every fact was read.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.newer.is_empty() && self.unreadable.is_empty()
    }

    pub(super) fn add(&mut self, unread: &Unread) {
        let counts = if unread.is_newer() { &mut self.newer } else { &mut self.unreadable };
        *Arc::make_mut(counts).entry((unread.kind.clone(), unread.version)).or_default() += 1;
    }
}

impl fmt::Display for PassedOver {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("This cellar is open for reading only: ")?;
        let newer = told(&self.newer, "needs a newer version of this program", "need a newer version of this program");
        let unreadable = told(&self.unreadable, "cannot be read", "cannot be read");
        let all: Vec<String> = [newer, unreadable].into_iter().flatten().collect();
        write!(f, "{}. What is shown lacks what they say.", all.join(", and "))?;
        f.write_str(if self.newer.is_empty() { " Run verify." } else { " Install the newer version." })
    }
}

/// How many facts there are and of which kinds, `3 facts need … (2 poured, version 1; 1 topped, version 2)`; none where there
/// are none.
fn told(counts: &Counts, of_one: &str, of_many: &str) -> Option<String> {
    let all: u64 = counts.values().sum();
    let named = counts.iter().take(NAMED).map(|((kind, version), count)| format!("{count} {kind}, version {version}"));
    let mut named: Vec<String> = named.collect();
    match counts.len().saturating_sub(NAMED) {
        0 => {}
        others => named.push(counted(others, "other kind")),
    }
    let named = named.join("; ");
    match all {
        0 => None,
        _ => Some(format!("{} {} ({named})", counted(all, "fact"), by_count(all, of_one, of_many))),
    }
}
