//! Entering: what a person does at the screen becomes facts, dated now. An act that takes earlier facts back and puts others
//! in their place is dated as the first of those was.
//!
//! **A correction** is an act with `Act::replaces` (`desk/enter.rs`): the facts it names are retracted, and what was done is decided on the
//! state without them, as of when the first of them happened. `Desk::enter_answered` asks first what surprises then, which later facts
//! would no longer fit and which claims it costs. Which facts those are the state knows (`cellar/core/doing.rs`: `Vessel::lately`, what was
//! done in open rounds and works and in the half day before); the new fact is the old one with another measure
//! (`cellar/views/topping/correcting.rs`), so that a batch or lees stay said. Of several toppings one takes the place of all, unless they
//! came from several vessels: then the last gave the rest. Undo needs no rule: it takes back the retraction too.

use std::collections::BTreeMap;

use super::Desk;
use super::admit::{Deciding, IncomingLine, Surprises, Together};
use super::error::DeskError;
use crate::cellar::core::clock::{CLOCK_SLACK_MICROSECONDS, lies_ahead};
use crate::cellar::core::fact::{Fact, FactId, IncomingFact, What, body_text};
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::jobs::books::retraction::Retracted;

/// Why a fact is taken back where another takes its place.
const REPLACED: &str = "replaced";

/// Something that a person did, in one or several facts that stand or fall together.
#[derive(Clone, Debug, PartialEq)]
pub struct Act {
    /// What was done.
    pub whats: Vec<What>,
    /// Who did it.
    pub by: Label,
    /// When it was done, where that is another time than now.
    pub at: Option<Moment>,
    /// Words beside it.
    pub note: Option<Text>,
    /// Why it is done though a hold or a checklist bars it.
    pub despite: Option<Text>,
    /// The facts that it takes back. What was done is then decided as if they had never been, as of when the first of them
    /// happened.
    pub replaces: Vec<FactId>,
}

impl Act {
    /// An act with no words beside it.
    #[must_use]
    pub const fn of(whats: Vec<What>, by: Label) -> Act {
        Act { whats, by, at: None, note: None, despite: None, replaces: Vec::new() }
    }
}

impl Desk {
    /// Enters an act as of now, as of when it was done, or as of what it replaces: all its facts are on disk when this returns, or none is.
    pub fn enter(&mut self, act: &Act, now: Moment) -> Result<Vec<FactId>, DeskError> {
        let facts = self.facts_of(act, now)?;
        self.enter_dated(act, &facts, (now, Surprises::AskedBefore))
    }

    /// The same, unless something about it would surprise that was not answered yet: then that is asked and nothing is stored.
    pub fn enter_answered(&mut self, act: &Act, now: Moment, answered: &[Question]) -> Result<Vec<FactId>, DeskError> {
        let facts = self.facts_of(act, now)?;
        self.enter_unless_asked(act, &facts, (now, answered))
    }

    /// Enters the facts of an act, unless something about them is asked that was not answered yet.
    pub(super) fn enter_unless_asked(
        &mut self,
        act: &Act,
        facts: &[(What, Moment)],
        (now, answered): (Moment, &[Question]),
    ) -> Result<Vec<FactId>, DeskError> {
        match self.enter_dated(act, facts, (now, Surprises::Asked)) {
            Err(DeskError::Asked(questions)) if questions.iter().all(|question| answered.contains(question)) => {
                self.enter_dated(act, facts, (now, Surprises::AskedBefore))
            }
            other => other,
        }
    }

    /// The facts of an act, each with its moment: first what it takes back, then what was done.
    fn facts_of(&mut self, act: &Act, now: Moment) -> Result<Vec<(What, Moment)>, DeskError> {
        self.refresh()?;
        let replaced = act.replaces.iter().map(|id| self.standing(id)).collect::<Result<Vec<_>, _>>()?;
        let today = self.never_back(now);
        let at = replaced.iter().map(|fact| fact.at).min_by_key(|at| at.instant());
        let at = at.or(act.at).unwrap_or(today);
        let mut facts = Desk::taken_back(&replaced, REPLACED, today)?;
        // What is bottled over open items is waived by the same act.
        let waivers = act.despite.as_ref().map_or_else(Vec::new, |why| self.state().waivers(&act.whats, why));
        let declared = if at.instant() < today.instant() { self.declared_before(act, at)? } else { Vec::new() };
        let before = declared.into_iter().chain(waivers);
        facts.extend(before.chain(act.whats.iter().cloned()).map(|what| (what, at)));
        Ok(facts)
    }

