//! Undo and redo: an act of this laptop is taken back by further facts, and given back by further ones.

use super::Desk;
use super::admit::Surprises;
use super::enter::Act;
use super::error::DeskError;
use crate::cellar::core::fact::{Fact, FactId, What};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::jobs::wood::moving::Purpose;

/// How many facts are looked at in one go.
const PAGE: usize = 64;

/// What was undone or redone.
#[derive(Clone, Debug, PartialEq)]
pub struct Undone {
    /// The facts of the act, first things first.
    pub facts: Vec<Fact>,
}

impl Desk {
    /// Takes back the last act of this laptop that still stands. Repeated, it goes further back.
    pub fn undo(&mut self, by: &Label, now: Moment) -> Result<Undone, DeskError> {
        self.undo_told(by, now, Surprises::AskedBefore)
    }

    /// The same; where later facts rest on it, that may be asked first.
    pub fn undo_told(&mut self, by: &Label, now: Moment, surprises: Surprises) -> Result<Undone, DeskError> {
        self.refresh_to_write()?;
        let last = self.find_own(|desk, fact| {
            let stands = !matches!(fact.what, What::Retracted(_)) && !desk.retractions.contains(&fact.id);
            if stands { Search::Found } else { Search::GoOn }
        })?;
        let facts = self.act_with(&last.ok_or(DeskError::NothingToUndo)?.id)?;
        self.take_back(&facts, by, "undo", now, surprises)?;
        Ok(Undone { facts })
    }

    /// Gives back what was undone last. Repeated, it goes on until all undone is back, or something new was entered.
    pub fn redo(&mut self, by: &Label, now: Moment) -> Result<Undone, DeskError> {
        self.redo_told(by, now, Surprises::AskedBefore)
    }

    /// The same; where later facts would not fit with it, that may be asked first.
    pub fn redo_told(&mut self, by: &Label, now: Moment, surprises: Surprises) -> Result<Undone, DeskError> {
        self.refresh_to_write()?;
        let last = self.find_own(|desk, fact| match &fact.what {
            What::Retracted(retracted) => {
                let is_undo = !desk.is_retraction(&retracted.of);
                if is_undo && !desk.retractions.contains(&fact.id) { Search::Found } else { Search::GoOn }
            }
            _ => Search::Stop,
        })?;
        let undoings = self.act_with(&last.ok_or(DeskError::NothingToRedo)?.id)?;
        let facts = self.log.at_one_instant(|| -> Result<_, DeskError> {
            let mut facts = Vec::new();
            for undoing in &undoings {
                if let What::Retracted(retracted) = &undoing.what
                    && let Some(line) = self.log.line(&retracted.of)?
                {
                    facts.push(line.fact()?);
                }
            }
            Ok(facts)
        })?;
        self.take_back(&undoings, by, "redo", now, surprises)?;
        Ok(Undone { facts })
    }

    fn take_back<'a>(
        &mut self,
        facts: impl IntoIterator<Item = &'a Fact>,
        by: &Label,
        why: &str,
        now: Moment,
        surprises: Surprises,
    ) -> Result<(), DeskError> {
        let facts = Desk::taken_back(facts, why, self.never_back(now))?;
        self.enter_dated(&Act::of(Vec::new(), by.clone()), &facts, (now, surprises))?;
        Ok(())
    }

    fn is_retraction(&self, id: &FactId) -> bool {
        self.retractions.iter().any(|(key, _)| key.id == *id)
    }

    /// Walks this laptop's facts, the newest first.
    fn find_own(&self, judge: impl Fn(&Desk, &Fact) -> Search) -> Result<Option<Fact>, DeskError> {
        let mut before = None;
        loop {
            let page = self.log.tail_of(self.device(), before, PAGE)?;
            let Some(oldest) = page.last() else { return Ok(None) };
            before = Some(oldest.id.n);
            for line in &page {
                let fact = line.fact()?;
                match judge(self, &fact) {
                    Search::Found => return Ok(Some(fact)),
                    Search::Stop => return Ok(None),
                    Search::GoOn => {}
                }
            }
        }
    }
}

enum Search {
    Found,
    GoOn,
    Stop,
}

impl Undone {
    /// The vessel that the act was about, if it was about one.
    #[must_use]
    pub fn vessel(&self) -> Option<&Label> {
        self.done().next().and_then(|what| match what {
            // One stands at the vessel that gives, not at the tank.
            What::WineMoved(moved) if matches!(moved.purpose, Purpose::Racking | Purpose::Blend) => Some(&moved.from),
            what => what.deed().subject(),
        })
    }

    /// What was done, without what was taken back for it.
    pub fn done(&self) -> impl Iterator<Item = &What> {
        self.facts.iter().map(|fact| &fact.what).filter(|what| !matches!(what, What::Retracted(_)))
    }
}
