//! Mending dates: what was entered while this laptop's clock was wrong is taken back and entered anew with the date that it should have,
//! as one act.

use std::collections::BTreeMap;
use std::fmt;
use std::ops::ControlFlow;

use super::Desk;
use super::anew::lines;
use super::error::DeskError;
use crate::cellar::core::clock::{CLOCK_SLACK_MICROSECONDS, lies_ahead};
use crate::cellar::core::fact::{Device, Fact, FactId, Line, What};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::units::{by_count, counted};

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

/// What was entered while a clock was wrong.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DatedWrongly {
    /// The facts that can be given another date, in the order in which they happened.
    pub facts: Vec<Fact>,
    /// What stays as it is dated.
    pub left: Vec<LeftTrial>,
}

/// A trial that stays as it is dated, since it was revealed: what was said while it was sealed is not entered anew, nor half of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftTrial {
    /// Which trial.
    pub trial: Label,
    /// How many facts of it are dated wrongly.
    pub facts: usize,
}

impl fmt::Display for LeftTrial {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let stay = by_count(u64::try_from(self.facts).unwrap_or(u64::MAX), "stays as it is", "stay as they are");
        write!(f, "{} of the trial '{}' {stay} dated: it was revealed", counted(self.facts, "entry"), self.trial)?;
        f.write_str(", and what was said while it was sealed is not entered anew.")
    }
}

/// When facts should have been dated.
#[derive(Clone, Debug, PartialEq)]
pub struct Mending {
    /// The facts that stand, in the order in which they happened, each with its true date. A fact that was entered by a right clock, but
    /// dated after an earlier one that was not, happened when it was entered.
    pub facts: Vec<(Fact, Moment)>,
}

impl Desk {
    /// What is dated wrongly and still stands.
    pub fn misdated(&self, which: &Misdated, now: Moment) -> Result<DatedWrongly, DeskError> {
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
        let mut wrongly = DatedWrongly::default();
        for fact in facts {
            match self.state().revealed_trial_of(&fact.what).cloned() {
                None => wrongly.facts.push(fact),
                Some(trial) => wrongly.leave(trial),
            }
        }
        Ok(wrongly)
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

impl DatedWrongly {
    fn leave(&mut self, trial: Label) {
        match self.left.iter_mut().find(|left| left.trial == trial) {
            Some(left) => left.facts += 1,
            None => self.left.push(LeftTrial { trial, facts: 1 }),
        }
    }

    /// How many facts there are of each name, where it is of several: each was by its own time.
    #[must_use]
    pub fn devices(&self) -> Vec<(Device, usize)> {
        let mut counts: BTreeMap<&Device, usize> = BTreeMap::new();
        for fact in &self.facts {
            *counts.entry(&fact.id.device).or_default() += 1;
        }
        counts.into_iter().map(|(device, count)| (device.clone(), count)).collect()
    }

    /// What stays as it is dated, a sentence each.
    #[must_use]
    pub fn left_words(&self) -> String {
        self.left.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
    }
}

impl Mending {
    /// What it comes to in words: `2 dates mended, the first: topped 0417, 27 Nov, 08:12 instead of 27 Nov 2027, 08:12`.
    #[must_use]
    pub fn told(&self, done: &str) -> String {
        let count = counted(self.facts.len(), "date");
        let first = self.facts.first().map_or_else(String::new, |(fact, at)| {
            let about = fact.what.deed().subject().map_or_else(String::new, |about| format!(" {about}"));
            let kind = fact.what.kind().replace('_', " ");
            let day = |moment: Moment| format!("{}, {}", moment.show_date(), moment.show_time());
            format!(", the first: {kind}{about}, {} instead of {}", day(*at), day(fact.at))
        });
        format!("{count} {done}{first}")
    }

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
