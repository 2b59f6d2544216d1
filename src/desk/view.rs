//! Looking back: the state as of a moment, what does not fit, where wine came from, the facts themselves.

use std::io;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use chrono::{NaiveDate, NaiveTime};

use super::Desk;
use super::error::DeskError;
use super::folding::{Content, Folded, Until, all_retractions, each_fact, fold_log};
use super::snapshot;
use crate::cellar::core::fact::{FactId, Line, Stamp, What};
use crate::cellar::core::label::{Label, harmless_json};
use crate::cellar::core::moment::{DAY_MICROSECONDS, Moment};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{Discrepancy, State};
use crate::cellar::views::books::ledger::{Period, ends_of_months};
use crate::cellar::views::books::lineage_tree::{LineageTree, Whose};
use crate::cellar::views::topping::backtest::Backtest;
use crate::cellar::views::topping::evaporation::{Evaporated, Observer};
use crate::log::{Backup, Position, ScanStart, Trouble, write_private};

/// What a verification found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verified {
    /// How many facts the log holds.
    pub facts: u64,
    /// How many devices wrote them.
    pub devices: u64,
    /// What is wrong, each a sentence. None: all is well.
    pub problems: Vec<String>,
    /// The facts that this program cannot read, each with what it is.
    pub unread: Vec<String>,
}

/// What a safe copy came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Copied {
    /// How many facts it holds.
    pub facts: u64,
    /// What is wrong with it, and so with the cellar, each a sentence. None: it is whole.
    pub problems: Vec<String>,
}

impl Copied {
    fn of(backup: &Backup) -> Copied {
        Copied { facts: backup.facts, problems: backup.problems.iter().map(ToString::to_string).collect() }
    }
}

