//! Entering: what a person does at the screen becomes facts, dated now.

use super::Desk;
use super::admit::{Deciding, IncomingLine, Surprises, Together};
use super::error::DeskError;
use crate::cellar::fact::{FactId, IncomingFact, What, body_text};
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
    /// Why it is done though a hold or a checklist bars it.
    pub despite: Option<Text>,
}

impl Act {
    /// An act with no words beside it.
    #[must_use]
    pub const fn of(whats: Vec<What>, by: Label) -> Act {
        Act { whats, by, note: None, despite: None }
    }
}

impl Desk {
    /// Enters an act as of now: all its facts are on disk when this returns, or none is.
    pub fn enter(&mut self, act: &Act, now: Moment) -> Result<Vec<FactId>, DeskError> {
        self.refresh()?;
        self.enter_at(act, self.never_back(now), now)
    }

    /// Enters an act as of a moment that the program chose.
    pub(super) fn enter_at(&mut self, act: &Act, at: Moment, now: Moment) -> Result<Vec<FactId>, DeskError> {
        let despite = act.despite.as_ref();
        // What is bottled over open items is waived by the same act.
        let waivers = despite.map_or_else(Vec::new, |why| self.state().waivers(&act.whats, why));
        let waivers = waivers.iter().map(|waiver| (waiver, None));
        let whats = waivers.chain(act.whats.iter().map(|what| (what, despite)));
        let mut incoming = Vec::with_capacity(act.whats.len());
        for ((what, despite), number) in whats.zip(1..) {
            incoming.push(IncomingLine {
                number,
                body: body_text(what.body()?, despite),
                fact: IncomingFact {
                    id: None,
                    at,
                    written: Some(now),
                    by: act.by.clone(),
                    version: what.version(),
                    what: what.clone(),
                    job: None,
                    note: act.note.clone(),
                    despite: despite.cloned(),
                },
            });
        }
        // Where this laptop's clock was put back, its next facts lie ahead of it; that is no slip of the person's.
        let clock = if at.instant() > now.instant() { at } else { now };
        let deciding = Deciding { now: clock, surprises: Surprises::AskedBefore };
        let outcome = self.admit(&incoming, deciding, Together::Yes)?;
        match outcome.refused.into_iter().next() {
            Some((_, why)) => Err(DeskError::Refused(why)),
            None => Ok(outcome.taken),
        }
    }

    /// A clock that jumps back never reorders this laptop's facts: a new one is not dated before the latest.
    pub(super) fn never_back(&self, now: Moment) -> Moment {
        match self.heads.own_latest() {
            Some(latest) if latest > now.instant() => now.at_instant(latest),
            _ => now,
        }
    }
}