    /// What this house says by now of things that an act of before finds tested: what an old test found is no less known.
    fn declared_before(&self, act: &Act, at: Moment) -> Result<Vec<What>, DeskError> {
        let tests = act.whats.iter().filter_map(|what| if let What::Tested(test) = what { Some(test) } else { None });
        let tested = tests.filter_map(|test| test.values.as_ref()).flat_map(BTreeMap::keys);
        let declared = self.declared_later(tested.map(|analyte| (analyte, at.instant())).collect())?;
        Ok(declared.into_iter().map(What::AnalyteDeclared).collect())
    }

    /// A fact that stands. One that is taken back already was replaced by somebody else meanwhile.
    pub(super) fn standing(&self, id: &FactId) -> Result<Fact, DeskError> {
        let line = self.log.line(id)?;
        let line = line.ok_or_else(|| Refusal::UnknownFact(id.clone()))?;
        if self.retractions.contains(id) {
            return Err(Refusal::AlreadyRetracted(id.clone()).into());
        }
        Ok(line.fact()?)
    }

    /// The facts that take others back, each dated with when it is taken back.
    pub(super) fn taken_back<'a>(
        facts: impl IntoIterator<Item = &'a Fact>,
        why: &str,
        now: Moment,
    ) -> Result<Vec<(What, Moment)>, DeskError> {
        let why = Text::new(why)?;
        let mut at = now;
        let mut whats = Vec::new();
        for fact in facts {
            // What is taken back was before it is taken back, whatever the clocks say.
            // Only what lies ahead of a clock that is right, because the clock was wrong then, is taken back at its true time.
            if fact.at.instant() >= at.instant() && !lies_ahead(fact.at, now, CLOCK_SLACK_MICROSECONDS) {
                at = at.at_instant(fact.at.instant() + 1);
            }
            whats.push(What::Retracted(Retracted { of: fact.id.clone(), why: why.clone() }));
        }
        Ok(whats.into_iter().map(|what| (what, at)).collect())
    }

    /// Tries an act and enters nothing: what would be asked about it, unless it would be refused.
    pub fn rehearse_act(&mut self, act: &Act, now: Moment) -> Result<Vec<Question>, DeskError> {
        let facts = self.facts_of(act, now)?;
        let (lines, clock) = Desk::lines_of(act, &facts, now)?;
        let tried = self.rehearse_told(&lines, Deciding { now: clock, surprises: Surprises::Asked })?;
        match tried.refused.into_iter().next() {
            Some((_, why)) => Err(why.into()),
            None => Ok(tried.asked),
        }
    }

    /// Enters the facts of an act, each as of a moment that the program chose.
    pub(super) fn enter_dated(
        &mut self,
        act: &Act,
        facts: &[(What, Moment)],
        (now, surprises): (Moment, Surprises),
    ) -> Result<Vec<FactId>, DeskError> {
        let (lines, clock) = Desk::lines_of(act, facts, now)?;
        self.enter_lines(&lines, Deciding { now: clock, surprises })
    }

    /// The facts of an act as lines, and the clock that they are decided by.
    pub(super) fn lines_of(
        act: &Act,
        facts: &[(What, Moment)],
        now: Moment,
    ) -> Result<(Vec<IncomingLine>, Moment), DeskError> {
        let mut incoming = Vec::with_capacity(facts.len());
        let mut clock = now;
        for ((what, at), number) in facts.iter().zip(1..) {
            let at = *at;
            // Where this laptop's clock was put back, its next facts lie ahead of it; that is no slip of the person's.
            clock = if at.instant() > clock.instant() { at } else { clock };
            // What is waived, or taken back, is done despite nothing.
            let despite = act.despite.as_ref().filter(|_| !matches!(what, What::CheckWaived(_) | What::Retracted(_)));
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
        Ok((incoming, clock))
    }

    /// Enters lines as one act.
    pub(super) fn enter_lines(&mut self, lines: &[IncomingLine], deciding: Deciding) -> Result<Vec<FactId>, DeskError> {
        let outcome = self.admit(lines, deciding, Together::Yes)?;
        match outcome.refused.into_iter().next() {
            Some((_, why)) => Err(why.into()),
            None if !outcome.asked.is_empty() => Err(DeskError::Asked(outcome.asked)),
            None => Ok(outcome.taken),
        }
    }

    /// A clock that jumps back never reorders this laptop's facts: a new one is not dated before the latest. Nor is it dated before what
    /// is there from a laptop whose clock is a little ahead of this one: what that entered was there when this was done.
    pub(super) fn never_back(&self, now: Moment) -> Moment {
        let reached = self.live.reached.as_ref().filter(|reached| reached.id.device != *self.device());
        let behind = reached.map(|reached| now.at_instant(reached.instant.saturating_add(1)));
        let seen = behind.filter(|at| !lies_ahead(*at, now, CLOCK_SLACK_MICROSECONDS));
        let own = self.heads.own_latest().map(|latest| now.at_instant(latest));
        [own, seen].into_iter().flatten().chain([now]).max_by_key(|at| at.instant()).unwrap_or(now)
    }
}
