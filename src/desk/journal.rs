//! The journal: what was entered, by the day on which it happened. Each line is a fact as it stands in the log, also one that is taken
//! back, with who took it back.
//!
//! **The journal** (`desk/journal.rs`) has no index of days: the facts in their place are in order by position, so the first of a day is
//! found by halving (`log/dated.rs`), and late ones have their index. Going to another day looks through 20,000 facts at a time.

use std::ops::ControlFlow;

use chrono::{Days, NaiveDate, NaiveTime};
use rustc_hash::FxHashMap;
use serde_json::Value;

use super::Desk;
use super::error::DeskError;
use crate::cellar::core::fact::{FactId, Line, What};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::{DAY_MICROSECONDS, Moment};
use crate::cellar::core::state::State;
use crate::cellar::core::table::{Id, Labelled, Table};
use crate::log::{RawLine, ScanStart};

/// So many facts are looked through for a day before somebody else may have the desk: a few hundredths of a second.
const LOOKED_THROUGH: u64 = 20_000;
/// Back through time it is looked through so many days at once at the most.
const DAYS_AT_ONCE: u64 = 64;

/// A line of the journal.
#[derive(Clone, Debug, PartialEq)]
pub struct JournalLine {
    /// The fact as it stands in the log.
    pub line: Line,
    /// What it says; none where this program cannot read it.
    pub what: Option<What>,
    /// What it takes back or gives back, where it does.
    pub turns: Option<Turned>,
    /// That it does not count any more.
    pub gone: Option<Gone>,
}

/// What a fact takes back, or gives back where it takes back a taking back.
#[derive(Clone, Debug, PartialEq)]
pub struct Turned {
    /// What was done.
    pub what: What,
    /// Whether it counts again by that.
    pub gives_back: bool,
}

/// That a fact does not count any more.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gone {
    /// Who took it back; none of one that is damaged.
    pub by: Option<Label>,
}

/// Which lines are wanted: all, or those that all of this is true of.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wanted {
    /// Who entered them, in small letters or large.
    pub by: Option<Label>,
    /// Their kind.
    pub kind: Option<String>,
    /// What they name.
    pub about: Vec<About>,
}

/// Something that facts name.
#[derive(Clone, Debug, PartialEq)]
pub struct About {
    /// Its labels as facts write them; of a lot also those of the vessels that hold it, each since when.
    names: Vec<Name>,
}

#[derive(Clone, Debug, PartialEq)]
struct Name {
    label: Label,
    /// As it stands in a body.
    quoted: String,
    /// From which instant on it is meant.
    since: i64,
}

impl Name {
    fn of(label: &Label, since: i64) -> Name {
        Name { label: label.clone(), quoted: Value::from(label.as_str()).to_string(), since }
    }

    /// Whether the body of a fact names it.
    fn is_in(&self, body: &str) -> bool {
        // Another program may have written a letter as its code.
        let is_said = || serde_json::from_str(body).is_ok_and(|value: Value| says(&value, self.label.as_str()));
        body.contains(&self.quoted) || (body.contains('\\') && is_said())
    }
}

fn says(value: &Value, text: &str) -> bool {
    match value {
        Value::String(said) => said == text,
        Value::Array(values) => values.iter().any(|value| says(value, text)),
        Value::Object(fields) => fields.values().any(|value| says(value, text)),
        Value::Null | Value::Bool(_) | Value::Number(_) => false,
    }
}

/// How the things are and were called that a label is of: a fact of before names them by what they were called then.
fn called_too<'s>(state: &'s State, label: &Label) -> Vec<&'s Label> {
    fn of<'s, I: Id, T: Labelled + Clone>(things: &'s Table<I, T>, label: &str) -> Vec<&'s Label> {
        let found = things.find(label);
        found.map_or_else(Vec::new, |id| std::iter::once(things.get(id).label()).chain(things.former(id)).collect())
    }
    let text = label.as_str();
    [
        of(&state.vessels, text),
        of(&state.lots, text),
        of(&state.origins, text),
        of(&state.rooms, text),
        of(&state.stores, text),
    ]
    .concat()
}

impl About {
    /// What a label is of, by every label that it had. Of a lot it is also what was done since then at the vessels that hold it.
    #[must_use]
    pub fn of(state: &State, label: &Label) -> About {
        let mut names = vec![Name::of(label, i64::MIN)];
        let mut also = |other: &Label, since: i64| {
            if !names.iter().any(|name| name.label == *other && name.since <= since) {
                names.push(Name::of(other, since));
            }
        };
        for other in called_too(state, label) {
            also(other, i64::MIN);
        }
        if let Some(lot) = state.lots.find(label.as_str()) {
            for (id, vessel) in state.vessels.iter().filter(|(_, vessel)| vessel.lot == Some(lot)) {
                let Some(since) = vessel.filled.map(Moment::instant) else { continue };
                std::iter::once(&vessel.label).chain(state.vessels.former(id)).for_each(|label| also(label, since));
            }
        }
        About { names }
    }