impl Desk {
    /// When the last fact of a day happened, where one did.
    pub fn latest_of(&self, day: NaiveDate) -> Result<Option<Moment>, DeskError> {
        let mut latest = None;
        let earliest = day.and_time(NaiveTime::MIN).and_utc().timestamp_micros() - DAY_MICROSECONDS;
        self.log.scan(&ScanStart::From(earliest), &mut |fact| {
            let date = fact.at.date();
            if date == day {
                latest = Some(fact.at);
            }
            // Of another wall clock a fact of the day before may stand behind it.
            if date.pred_opt().is_some_and(|before| before > day) {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        })?;
        Ok(latest)
    }

    /// The state as of a moment, facts of that very instant included. What was entered or taken back later counts: it
    /// is what is known today of how it was then.
    pub fn state_at(&self, at: Moment) -> Result<State, DeskError> {
        self.state_until(at.instant())
    }

    /// The state just before a moment.
    pub fn state_before(&self, at: Moment) -> Result<State, DeskError> {
        self.state_until(at.instant() - 1)
    }

    /// A period from a moment to another, both included, with the stands at the ends of its months.
    pub fn period(&self, from: Moment, to: Moment, now: Moment) -> Result<Period, DeskError> {
        let opening = self.fold_until(from.instant() - 1)?;
        let mut between = Vec::new();
        let mut folded = opening.clone();
        for at in ends_of_months(from, to) {
            folded = self.fold_on(folded, at.instant() - 1)?;
            between.push((at, folded.state.clone()));
        }
        let closing = self.fold_on(folded, to.instant())?.state;
        Ok(Period::new((from, opening.state), between, (to, closing), now))
    }

    /// Goes on folding up to an instant, which is included; from a later checkpoint where there is one.
    fn fold_on(&self, folded: Folded, instant: i64) -> Result<Folded, DeskError> {
        let checkpoint = self.checkpoints.last_until(instant).filter(|later| later.passed > folded.passed);
        let start = checkpoint.cloned().unwrap_or(folded);
        Ok(fold_log(&self.log, start, &self.retractions, Until::Instant(instant))?.folded)
    }

    fn state_until(&self, instant: i64) -> Result<State, DeskError> {
        if self.live.reached.as_ref().is_none_or(|reached| reached.instant <= instant) {
            return Ok(self.live.state.clone());
        }
        Ok(self.fold_until(instant)?.state)
    }

    pub(super) fn fold_until(&self, instant: i64) -> Result<Folded, DeskError> {
        let start = self.checkpoints.last_until(instant).cloned().unwrap_or_default();
        Ok(fold_log(&self.log, start, &self.retractions, Until::Instant(instant))?.folded)
    }

    /// What does not fit in a state of this cellar, with the retractions whose facts are not in the log.
    pub fn discrepancies(&self, state: &State) -> Result<Vec<Discrepancy>, DeskError> {
        let mut found: Vec<Discrepancy> = state.discrepancies.to_vec();
        let last = state.last.as_ref().map(|(key, _)| key);
        for (key, of) in self.retractions.iter() {
            if last.is_none_or(|last| key > last) || self.log.position_of(of)?.is_some() {
                continue;
            }
            if let Some(line) = self.log.line(&key.id)? {
                found.push(Discrepancy {
                    id: key.id.clone(),
                    at: line.at,
                    kind: line.kind.to_string(),
                    about: None,
                    problem: Refusal::UnknownFact(of.clone()).to_string(),
                    counted: false,
                    twice: Vec::new(),
                });
            }
        }
        found.sort_by_key(|discrepancy| (discrepancy.at.instant(), discrepancy.id.clone()));
        Ok(found)
    }

    /// The lineage of a vessel or lot both ways, up to a moment. Goes through every fact from the beginning: long work.
    pub fn lineage_tree(&self, whose: &Whose, until: Moment) -> Result<LineageTree, DeskError> {
        Ok(self.trace(until)?.tree(whose).unwrap_or_default())
    }

    /// What evaporated up to a moment, by room and month, and the levels of a barrel if one is named. Goes through every
    /// fact from the beginning: long work.
    pub fn evaporation(&self, until: Moment, barrel: Option<Label>) -> Result<Evaporated, DeskError> {
        let mut observer = Observer::new(barrel);
        let instant = self.until(until);
        each_fact(&self.log, &ScanStart::Beginning, &self.retractions, instant, |fact| {
            if let Some(what) = fact.what() {
                observer.fold(&fact.stamp, what);
            }
        })?;
        Ok(observer.seen(until))
    }

    /// Hands out every fact that stands, up to a moment, in the order in which they happened, each with the state that it led to. Goes through
    /// every fact from the beginning: long work.
    pub fn each_done(&self, until: Moment, each: &mut dyn FnMut(&State, &Stamp, &What)) -> Result<(), DeskError> {
        let mut folded = Folded::default();
        each_fact(&self.log, &ScanStart::Beginning, &self.retractions, self.until(until), |fact| {
            folded.take(&fact);
            if let Some(what) = fact.what() {
                each(&folded.state, &fact.stamp, what);
            }
        })?;
        Ok(())
    }

    /// Goes through every fact once more and forecasts each topping before it is seen.
    pub fn backtest(&self) -> Result<Backtest, DeskError> {
        let mut backtest = Backtest::default();
        each_fact(&self.log, &ScanStart::Beginning, &self.retractions, Until::End, |fact| {
            if let Some(what) = fact.what() {
                backtest.fold(&fact.stamp, what);
            }
        })?;
        Ok(backtest)
    }

    /// A fact of the log, whole.
    pub fn line(&self, id: &FactId) -> Result<Option<Line>, DeskError> {
        Ok(self.log.line(id)?)
    }

    /// Hands out every fact in the order in which they happened, those that are taken back and those that take them
    /// back too; with `since` only what happened then or later. Gives how many there were.
    pub fn export(
        &self,
        since: Option<Moment>,
        each: &mut dyn FnMut(&Line) -> io::Result<()>,
    ) -> Result<u64, DeskError> {
        let mut count = 0;
        let mut failed = None;
        self.log.export(since, &mut |line| match each(line) {
            Ok(()) => {
                count += 1;
                ControlFlow::Continue(())
            }
            Err(error) => {
                failed = Some(error);
                ControlFlow::Break(())
            }
        })?;
        match failed {
            Some(error) => Err(DeskError::Output(Trouble::of(&error))),
            None => Ok(count),
        }
    }

    /// Makes a safe copy while the cellar is open: of all that this program holds, also of what the file's name does not
    /// lead to any more. The copy is checked fact by fact.
    pub fn backup(&self, target: &Path) -> Result<Copied, DeskError> {
        Ok(Copied::of(&self.log.backup(target)?))
    }

    /// The same over a file that is there, but never over the cellar itself.
    pub fn backup_over(&self, target: &Path) -> Result<Copied, DeskError> {
        Ok(Copied::of(&self.log.backup_over(target)?))
    }

    /// A dated copy in the folder of copies beside the cellar: where it is, what it came to, and how many of the oldest were let go for it.
    pub fn keep_backup(&self, now: Moment) -> Result<(PathBuf, Copied, usize), DeskError> {
        let kept = self.log.keep_backup(now)?;
        Ok((kept.path, Copied::of(&kept.backup), kept.let_go))
    }

    /// Writes the entries of which it is not known whether they are stored to a new file, as lines that `record` takes in. Each has its
    /// name: to take one in that is stored does nothing.
    pub fn keep_doubtful(&self, target: &Path) -> Result<usize, DeskError> {
        let lines = self.log.doubtful();
        let text: String = lines.iter().map(|line| harmless_json(&line.to_json()) + "\n").collect();
        write_private(target, text.as_bytes(), false)?;
        Ok(lines.len())
    }

    /// Checks the file, the chain of every device, the mark beside the file, and that every vessel's account explains
    /// what it holds.
    pub fn verify(&self) -> Result<Verified, DeskError> {
        let report = self.log.verify(&mut |_, _| {})?;
        let mut problems: Vec<String> = report.problems.iter().map(ToString::to_string).collect();
        let (anew, read_to, snapshot_lies) = self.log.at_one_instant(|| self.fold_anew())?;
        if snapshot_lies {
            let snapshot = format!("{}-snapshot", self.path().display());
            problems.push(format!(
                "{snapshot}, from which the cellar is opened, says something else than its facts. Delete that file: it is made anew, and no \
                 fact is in it."
            ));
        }
        // What another program has just appended is not in the state yet, and need not be.
        if read_to == self.head && anew.state != self.live.state && !snapshot_lies {
            problems.push(
                "The state in use differs from the fold of all facts. Close the program and open it again.".into(),
            );
        }
        for (_, vessel) in anew.state.vessels.iter() {
            let (explained, held) = (vessel.account().balance(), i128::from(vessel.volume().as_ul()));
            if explained != held {
                let label = &vessel.label;
                problems.push(format!("The account of {label} explains {explained} µL, but it holds {held} µL."));
            }
        }
        let unread = if anew.passed_over.is_empty() { Vec::new() } else { self.unread()? };
        Ok(Verified { facts: report.facts, devices: report.heads.len() as u64, problems, unread })
    }

    /// The fold of all facts with how many there were, and whether the snapshot beside the file, where one fits, says something else of
    /// those that are in it.
    fn fold_anew(&self) -> Result<(Folded, Position, bool), DeskError> {
        let mut retractions = all_retractions(&self.log)?;
        let snapshot = snapshot::load(&self.log, &retractions)?;
        retractions.leave_out(self.damaged.iter().cloned());
        let (mut anew, mut lies) = (Folded::default(), false);
        each_fact(&self.log, &ScanStart::Beginning, &retractions, Until::End, |fact| {
            anew.take(&fact);
            if let Some(snapshot) = snapshot.as_ref().filter(|snapshot| snapshot.reached == anew.reached) {
                lies = snapshot.state != anew.state;
            }
        })?;
        Ok((anew, self.log.head()?, lies))
    }

    /// Every fact that this program cannot read, each in a sentence.
    fn unread(&self) -> Result<Vec<String>, DeskError> {
        let mut unread = Vec::new();
        each_fact(&self.log, &ScanStart::Beginning, &self.retractions, Until::End, |fact| {
            if let Content::Unread(why) = &fact.content {
                unread.push(format!("Fact {} {why}", fact.stamp.id));
            }
        })?;
        Ok(unread)
    }
}
