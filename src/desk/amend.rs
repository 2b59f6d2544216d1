//! One fact of the log is put right, whoever entered it and whenever: it is taken back and entered anew with other words, another date or another
//! name, as one act. Or it is taken back and nothing takes its place.
//!
//! **One fact of the log is put right** by `desk/amend.rs` (`Correction::Amended`): taken back and entered anew (`desk/anew.rs`, as
//! `mend_dates` does), by whom and when it was. At the moment of the old one the new one comes last; where what stands at that very moment
//! rests on it (a spreadsheet's lines), it is tried a microsecond earlier, then with these entered anew behind it. What is only taken back
//! keeps a note, since an act of mere retractions is none that undo finds.

use std::ops::ControlFlow;

use super::Desk;
use super::admit::{Deciding, IncomingLine, Surprises};
use super::anew::lines;
use super::enter::Act;
use super::error::DeskError;
use crate::cellar::core::fact::{Fact, FactId, Line, What};
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::jobs::floor::noting::Noted;
use crate::log::ScanStart;

/// Why a fact is taken back where the right one takes its place.
const CORRECTED: &str = "corrected";
/// Why a fact is taken back where nothing takes its place.
const TAKEN_BACK: &str = "taken back";
/// How many facts are looked at in one go.
const PAGE: usize = 256;

/// One fact put right. What is none stays as it was.
#[derive(Clone, Debug, PartialEq)]
pub struct Amendment {
    /// The fact.
    pub of: FactId,
    /// What it says; of the same kind.
    pub what: Option<What>,
    /// When it happened.
    pub at: Option<Moment>,
    /// Who did it.
    pub by: Option<Label>,
    /// The words beside it, or that there are none.
    pub note: Option<Option<Text>>,
    /// Why it was done though a hold or a checklist bars it.
    pub despite: Option<Text>,
}

/// Facts that are taken back, with nothing in their place.
#[derive(Clone, Debug, PartialEq)]
pub struct TakingBack {
    /// The facts that stand.
    pub of: Vec<FactId>,
    /// What is kept of it: `taken back: 2.5 L lost from 0417`. By these words undo finds the act.
    pub words: Text,
}

impl Amendment {
    /// A fact as it is.
    #[must_use]
    pub const fn of(of: FactId) -> Amendment {
        Amendment { of, what: None, at: None, by: None, note: None, despite: None }
    }

    /// The fact as it should have been entered; none where it says the same.
    fn amended(&self, fact: &Fact) -> Option<Fact> {
        let amended = Fact {
            what: self.what.clone().unwrap_or_else(|| fact.what.clone()),
            at: self.at.unwrap_or(fact.at),
            by: self.by.clone().unwrap_or_else(|| fact.by.clone()),
            note: self.note.clone().unwrap_or_else(|| fact.note.clone()),
            despite: self.despite.clone().or_else(|| fact.despite.clone()),
            ..fact.clone()
        };
        (amended != *fact).then_some(amended)
    }
}

impl Desk {
    /// Puts one fact right. What would surprise, and which later facts would no longer fit, is asked first unless it was answered; with no answers
    /// nothing is asked.
    pub fn amend(
        &mut self,
        amendment: &Amendment,
        by: &Label,
        now: Moment,
        answered: Option<&[Question]>,
    ) -> Result<Vec<FactId>, DeskError> {
        let lines = self.amended(amendment, by, now)?;
        self.enter_anew(&lines, now, answered)
    }

    /// Tries it and enters nothing: what would be asked about it, unless it would be refused.
    pub fn rehearse_amendment(
        &mut self,
        amendment: &Amendment,
        by: &Label,
        now: Moment,
    ) -> Result<Vec<Question>, DeskError> {
        let lines = self.amended(amendment, by, now)?;
        self.asked_of(&lines, now)
    }

    /// The lines that put a fact right: at the moment of the old one it stands behind all others of that moment, so that it stands before them where
    /// that does not do, or what rests on it at that moment is entered anew behind it.
    fn amended(&mut self, amendment: &Amendment, by: &Label, now: Moment) -> Result<Vec<IncomingLine>, DeskError> {
        self.refresh_to_write()?;
        let fact = self.standing(&amendment.of)?;
        if matches!(fact.what, What::Retracted(_)) {
            return Err(Refusal::TakesBack(fact.id).into());
        }
        let amended = amendment.amended(&fact).ok_or_else(|| Refusal::NothingChanged(fact.id.clone()))?;
        let at = amended.at;
        let alone = |at: Moment| lines(&[(amended.clone(), at)], CORRECTED, by, now);
        let first = alone(at)?;
        if at != fact.at || self.is_fit(&first, now) {
            return Ok(first);
        }
        let before = alone(at.at_instant(at.instant() - 1))?;
        if self.is_fit(&before, now) {
            return Ok(before);
        }
        let behind = self.behind(&fact)?;
        if behind.is_empty() {
            return Ok(first);
        }
        let anew: Vec<(Fact, Moment)> =
            std::iter::once((amended, at)).chain(behind.into_iter().map(|fact| (fact, at))).collect();
        let together = lines(&anew, CORRECTED, by, now)?;
        Ok(if self.is_fit(&together, now) { together } else { first })
    }