    fn is_in(&self, body: &str, instant: i64) -> bool {
        self.names.iter().any(|name| name.since <= instant && name.is_in(body))
    }
}

/// Which way one goes through the days.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Toward {
    /// Back.
    Earlier,
    /// On.
    Later,
}

/// What came of looking for a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sought {
    /// The next day with such a line.
    Day(NaiveDate),
    /// There is none up to there; it may be looked on from that day.
    Farther(NaiveDate),
    /// There is none.
    Nothing,
}

/// The instants between which a day lies, whatever its clock on the wall showed.
fn window(day: NaiveDate) -> (i64, i64) {
    let midnight = day.and_time(NaiveTime::MIN).and_utc().timestamp_micros();
    (midnight.saturating_sub(DAY_MICROSECONDS), midnight.saturating_add(2 * DAY_MICROSECONDS))
}

impl Desk {
    /// The lines of a day by the clock on the wall, in the order in which it happened.
    pub fn journal_of(&self, day: NaiveDate, wanted: &Wanted) -> Result<Vec<JournalLine>, DeskError> {
        let mut lines = Vec::new();
        let (from, until) = window(day);
        self.journal(wanted, (from, until), &mut |line| {
            if line.line.at.date() == day {
                lines.push(line);
            }
        })?;
        Ok(lines)
    }

    /// Hands out the lines from an instant up to another, which is left out, in the order in which it happened.
    pub fn journal(
        &self,
        wanted: &Wanted,
        (from, until): (i64, i64),
        each: &mut dyn FnMut(JournalLine),
    ) -> Result<(), DeskError> {
        self.log.at_one_instant(|| {
            let takers = self.takers();
            let mut failed = None;
            self.log.scan_lines(&ScanStart::From(from), &mut |raw| {
                if raw.fact.at.instant() >= until {
                    return ControlFlow::Break(());
                }
                let line = self.wants(wanted, raw).and_then(|wants| {
                    let line = raw.whole().filter(|_| wants);
                    line.map(|line| self.journal_line(line, &takers)).transpose()
                });
                match line {
                    Ok(line) => line.into_iter().for_each(&mut *each),
                    Err(error) => {
                        failed = Some(error);
                        return ControlFlow::Break(());
                    }
                }
                ControlFlow::Continue(())
            })?;
            failed.map_or(Ok(()), Err)
        })
    }

    /// The next day after another, or the last before it, that has such a line. Where many facts were looked through it may be asked to look on.
    pub fn journal_day(&self, from: NaiveDate, toward: Toward, wanted: &Wanted) -> Result<Sought, DeskError> {
        self.log.at_one_instant(|| match toward {
            Toward::Later => self.later_day(from, wanted),
            Toward::Earlier => self.earlier_day(from, wanted),
        })
    }

    fn later_day(&self, from: NaiveDate, wanted: &Wanted) -> Result<Sought, DeskError> {
        let Some(next) = from.succ_opt() else { return Ok(Sought::Nothing) };
        let (mut seen, mut last, mut sought) = (0, from, Ok(Sought::Nothing));
        self.log.scan_lines(&ScanStart::From(window(next).0), &mut |raw| {
            let date = raw.fact.at.date();
            if date <= from {
                return ControlFlow::Continue(());
            }
            if seen >= LOOKED_THROUGH && date > last {
                sought = Ok(Sought::Farther(last));
                return ControlFlow::Break(());
            }
            (seen, last) = (seen + 1, date.max(last));
            match self.wants(wanted, raw) {
                Ok(false) => return ControlFlow::Continue(()),
                Ok(true) => sought = Ok(Sought::Day(date)),
                Err(error) => sought = Err(error),
            }
            ControlFlow::Break(())
        })?;
        sought
    }

    fn earlier_day(&self, from: NaiveDate, wanted: &Wanted) -> Result<Sought, DeskError> {
        // A fact of the day before may lie so far ahead by its instant.
        let mut until = window(from).1.saturating_sub(DAY_MICROSECONDS);
        let (mut seen, mut days) = (0, 1);
        // Once what the clock on the wall may hide is behind, empty stretches are leapt over.
        let mut first = from.checked_sub_days(Days::new(2));
        while let Some(day) = first {
            let begins = day.and_time(NaiveTime::MIN).and_utc().timestamp_micros();
            let mut latest = Ok(None);
            self.log.scan_lines(&ScanStart::From(begins), &mut |raw| {
                if raw.fact.at.instant() >= until {
                    return ControlFlow::Break(());
                }
                seen += 1;
                let date = raw.fact.at.date();
                if date < from {
                    match self.wants(wanted, raw) {
                        Ok(true) => latest = Ok(latest.clone().unwrap_or(None).max(Some(date))),
                        Ok(false) => {}
                        Err(error) => {
                            latest = Err(error);
                            return ControlFlow::Break(());
                        }
                    }
                }
                ControlFlow::Continue(())
            })?;
            if let Some(date) = latest? {
                return Ok(Sought::Day(date));
            }
            if seen >= LOOKED_THROUGH {
                return Ok(day.succ_opt().map_or(Sought::Nothing, Sought::Farther));
            }
            until = begins;
            let before = self.log.last_before(until)?;
            first =
                before.and_then(|before| before.at_instant(before.instant()).date().checked_sub_days(Days::new(days)));
            days = (days * 2).min(DAYS_AT_ONCE);
        }
        Ok(Sought::Nothing)
    }

