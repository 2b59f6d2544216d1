//! Mending dates: what was entered while this laptop's clock was wrong is taken back and entered anew with the date that it should have,
//! as one act.

use std::ops::ControlFlow;

use super::Desk;
use super::anew::lines;
use super::error::DeskError;
use crate::cellar::core::clock::{CLOCK_SLACK_MICROSECONDS, lies_ahead};
use crate::cellar::core::fact::{Device, Fact, FactId, Line, What};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;

/// Why a fact is taken back where the same takes its place under another date.
const MENDED: &str = "dated by a wrong clock";
/// How many facts are looked at in one go.
const PAGE: usize = 256;

/// Which facts are dated wrongly.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Misdated {
    /// All that lie ahead of the clock; with a device only what was entered under its name.
    Ahead(Option<Device>),
    /// The facts of a device from one number to another, both included.
    Between(Device, u64, u64),
}

/// When facts should have been dated.
#[derive(Clone, Debug, PartialEq)]
pub struct Mending {
    /// The facts that stand, in the order in which they happened, each with its true date. A fact that was entered by a right clock, but
    /// dated after an earlier one that was not, happened when it was entered.
    pub facts: Vec<(Fact, Moment)>,
}

impl Desk {
    /// The facts that are dated wrongly and still stand, in the order in which they happened.
    pub fn misdated(&self, which: &Misdated, now: Moment) -> Result<Vec<Fact>, DeskError> {
        let lines = match which {
            Misdated::Ahead(device) => {
                let mut lines = self.lines_ahead(now)?;
                lines.retain(|line| device.as_ref().is_none_or(|device| line.id.device == *device));
                lines
            }
            Misdated::Between(device, from, to) => self.lines_between(device, *from, *to)?,
        };
        let mut facts = lines.iter().map(Line::fact).collect::<Result<Vec<_>, _>>()?;
        facts.retain(|fact| !matches!(fact.what, What::Retracted(_)) && !self.retractions.contains(&fact.id));
        facts.sort_by_cached_key(Fact::key);
        Ok(facts)
    }

    fn lines_ahead(&self, now: Moment) -> Result<Vec<Line>, DeskError> {
        let mut ahead = Vec::new();
        if self.live.reached.as_ref().is_some_and(|reached| reached.instant > now.instant()) {
            self.log.export(Some(now), &mut |line| {
                if lies_ahead(line.at, now, CLOCK_SLACK_MICROSECONDS) {
                    ahead.push(line.clone());
                }
                ControlFlow::Continue(())
            })?;
        }
        Ok(ahead)
    }

    fn lines_between(&self, device: &Device, from: u64, to: u64) -> Result<Vec<Line>, DeskError> {
        let mut lines = Vec::new();
        let mut before = Some(to.saturating_add(1));
        loop {
            let page = self.log.tail_of(device, before, PAGE)?;
            before = page.last().map(|line| line.id.n);
            lines.extend(page.into_iter().filter(|line| line.id.n >= from));
            if before.is_none_or(|oldest| oldest <= from) {
                return Ok(lines);
            }
        }
    }

    /// Takes facts back and enters them anew with their true dates, as one act that one undo takes back. Who did them, and the words
    /// beside them, stay. What would no longer fit is asked first, unless it was answered.
    pub fn mend_dates(
        &mut self,
        mending: &Mending,
        by: &Label,
        now: Moment,
        answered: Option<&[Question]>,
    ) -> Result<Vec<FactId>, DeskError> {
        self.refresh_to_write()?;
        for (fact, _) in &mending.facts {
            self.standing(&fact.id)?;
        }
        let lines = lines(&mending.facts, MENDED, by, now)?;
        self.enter_anew(&lines, now, answered)
    }
}

impl Mending {
    /// The facts, those that were entered by the wrong clock moved together so that the first of them happened at a moment; none
    /// where it must be said when that was.
    #[must_use]
    pub fn of(facts: Vec<Fact>, which: &Misdated, first: Option<Moment>, now: Moment) -> Option<Mending> {
        let truly_written = |fact: &Fact| {
            matches!(which, Misdated::Ahead(_)) && !lies_ahead(fact.written, now, CLOCK_SLACK_MICROSECONDS)
        };
        let earliest = facts.iter().find(|fact| !truly_written(fact)).map(|fact| fact.at.instant());
        let shift = match (earliest, first) {
            (None, _) => 0,
            (Some(earliest), Some(first)) => first.instant().saturating_sub(earliest),
            (Some(_), None) => return None,
        };
        let true_date = |fact: &Fact| {
            if truly_written(fact) { fact.written } else { fact.at.at_instant(fact.at.instant().saturating_add(shift)) }
        };
        let facts = facts
            .into_iter()
            .map(|fact| {
                let at = true_date(&fact);
                (fact, at)
            })
            .collect();
        Some(Mending { facts })
    }
}
