//! Entering: what a person does at the screen becomes facts, dated now.

use serde_json::Value;

use super::Desk;
use super::admit::IncomingLine;
use super::error::DeskError;
use crate::cellar::fact::{FactId, IncomingFact, KIND_VERSION, What};
use crate::cellar::label::{Label, Text};
use crate::cellar::moment::Moment;

/// Something that a person did, in one or several facts that stand or fall together.
#[derive(Clone, Debug, PartialEq)]
pub struct Act {
    /// What was done.
    pub whats: Vec<What>,
    /// Who did it.
    pub by: Label,
    /// Words beside it.
    pub note: Option<Text>,
}

impl Desk {
    /// Enters an act as of now: all its facts are on disk when this returns, or none is.
    pub fn enter(&mut self, act: &Act, now: Moment) -> Result<Vec<FactId>, DeskError> {
        let at = self.never_back(now)?;
        self.enter_at(act, at, now)
    }

    /// Enters an act as of a moment.
    pub(super) fn enter_at(&mut self, act: &Act, at: Moment, now: Moment) -> Result<Vec<FactId>, DeskError> {
        let job = match act.whats.len() {
            0 | 1 => None,
            _ => Some(self.job_label()?),
        };
        let mut incoming = Vec::with_capacity(act.whats.len());
        for (what, number) in act.whats.iter().zip(1..) {
            incoming.push(IncomingLine {
                number,
                body: Value::Object(what.body()?).to_string(),
                fact: IncomingFact {
                    id: None,
                    at,
                    written: Some(now),
                    by: act.by.clone(),
                    version: KIND_VERSION,
                    what: what.clone(),
                    job: job.clone(),
                    note: act.note.clone(),
                },
            });
        }
        let outcome = self.admit(&incoming, now)?;
        match outcome.refused.into_iter().next() {
            Some((_, why)) => Err(DeskError::Refused(why)),
            None => Ok(outcome.taken),
        }
    }

    /// A clock that jumps back never reorders this laptop's facts: a new one is not dated before the last.
    fn never_back(&self, now: Moment) -> Result<Moment, DeskError> {
        let last = self.log.tail_of(self.device(), None, 1)?;
        Ok(match last.first() {
            Some(line) if line.at.instant() > now.instant() => now.at_instant(line.at.instant()),
            _ => now,
        })
    }

    /// A name for the facts of one act: the number that the first of them will have.
    fn job_label(&self) -> Result<Label, DeskError> {
        let last = self.log.tail_of(self.device(), None, 1)?.first().map_or(0, |line| line.id.n);
        Label::new(&format!("act {}", last + 1)).map_err(|error| DeskError::Refused(error.to_string()))
    }
}