    /// One fact as a line of the journal.
    pub fn journal_line_of(&self, id: &FactId) -> Result<Option<JournalLine>, DeskError> {
        self.log.at_one_instant(|| {
            let line = self.log.line(id)?;
            line.map(|line| self.journal_line(line, &self.takers())).transpose()
        })
    }

    /// Whether a line is wanted. One that takes another back is about what that is about.
    fn wants(&self, wanted: &Wanted, raw: RawLine<'_, '_>) -> Result<bool, DeskError> {
        let is_by =
            |by: &Label| raw.author() == by.as_str() || raw.author().to_lowercase() == by.as_str().to_lowercase();
        if wanted.by.as_ref().is_some_and(|by| !is_by(by)) {
            return Ok(false);
        }
        if wanted.kind.as_ref().is_some_and(|kind| kind != raw.fact.kind) {
            return Ok(false);
        }
        if wanted.about.is_empty() {
            return Ok(true);
        }
        let body = String::from_utf8_lossy(raw.fact.body);
        let instant = raw.fact.at.instant();
        let names_all = |body: &str| wanted.about.iter().all(|about| about.is_in(body, instant));
        if names_all(&body) {
            return Ok(true);
        }
        match What::of_version(raw.fact.kind, raw.fact.version, raw.fact.body) {
            Ok(What::Retracted(retracted)) if raw.fact.kind == "retracted" => {
                Ok(self.turned(&retracted.of)?.is_some_and(|(line, _)| names_all(&line.body)))
            }
            _ => Ok(false),
        }
    }

    /// What takes back what, as it stands.
    fn takers(&self) -> FxHashMap<&FactId, &FactId> {
        let standing = self.retractions.iter().filter(|(key, _)| !self.retractions.contains(&key.id));
        standing.map(|(key, of)| (of, &key.id)).collect()
    }

    /// A fact of the log as a line of the journal.
    fn journal_line(&self, line: Line, takers: &FxHashMap<&FactId, &FactId>) -> Result<JournalLine, DeskError> {
        let what = line.fact().ok().map(|fact| fact.what);
        let turns = match &what {
            Some(What::Retracted(retracted)) => self
                .turned(&retracted.of)?
                .and_then(|(line, gives_back)| Some(Turned { what: line.fact().ok()?.what, gives_back })),
            _ => None,
        };
        let mut gone = None;
        if self.retractions.contains(&line.id) {
            let by = match takers.get(&line.id) {
                Some(taker) => self.log.line(taker)?.map(|taker| taker.by),
                None => None,
            };
            gone = Some(Gone { by });
        }
        Ok(JournalLine { line, what, turns, gone })
    }

    /// The fact that is taken back in the end by taking another back, and whether it counts again by that.
    fn turned(&self, of: &FactId) -> Result<Option<(Line, bool)>, DeskError> {
        let mut gives_back = false;
        let mut seen = vec![of.clone()];
        let mut line = self.log.line(of)?;
        while let Some(What::Retracted(retracted)) = line.as_ref().and_then(|line| line.fact().ok()).map(|it| it.what) {
            if seen.contains(&retracted.of) {
                return Ok(None);
            }
            gives_back = !gives_back;
            line = self.log.line(&retracted.of)?;
            seen.push(retracted.of);
        }
        Ok(line.map(|line| (line, gives_back)))
    }
}

impl JournalLine {
    /// Whether it was entered in one act with another: as one piece of work, or in the same moment on the same laptop.
    #[must_use]
    pub fn is_of_act(&self, other: &JournalLine) -> bool {
        let (one, other) = (&self.line, &other.line);
        one.id.device == other.id.device
            && match (&one.job, &other.job) {
                (Some(one), Some(other)) => one == other,
                (None, None) => one.written == other.written,
                _ => false,
            }
    }

    /// What counts no more, or counts again, where it is taken back; none where it does not count.
    #[must_use]
    pub fn if_taken_back(&self) -> Option<(&What, bool)> {
        if self.gone.is_some() {
            return None;
        }
        match (&self.turns, &self.what) {
            (Some(turned), _) => Some((&turned.what, !turned.gives_back)),
            (None, what) => Some((what.as_ref()?, false)),
        }
    }

    /// Whether it was entered on another day than that on which it happened.
    #[must_use]
    pub fn is_of_another_day(&self) -> bool {
        self.line.written.date() != self.line.at.date()
    }

    /// The label that it is about; of one that takes another back what that is about.
    #[must_use]
    pub fn about(&self) -> Option<&Label> {
        let what = self.turns.as_ref().map(|turned| &turned.what).or(self.what.as_ref())?;
        what.deed().subject()
    }
}
