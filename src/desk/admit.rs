//! Admitting: the one road by which facts come into the log.
//!
//! A fact that already has a name (another laptop's, an earlier export) is history: it is taken as it is, and what
//! contradicts comes out as a discrepancy. A fact without a name is an intent: it is decided on the state as of when it
//! is said to have happened.
//!
//! **A fact that comes with `device` and `n` is history** and is not decided anew: replaying an export must give the same state,
//! discrepancies included. A fact without them is an act and can be refused.

use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use super::Desk;
use super::candidate::{Candidate, in_order_of_arrival};
use super::error::DeskError;
use super::folding::{Folded, Until, each_fact};
use super::not_taken::NotTaken;
use crate::cellar::core::decide::is_future;
use crate::cellar::core::evolve::evolve;
use crate::cellar::core::fact::{Device, FactId, FactKey, IncomingFact, Line, What};
use crate::cellar::core::fold::Retractions;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{Discrepancy, State};
use crate::log::{Access, LogError, Position, Standing};

/// How often an append is decided anew because another program was faster.
const TRIES: u32 = 20;

/// A fact on its way in, with the number of its line and the JSON of its fields as it was written.
#[derive(Clone, Debug)]
pub struct IncomingLine {
    /// The number of its line, for what is said of it.
    pub number: u64,
    /// The fact.
    pub fact: IncomingFact,
    /// The fields of its kind, as they came.
    pub body: String,
}

/// What became of facts that came in.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Admitted {
    /// The facts that are in the log now, in the order in which they came.
    pub taken: Vec<FactId>,
    /// How many were in the log already.
    pub known: u64,
    /// What the person should know though it was taken.
    pub flagged: Vec<String>,
    /// The numbers of lines that were refused, with why.
    pub refused: Vec<(u64, NotTaken)>,
    /// What is asked before anything is stored.
    pub asked: Vec<Question>,
}

/// What becomes of acts that can be so but would surprise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Surprises {
    /// They are taken: whoever entered them was asked before.
    AskedBefore,
    /// They are taken, and it is said what surprises.
    Said,
    /// They are refused.
    Refused,
    /// Nothing is stored, and what surprises is asked: about each fact, about the claims that all of them cost, and about
    /// later facts that would no longer fit.
    Asked,
}

/// What an act is decided by, beside the state.
#[derive(Clone, Copy)]
pub(super) struct Deciding {
    /// The clock of this laptop.
    pub now: Moment,
    /// What becomes of what would surprise.
    pub surprises: Surprises,
}

impl Admitted {
    /// Says what would surprise about a line, or refuses it for that. Gives whether it is taken.
    pub(super) fn ask(&mut self, number: u64, questions: &[Question], surprises: Surprises) -> bool {
        if questions.is_empty() {
            return true;
        }
        match surprises {
            Surprises::AskedBefore => {}
            Surprises::Said => {
                self.flagged.extend(questions.iter().map(|question| format!("line {number}: {question}")));
            }
            Surprises::Asked => {
                for question in questions {
                    if !self.asked.contains(question) {
                        self.asked.push(question.clone());
                    }
                }
            }
            Surprises::Refused => {
                self.refused.push((number, NotTaken::Surprising(questions.to_vec())));
                return false;
            }
        }
        true
    }

    /// What was refused, in the order of the lines. Of several reasons against one line the first will do.
    fn refused_once(&mut self) -> Vec<(u64, NotTaken)> {
        let mut refused = std::mem::take(&mut self.refused);
        refused.sort_by_key(|(number, _)| *number);
        refused.dedup_by_key(|(number, _)| *number);
        refused
    }
}

/// Whether several facts are one act, which is taken back as one.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Together {
    /// They are.
    Yes,
    /// Each stands for itself, or says what it belongs to.
    No,
}

/// Facts that have their names, with what is known of them before they are folded.
#[derive(Default)]
struct Examined<'a> {
    candidates: Vec<Candidate<'a>>,
    outcome: Admitted,
    /// Whether another laptop has given this one's name to a fact of its own.
    own_fork: bool,
}

impl Desk {
    /// Takes facts in: all of them, or none where one is refused; with `keep_good` all that are not refused.
    pub fn record(&mut self, incoming: Vec<IncomingLine>, now: Moment, keep_good: bool) -> Result<Admitted, DeskError> {
        self.record_told(incoming, now, keep_good, Surprises::AskedBefore)
    }