    /// Whether lines are taken, and all later facts fit with them.
    fn is_fit(&mut self, lines: &[IncomingLine], now: Moment) -> bool {
        let no_longer_fits = |question: &Question| matches!(question, Question::NoLongerFits { .. });
        self.asked_of(lines, now).is_ok_and(|asked| !asked.iter().any(no_longer_fits))
    }

    fn asked_of(&mut self, lines: &[IncomingLine], now: Moment) -> Result<Vec<Question>, DeskError> {
        let tried = self.rehearse_told(lines, Deciding { now, surprises: Surprises::Asked })?;
        match tried.refused.into_iter().next() {
            Some((_, why)) => Err(why.into()),
            None => Ok(tried.asked),
        }
    }

    /// The facts that stand behind another at the same instant and are about the same thing.
    fn behind(&self, fact: &Fact) -> Result<Vec<Fact>, DeskError> {
        let mut behind = Vec::new();
        self.log.scan_lines(&ScanStart::From(fact.at.instant()), &mut |raw| {
            if raw.fact.at.instant() > fact.at.instant() {
                return ControlFlow::Break(());
            }
            if raw.fact.key() > fact.key() && !self.retractions.contains(&raw.fact.id()) {
                behind.extend(raw.whole());
            }
            ControlFlow::Continue(())
        })?;
        let mut facts = behind.iter().map(Line::fact).collect::<Result<Vec<_>, _>>()?;
        let about = fact.what.deed().subject();
        facts.retain(|other| !matches!(other.what, What::Retracted(_)) && other.what.deed().subject() == about);
        Ok(facts)
    }

    /// Takes facts back, unless something is asked about that which was not answered.
    pub fn take_back_told(
        &mut self,
        taking: &TakingBack,
        by: &Label,
        now: Moment,
        answered: &[Question],
    ) -> Result<Vec<FactId>, DeskError> {
        let facts = self.taken_back_with_words(taking, by, now)?;
        self.enter_unless_asked(&Act::of(Vec::new(), by.clone()), &facts, (now, answered))
    }

    /// Tries it and enters nothing: what would be asked about it, unless it would be refused.
    pub fn rehearse_taking_back(
        &mut self,
        taking: &TakingBack,
        by: &Label,
        now: Moment,
    ) -> Result<Vec<Question>, DeskError> {
        let facts = self.taken_back_with_words(taking, by, now)?;
        let (lines, clock) = Desk::lines_of(&Act::of(Vec::new(), by.clone()), &facts, now)?;
        self.asked_of(&lines, clock)
    }

    fn taken_back_with_words(
        &mut self,
        taking: &TakingBack,
        by: &Label,
        now: Moment,
    ) -> Result<Vec<(What, Moment)>, DeskError> {
        self.refresh_to_write()?;
        let facts = self.in_order(&taking.of)?;
        let about = facts.first().and_then(|fact| fact.what.deed().subject().cloned());
        let mut whats = Desk::taken_back(&facts, TAKEN_BACK, self.never_back(now))?;
        // The words stand for it: what only takes back would be no act that undo finds.
        let at = whats.last().map_or(now, |(_, at)| *at);
        let noted = Noted { about: about.unwrap_or_else(|| by.clone()), text: taking.words.clone() };
        whats.push((What::Noted(noted), at));
        Ok(whats)
    }

    /// The facts that still stand of the act with which a fact was entered, first things first.
    pub fn act_with(&self, id: &FactId) -> Result<Vec<Fact>, DeskError> {
        let fact = self.standing(id)?;
        let Some(job) = fact.job.clone() else { return Ok(vec![fact]) };
        // The numbers of an act follow each other.
        let mut last = fact;
        loop {
            let next = FactId { n: last.id.n + 1, ..last.id.clone() };
            match self.log.line(&next)?.filter(|line| line.job.as_ref() == Some(&job)) {
                Some(line) => last = line.fact()?,
                None => break,
            }
        }
        let (device, mut before) = (last.id.device.clone(), last.id.n.saturating_add(1));
        let mut facts = Vec::new();
        'pages: loop {
            let page = self.log.tail_of(&device, Some(before), PAGE)?;
            if page.is_empty() {
                break;
            }
            for line in &page {
                if line.job.as_ref() != Some(&job) {
                    break 'pages;
                }
                before = line.id.n;
                if !self.retractions.contains(&line.id) {
                    facts.push(line.fact()?);
                }
            }
        }
        facts.reverse();
        Ok(facts)
    }
}
