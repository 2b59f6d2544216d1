//! A fact on its way in, between its name and the log: decided, and completed where the cellar can tell what it leaves open.
//!
//! **An act is completed** (`Job::completed`, called by `desk/candidate.rs`): what it leaves open and an estimate can tell is worked out on
//! the state that it is decided on and stands in the log, so that the fold only adds up and no book changes when the estimate does. History
//! is never completed. A move that empties a barrel is given what evaporated before, never more than what was measured leaves room for; a
//! gauging is given where that went which is missing.

use std::cell::OnceCell;

use rustc_hash::FxHashMap;

use super::admit::{Admitted, Deciding, IncomingLine, Surprises};
use super::error::DeskError;
use crate::cellar::core::decide::decide_despite;
use crate::cellar::core::fact::{Device, FactError, FactId, FactKey, Line, Stamp, What, body_text};
use crate::cellar::core::label::Text;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;

/// A fact that has its name, before it is decided.
pub(super) struct Candidate<'a> {
    /// The number of its line, for what is said of it.
    pub number: u64,
    /// The fact as it is written.
    pub line: Line,
    /// What it says, as it came.
    came: &'a What,
    /// What it says, where something was left open that the cellar can tell.
    whole: OnceCell<What>,
    /// Whether it is decided here, or was accepted on another laptop.
    pub intent: bool,
    /// Whether it says why it was done despite a hold or a checklist.
    despite: Option<&'a Text>,
}

impl<'a> Candidate<'a> {
    /// A candidate of a line under a name.
    pub fn of(line: &'a IncomingLine, id: FactId, now: Moment, intent: bool) -> Candidate<'a> {
        let fact = &line.fact;
        Candidate {
            number: line.number,
            line: Line {
                id,
                at: fact.at,
                // What has its name already must come out the same on every laptop that takes it in: the chain is over all of it.
                written: fact.written.unwrap_or(if intent { now } else { fact.at }),
                by: fact.by.clone(),
                version: fact.version,
                kind: fact.what.kind().into(),
                body: line.body.clone(),
                job: fact.job.clone(),
                note: fact.note.clone(),
            },
            came: &fact.what,
            whole: OnceCell::new(),
            intent,
            despite: fact.despite.as_ref(),
        }
    }

    /// What it says.
    pub fn what(&self) -> &What {
        self.whole.get().unwrap_or(self.came)
    }

    /// What the fold needs of it.
    pub fn stamp(&self) -> Stamp {
        Stamp { id: self.line.id.clone(), at: self.line.at, despite: self.despite.is_some() }
    }

    /// Its place in the order.
    pub fn key(&self) -> FactKey {
        self.stamp().key()
    }

    /// Its line with all that it says.
    pub fn into_line(self) -> Result<Line, FactError> {
        let Some(whole) = self.whole.get() else { return Ok(self.line) };
        Ok(Line { body: body_text(whole.body()?, self.despite), ..self.line })
    }

    /// Decides an act, looks at what would surprise about it, and completes it by what the cellar tells on this state.
    pub fn is_permitted(&self, state: &State, deciding: Deciding, outcome: &mut Admitted) -> bool {
        if let Err(refusal) = decide_despite(state, self.came, self.despite.is_some(), self.line.at, deciding.now) {
            outcome.refused.push((self.number, refusal.into()));
            return false;
        }
        if let Some(whole) = self.came.deed().whole(state, self.line.at) {
            // An act is decided once; of a second time nothing would be kept.
            let _ = self.whole.set(whole);
        }
        if deciding.surprises == Surprises::AskedBefore {
            return true;
        }
        outcome.ask(self.number, &self.came.deed().asked(state, self.line.at), deciding.surprises)
    }
}

/// The lines in the order in which they came, but none before an earlier one of its own device.
pub(super) fn in_order_of_arrival(candidates: Vec<Candidate<'_>>) -> Result<Vec<Line>, DeskError> {
    let mut next: FxHashMap<Device, u64> = FxHashMap::default();
    for Candidate { line, .. } in &candidates {
        match next.get_mut(&line.id.device) {
            Some(least) => *least = line.id.n.min(*least),
            None => drop(next.insert(line.id.device.clone(), line.id.n)),
        }
    }
    let mut early: FxHashMap<FactId, Line> = FxHashMap::default();
    let mut lines = Vec::with_capacity(candidates.len());
    for candidate in candidates {
        let line = candidate.into_line()?;
        let Some(next) = next.get_mut(&line.id.device) else { continue };
        let mut id = line.id.clone();
        early.insert(id.clone(), line);
        id.n = *next;
        while let Some(line) = early.remove(&id) {
            lines.push(line);
            id.n += 1;
        }
        *next = id.n;
    }
    Ok(lines)
}