    /// The same, with a word on acts that would surprise.
    pub fn record_told(
        &mut self,
        incoming: Vec<IncomingLine>,
        now: Moment,
        keep_good: bool,
        surprises: Surprises,
    ) -> Result<Admitted, DeskError> {
        self.take_good(incoming, Deciding { now, surprises }, Together::No, keep_good)
    }

    /// Takes in what is not refused, or nothing where something is and it is not said that the good ones are to be kept.
    pub(super) fn take_good(
        &mut self,
        mut incoming: Vec<IncomingLine>,
        deciding: Deciding,
        together: Together,
        keep_good: bool,
    ) -> Result<Admitted, DeskError> {
        let mut refused = Vec::new();
        loop {
            let mut outcome = self.admit(&incoming, deciding, together)?;
            let done = outcome.refused.is_empty() || !keep_good;
            refused.append(&mut outcome.refused);
            if done {
                refused.sort_by_key(|(number, _)| *number);
                return Ok(Admitted { refused, ..outcome });
            }
            // The names of the good ones depend on which are refused, and so may what they come upon: they are
            // admitted anew by themselves.
            let bad: FxHashSet<u64> = refused.iter().map(|(number, _)| *number).collect();
            incoming.retain(|line| !bad.contains(&line.number));
        }
    }

    /// The lines that [`Desk::record`] would refuse; nothing is stored.
    pub fn rehearse(&mut self, incoming: &[IncomingLine], now: Moment) -> Result<Vec<(u64, NotTaken)>, DeskError> {
        Ok(self.rehearse_told(incoming, Deciding { now, surprises: Surprises::AskedBefore })?.refused)
    }

    /// The same, with what would be asked.
    pub(super) fn rehearse_told(
        &mut self,
        incoming: &[IncomingLine],
        deciding: Deciding,
    ) -> Result<Admitted, DeskError> {
        self.refresh_to_write()?;
        let Examined { candidates, mut outcome, .. } = self.examine(incoming, deciding.now, Together::No)?;
        let trial = self.try_out(&candidates, deciding, &mut outcome)?;
        if deciding.surprises == Surprises::Asked && outcome.refused.is_empty() {
            self.ask_of_claims(&candidates, &trial.state, &mut outcome);
        }
        outcome.refused = self.not_there_yet(incoming, outcome.refused_once());
        Ok(outcome)
    }

    /// Takes in what another program appended, and refuses to go on where it cannot be read.
    pub(super) fn refresh_to_write(&mut self) -> Result<(), DeskError> {
        self.refresh()?;
        match (&self.astray, self.why_only_read()) {
            (Some(astray), _) => Err(LogError::from(astray.clone()).into()),
            (None, Some(why)) => Err(DeskError::OnlyRead(why.to_owned())),
            (None, None) => Ok(()),
        }
    }

    /// What was refused, where what is named was only not there yet at the moment of the line.
    fn not_there_yet(&self, incoming: &[IncomingLine], refused: Vec<(u64, NotTaken)>) -> Vec<(u64, NotTaken)> {
        if refused.is_empty() {
            return refused;
        }
        let moments: FxHashMap<u64, Moment> = incoming.iter().map(|line| (line.number, line.fact.at)).collect();
        let as_of = |(number, why): (u64, NotTaken)| match (why, moments.get(&number)) {
            (NotTaken::Refused(refusal), Some(&at)) => (number, refusal.as_of(at, self.state()).into()),
            (other, _) => (number, other),
        };
        refused.into_iter().map(as_of).collect()
    }

    /// Admits facts all or none.
    pub(super) fn admit(
        &mut self,
        incoming: &[IncomingLine],
        deciding: Deciding,
        together: Together,
    ) -> Result<Admitted, DeskError> {
        for _ in 0..TRIES {
            self.refresh_to_write()?;
            let Examined { candidates, mut outcome, own_fork } = self.examine(incoming, deciding.now, together)?;
            if own_fork && self.access() == Access::ReadWrite {
                // Another laptop writes under this one's name: from here on they are told apart.
                self.begin_anew()?;
                continue;
            }
            match self.append_candidates(candidates, deciding, &mut outcome) {
                Ok(taken) => outcome.taken = taken,
                Err(DeskError::Log(LogError::Moved { .. })) => continue,
                Err(error) => return Err(error),
            }
            outcome.refused = self.not_there_yet(incoming, outcome.refused_once());
            return Ok(outcome);
        }
        Err(DeskError::Crowded)
    }

