//! Correcting and settling: what was measured wrongly takes the place of the facts that said it, one fact is put right or taken back, and of
//! what two laptops did both facts stay or one of them.

use super::Desk;
use super::amend::{Amendment, TakingBack};
use super::enter::Act;
use super::error::DeskError;
use super::mend_dates::Mending;
use crate::cellar::core::fact::{Fact, FactId, What};
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::jobs::floor::noting::{Noted, SETTLED_WORDS};
use crate::cellar::views::topping::correcting::{Measured, corrected};

/// Why a fact is taken back where another laptop entered the same.
const SETTLED: &str = "entered on two laptops";

/// What is put right.
#[derive(Clone, Debug, PartialEq)]
pub enum Correction {
    /// What was measured wrongly, and what it comes to.
    Measured {
        /// The facts that said otherwise, on one occasion at one vessel.
        of: Vec<FactId>,
        /// What it comes to in all.
        to: Measured,
    },
    /// One fact says something else.
    Amended(Box<Amendment>),
    /// Facts are taken back, or given back where they take others back.
    TakenBack(TakingBack),
    /// Facts are given the dates that they should have.
    Dated(Mending),
}

/// What stays of what was done on two laptops.
#[derive(Clone, Debug, PartialEq)]
pub enum Settlement {
    /// All of it was done: a fact is entered anew as one that was meant.
    All(FactId),
    /// Only one was done: the others are taken back.
    Only {
        /// The one that was done.
        stays: FactId,
        /// The others.
        go: Vec<FactId>,
    },
}

impl Desk {
    /// Puts something right, as one act that one undo takes back.
    pub fn correct(
        &mut self,
        correction: &Correction,
        by: &Label,
        now: Moment,
        answered: &[Question],
    ) -> Result<Vec<FactId>, DeskError> {
        match correction {
            Correction::Measured { of, to } => self.remeasure(of, *to, (by, now), answered),
            Correction::Amended(amendment) => self.amend(amendment, by, now, Some(answered)),
            Correction::TakenBack(taking) => self.take_back_told(taking, by, now, answered),
            Correction::Dated(mending) => self.mend_dates(mending, by, now, Some(answered)),
        }
    }

    /// Puts right what was measured, dated as the first of the wrong facts was.
    fn remeasure(
        &mut self,
        of: &[FactId],
        to: Measured,
        (by, now): (&Label, Moment),
        answered: &[Question],
    ) -> Result<Vec<FactId>, DeskError> {
        self.refresh()?;
        let facts = self.in_order(of)?;
        let whats: Vec<What> = facts.iter().map(|fact| fact.what.clone()).collect();
        let (stay, what) = corrected(&whats, to).ok_or(Refusal::NotMeasuredSo)?;
        let last = facts.last();
        let act = Act {
            note: last.and_then(|fact| fact.note.clone()),
            despite: last.and_then(|fact| fact.despite.clone()),
            replaces: facts.iter().skip(stay).map(|fact| fact.id.clone()).collect(),
            ..Act::of(vec![what], by.clone())
        };
        self.enter_answered(&act, now, answered)
    }

    /// Settles what was done on two laptops, as one act.
    pub fn settle(
        &mut self,
        settlement: &Settlement,
        by: &Label,
        now: Moment,
        answered: &[Question],
    ) -> Result<Vec<FactId>, DeskError> {
        self.refresh()?;
        match settlement {
            Settlement::All(id) => {
                let fact = self.standing(id)?;
                let what = fact.what.meant().ok_or(Refusal::NotMeasuredSo)?;
                let (note, despite) = (fact.note, fact.despite);
                let act = Act { note, despite, replaces: vec![fact.id], ..Act::of(vec![what], by.clone()) };
                self.enter_answered(&act, now, answered)
            }
            Settlement::Only { stays, go } => {
                let fact = self.standing(stays)?;
                let go = self.in_order(go)?;
                let mut facts = Desk::taken_back(&go, SETTLED, self.never_back(now))?;
                // The words stand for the settlement: what only takes back would be no act that undo finds.
                let at = facts.last().map_or(now, |(_, at)| *at);
                facts.push((settled(&fact)?, at));
                self.enter_unless_asked(&Act::of(Vec::new(), by.clone()), &facts, (now, answered))
            }
        }
    }

    pub(super) fn in_order(&self, ids: &[FactId]) -> Result<Vec<Fact>, DeskError> {
        // All in one reading: of a whole list they are thousands.
        let all = || ids.iter().map(|id| self.standing(id)).collect::<Result<Vec<_>, DeskError>>();
        let mut facts = self.log.at_one_instant(all)?;
        facts.sort_by_cached_key(Fact::key);
        Ok(facts)
    }
}

/// The words that one of several facts is what was done.
fn settled(fact: &Fact) -> Result<What, DeskError> {
    let about = fact.what.deed().subject().unwrap_or(&fact.by).clone();
    let text = format!("{SETTLED_WORDS} it was done once, as {} entered it for {}", fact.by, fact.at.show_clock());
    let text = Text::new(&text)?;
    Ok(What::Noted(Noted { about, text }))
}