    /// Decides candidates and appends them, unless one is refused. Gives the facts that are in the log now.
    fn append_candidates(
        &mut self,
        mut candidates: Vec<Candidate<'_>>,
        deciding: Deciding,
        outcome: &mut Admitted,
    ) -> Result<Vec<FactId>, DeskError> {
        let is_next = |only: &Candidate<'_>| {
            outcome.refused.is_empty() && deciding.surprises != Surprises::Asked && self.is_plain_next(only)
        };
        if candidates.len() == 1
            && let Some(only) = candidates.pop_if(|only| is_next(only))
        {
            return self.append_next(only, deciding, outcome);
        }
        let trial = self.try_out(&candidates, deciding, outcome)?;
        if !outcome.refused.is_empty() || candidates.is_empty() {
            return Ok(Vec::new());
        }
        if deciding.surprises == Surprises::Asked {
            self.ask_of_claims(&candidates, &trial.state, outcome);
            if !outcome.asked.is_empty() {
                return Ok(Vec::new());
            }
        }
        let taken = candidates.iter().map(|candidate| candidate.line.id.clone()).collect();
        let lines = in_order_of_arrival(candidates)?;
        if let Some(head) = self.append(&lines)? {
            self.adopt(trial, &lines, head);
        }
        Ok(taken)
    }

    /// Asks about the claims that acts cost together.
    fn ask_of_claims(&self, candidates: &[Candidate<'_>], after: &State, outcome: &mut Admitted) {
        let number = candidates.first().map_or(0, |first| first.number);
        // What is only taken back is no deed that costs a claim.
        let is_deed = candidates.iter().any(|its| !matches!(its.what(), What::Retracted(_)));
        let broken = if is_deed { self.state().lost_until(after, self.state().practice.rules) } else { Vec::new() };
        let questions: Vec<Question> = broken.into_iter().map(Question::from).collect();
        outcome.ask(number, &questions, Surprises::Asked);
    }

    /// Appends lines. Gives the new head, or none where others stand beside them and all were folded in by a refresh.
    fn append(&mut self, lines: &[Line]) -> Result<Option<Position>, DeskError> {
        let expected = i64::try_from(lines.len()).ok().map(|count| Position::new(self.head.get() + count));
        match self.log.append(self.head, lines) {
            Ok(head) if Some(head) == expected => Ok(Some(head)),
            Ok(_) => {
                self.refresh()?;
                Ok(None)
            }
            Err(moved @ LogError::Moved { .. }) => Err(moved.into()),
            Err(error) => {
                // After a failure only what the log holds counts. If it cannot be read either, the first failure says
                // why, and the next look says it again.
                let _ = self.look_at_log();
                Err(error.into())
            }
        }
    }

    /// Gives every fact its name and finds what can be said of it before anything is folded.
    fn examine<'a>(
        &self,
        incoming: &'a [IncomingLine],
        now: Moment,
        together: Together,
    ) -> Result<Examined<'a>, DeskError> {
        let mut examined = Examined::default();
        // Another laptop's facts may stand in a file in the order in which they happened, which is not that of their numbers.
        let mut numbers: FxHashMap<&Device, BTreeMap<u64, &IncomingLine>> = FxHashMap::default();
        let mut refused: FxHashSet<u64> = FxHashSet::default();
        for line in incoming {
            let Some(id) = &line.fact.id else {
                let unnumbered = FactId { device: self.device().clone(), n: 0 };
                examined.candidates.push(Candidate::of(line, unnumbered, now, true));
                continue;
            };
            if id.n <= self.heads.last_of(&id.device) {
                match self.log.check_known(&line.fact, &line.body)? {
                    Standing::Known => examined.outcome.known += 1,
                    Standing::Fork(fork) => {
                        examined.own_fork |= id.device == *self.device();
                        examined.outcome.refused.push((line.number, NotTaken::Forked(fork)));
                    }
                    // Below the head of its device every number is there.
                    Standing::New => {}
                }
                continue;
            }
            match numbers.entry(&id.device).or_default().entry(id.n) {
                Entry::Occupied(first) if first.get().fact == line.fact => examined.outcome.known += 1,
                Entry::Occupied(_) => {
                    examined.outcome.refused.push((line.number, NotTaken::Twice(id.clone())));
                }
                Entry::Vacant(place) => {
                    place.insert(line);
                    if is_future(line.fact.at, now) {
                        let ahead = Refusal::Future { at: line.fact.at, now };
                        examined.outcome.flagged.push(format!("{id} was taken, but: {ahead}"));
                    }
                    examined.candidates.push(Candidate::of(line, id.clone(), now, false));
                }
            }
        }
        let mut own = self.heads.last_of(self.device());
        for (device, numbers) in numbers {
            let mut head = self.heads.last_of(device);
            for (&n, line) in &numbers {
                if n == head + 1 {
                    head = n;
                } else {
                    let gap = NotTaken::Gap { found: FactId { device: device.clone(), n }, missing: head + 1 };
                    examined.outcome.refused.push((line.number, gap));
                    refused.insert(line.number);
                }
            }
            if device == self.device() {
                own = head;
            }
        }
        examined.candidates.retain(|candidate| !refused.contains(&candidate.number));
        // Numbered last: this laptop's own facts may come back by an export in the same file.
        let several = examined.candidates.len() > 1;
        let job = match together {
            Together::Yes if several => Some(job_of(own + 1)?),
            _ => None,
        };
        for candidate in examined.candidates.iter_mut().filter(|candidate| candidate.intent) {
            own += 1;
            candidate.line.id.n = own;
            candidate.line.job = candidate.line.job.take().or_else(|| job.clone());
        }
        Ok(examined)
    }

    /// Whether a fact simply comes next: decided here, after all others, taking nothing back.
    fn is_plain_next(&self, candidate: &Candidate<'_>) -> bool {
        candidate.intent
            && !matches!(candidate.what(), What::Retracted(_))
            && self.live.reached.as_ref().is_none_or(|reached| *reached < candidate.key())
            && !self.retractions.contains(&candidate.line.id)
    }

    /// Appends a fact that comes next, without a copy of the state.
    fn append_next(
        &mut self,
        only: Candidate<'_>,
        deciding: Deciding,
        outcome: &mut Admitted,
    ) -> Result<Vec<FactId>, DeskError> {
        if !only.is_permitted(&self.live.state, deciding, outcome) {
            return Ok(Vec::new());
        }
        let (stamp, what) = (only.stamp(), only.what().clone());
        let lines = [only.into_line()?];
        if let Some(head) = self.append(&lines)? {
            evolve(&mut self.live.state, &stamp, &what);
            self.arrived(&lines, head);
        }
        Ok(vec![stamp.id])
    }

    /// Folds the candidates among the facts of the log as if they were in it, deciding each intent on the way.
    fn try_out(
        &self,
        candidates: &[Candidate<'_>],
        deciding: Deciding,
        outcome: &mut Admitted,
    ) -> Result<Trial, DeskError> {
        let mut order: Vec<&Candidate<'_>> = candidates.iter().collect();
        order.sort_by_cached_key(|candidate| candidate.key());
        // Thousands of facts are looked up here where a whole list is taken back: in one reading, not in one each.
        let (new, affected) = self.log.at_one_instant(|| -> Result<_, DeskError> {
            let new = self.new_retractions(candidates, outcome)?;
            let affected = self.affected(&order, new.as_ref())?;
            Ok((new, affected))
        })?;
        let retractions = new.as_ref().unwrap_or(&self.retractions);
        let (mut folded, before) = match &affected {
            None => (self.live.clone(), Vec::new()),
            Some(key) => self.fold_before(key)?,
        };
        let mut waiting = order.into_iter().peekable();
        if affected.is_some() {
            let start = folded.scan_start();
            each_fact(&self.log, &start, retractions, Until::End, |fact| {
                let key = fact.stamp.key();
                while let Some(candidate) = waiting.next_if(|candidate| candidate.key() < key) {
                    folded.try_candidate(candidate, retractions, deciding, outcome);
                }
                folded.take(&fact);
            })?;
        }
        for candidate in waiting {
            folded.try_candidate(candidate, retractions, deciding, outcome);
        }
        if deciding.surprises != Surprises::AskedBefore && outcome.refused.is_empty() {
            self.ask_what_no_longer_fits(candidates, &folded.state, deciding, outcome);
        }
        Ok(Trial { state: folded.state, retractions: new, affected, before })
    }

    /// Asks before acts take facts back on which later ones rest: what fitted and would not any more.
    fn ask_what_no_longer_fits(
        &self,
        candidates: &[Candidate<'_>],
        after: &State,
        deciding: Deciding,
        outcome: &mut Admitted,
    ) {
        let takes_back = |its: &&Candidate<'_>| its.intent && matches!(its.what(), What::Retracted(_));
        let Some(first) = candidates.iter().find(takes_back) else { return };
        let before = self.live.state.discrepancies.iter().map(|known| &known.id);
        let told: FxHashSet<&FactId> = before.chain(candidates.iter().map(|its| &its.line.id)).collect();
        // What is known to have been done twice again, where its settling is taken back, fits no worse than before.
        let is_new = |found: &&Discrepancy| found.twice.is_empty() && !told.contains(&found.id);
        let new: Vec<_> = after.discrepancies.iter().filter(is_new).collect();
        let Some(earliest) = new.first() else { return };
        let facts = new.iter().map(|found| &found.id).collect::<FxHashSet<_>>().len();
        let question = Question::NoLongerFits { facts, at: earliest.at, problem: earliest.problem.clone() };
        outcome.ask(first.number, &[question], deciding.surprises);
    }

    /// The first fact of the fold that comes out differently: the earliest candidate that does not come after all
    /// others, and every fact that is now taken back or restored.
    fn affected(
        &self,
        order: &[&Candidate<'_>],
        retractions: Option<&Retractions>,
    ) -> Result<Option<FactKey>, DeskError> {
        let late = order.first().map(|first| first.key()).filter(|key| self.live.has_come_to(key));
        let changed = match retractions {
            None => None,
            Some(retractions) => {
                let new: FxHashSet<&FactId> = order.iter().map(|candidate| &candidate.line.id).collect();
                self.first_changed(retractions, |id| new.contains(id))?
            }
        };
        Ok([late, changed].into_iter().flatten().min())
    }

    /// Makes what was tried out the state of the cellar.
    fn adopt(&mut self, trial: Trial, lines: &[Line], head: Position) {
        if let Some(key) = &trial.affected {
            self.checkpoints.forget_from(key);
        }
        for folded in trial.before {
            self.checkpoints.add(folded);
        }
        if let Some(retractions) = trial.retractions {
            self.retractions = retractions;
        }
        self.live.state = trial.state;
        self.arrived(lines, head);
    }

    /// Notes that facts stand in the log now and are folded.
    fn arrived(&mut self, lines: &[Line], head: Position) {
        for (line, position) in lines.iter().zip(self.head.get() + 1..) {
            self.heads.see(&line.id.device, line.id.n, line.at.instant());
            let key = FactKey { instant: line.at.instant(), id: line.id.clone() };
            // The rule by which the log calls a fact late.
            if !self.live.has_come_to(&key) {
                self.live.reached = Some(key);
                self.live.timely = Position::new(position);
            }
            self.live.passed += 1;
        }
        self.head = head;
        self.leave_checkpoint();
    }
}

/// What a try came to.
struct Trial {
    state: State,
    /// The retractions, where they are not those of before.
    retractions: Option<Retractions>,
    /// The first fact of the fold that came out differently.
    affected: Option<FactKey>,
    /// Folds that were passed before it.
    before: Vec<Folded>,
}

impl Folded {
    fn try_candidate(
        &mut self,
        candidate: &Candidate<'_>,
        retractions: &Retractions,
        deciding: Deciding,
        outcome: &mut Admitted,
    ) {
        if retractions.contains(&candidate.line.id) {
            return;
        }
        if candidate.intent && !candidate.is_permitted(&self.state, deciding, outcome) {
            return;
        }
        evolve(&mut self.state, &candidate.stamp(), candidate.what());
    }
}

/// A name for the facts of one act: the number of the first of them.
fn job_of(first: u64) -> Result<Label, DeskError> {
    Ok(Label::new(&format!("act {first}"))?)
}
