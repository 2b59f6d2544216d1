//! Admitting: the one road by which facts come into the log.
//!
//! A fact that already has a name (another laptop's, an earlier export) is history: it is taken as it is, and what
//! contradicts comes out as a discrepancy. A fact without a name is an intent: it is decided on the state as of when it
//! is said to have happened.

use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

use super::Desk;
use super::error::DeskError;
use super::folding::{Decoded, Folded, read_batches};
use crate::cellar::decide::{decide, is_future};
use crate::cellar::evolve::evolve;
use crate::cellar::fact::{Device, FactId, FactKey, IncomingFact, Line, Stamp, What};
use crate::cellar::fold::Retractions;
use crate::cellar::moment::Moment;
use crate::cellar::refusal::Refusal;
use crate::log::{LogError, Position, Standing};

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
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Admitted {
    /// The facts that are in the log now, in the order in which they came.
    pub taken: Vec<FactId>,
    /// How many were in the log already.
    pub known: u64,
    /// What the person should know though it was taken.
    pub flagged: Vec<String>,
    /// The numbers of lines that were refused, with why.
    pub refused: Vec<(u64, String)>,
}

/// A fact that has its name, before it is decided.
#[derive(Clone)]
struct Candidate {
    number: u64,
    line: Line,
    what: What,
    /// Whether it is decided here, or was accepted on another laptop.
    intent: bool,
}

impl Candidate {
    fn stamp(&self) -> Stamp {
        Stamp { id: self.line.id.clone(), at: self.line.at }
    }

    fn key(&self) -> FactKey {
        self.stamp().key()
    }
}

/// Facts that have their names, with what is known of them before they are folded.
#[derive(Default)]
struct Examined {
    candidates: Vec<Candidate>,
    outcome: Admitted,
}

impl Desk {
    /// Takes facts in: all of them, or none where one is refused; with `keep_good` all that are not refused.
    pub fn record(
        &mut self,
        mut incoming: Vec<IncomingLine>,
        now: Moment,
        keep_good: bool,
    ) -> Result<Admitted, DeskError> {
        let outcome = self.admit(&incoming, now)?;
        if outcome.refused.is_empty() || !keep_good {
            return Ok(outcome);
        }
        // The names of the good ones depend on which are refused, so they are admitted anew by themselves.
        let bad: FxHashSet<u64> = outcome.refused.iter().map(|(number, _)| *number).collect();
        incoming.retain(|line| !bad.contains(&line.number));
        let good = self.admit(&incoming, now)?;
        let mut refused = outcome.refused;
        refused.extend(good.refused.iter().cloned());
        Ok(Admitted { refused, ..good })
    }

    /// The lines that [`Desk::record`] would refuse; nothing is stored.
    pub fn rehearse(&mut self, incoming: &[IncomingLine], now: Moment) -> Result<Vec<(u64, String)>, DeskError> {
        self.refresh()?;
        let Examined { candidates, mut outcome } = self.examine(incoming, now)?;
        self.try_out(&candidates, now, &mut outcome)?;
        outcome.refused.sort();
        Ok(outcome.refused)
    }

    /// Admits facts all or none.
    pub(super) fn admit(&mut self, incoming: &[IncomingLine], now: Moment) -> Result<Admitted, DeskError> {
        for _ in 0..TRIES {
            self.refresh()?;
            let Examined { candidates, mut outcome } = self.examine(incoming, now)?;
            if let [only] = candidates.as_slice()
                && outcome.refused.is_empty()
                && self.is_plain_next(only)
            {
                match self.append_next(only, now) {
                    Ok(()) => outcome.taken.push(only.line.id.clone()),
                    Err(DeskError::Log(LogError::Moved { .. })) => continue,
                    Err(DeskError::Refused(why)) => outcome.refused.push((only.number, why)),
                    Err(error) => return Err(error),
                }
                return Ok(outcome);
            }
            let trial = self.try_out(&candidates, now, &mut outcome)?;
            if !outcome.refused.is_empty() || candidates.is_empty() {
                outcome.refused.sort();
                return Ok(outcome);
            }
            let lines = in_order_of_arrival(&candidates);
            match self.log.append(self.head, &lines) {
                Ok(head) => {
                    self.adopt(trial, &lines, head);
                    outcome.taken = candidates.into_iter().map(|candidate| candidate.line.id).collect();
                    return Ok(outcome);
                }
                Err(LogError::Moved { .. }) => {}
                Err(error) => return Err(error.into()),
            }
        }
        Err(DeskError::Crowded)
    }

    /// Gives every fact its name and finds what can be said of it before anything is folded.
    fn examine(&self, incoming: &[IncomingLine], now: Moment) -> Result<Examined, DeskError> {
        let mut heads: FxHashMap<Device, u64> =
            self.log.heads()?.into_iter().map(|head| (head.id.device, head.id.n)).collect();
        let mut examined = Examined::default();
        // Another laptop's facts may stand in a file in the order in which they happened, which is not that of their numbers.
        let mut numbers: FxHashMap<&Device, BTreeMap<u64, &IncomingLine>> = FxHashMap::default();
        for line in incoming {
            let Some(id) = &line.fact.id else { continue };
            let known_here = numbers.entry(&id.device).or_default().insert(id.n, line);
            if known_here.is_some_and(|other| other.fact != line.fact) {
                examined.outcome.refused.push((line.number, DeskError::Fork(id.clone()).to_string()));
            }
        }
        let mut taken: FxHashSet<&FactId> = FxHashSet::default();
        for line in incoming {
            let Some(id) = &line.fact.id else {
                let unnumbered = FactId { device: self.device().clone(), n: 0 };
                examined.candidates.push(candidate(line, unnumbered, now, true));
                continue;
            };
            let head = heads.get(&id.device).copied().unwrap_or(0);
            if id.n <= head {
                match self.log.check_known(&line.fact, &line.body)? {
                    Standing::Known => examined.outcome.known += 1,
                    Standing::Fork(fork) => examined.outcome.refused.push((line.number, fork.to_string())),
                    // Below the head of its device every number is there.
                    Standing::New => {}
                }
            } else if taken.insert(id) {
                if is_future(line.fact.at, now) {
                    let ahead = Refusal::Future { at: line.fact.at, now };
                    examined.outcome.flagged.push(format!("{id} was taken, but: {ahead}"));
                }
                examined.candidates.push(candidate(line, id.clone(), now, false));
            } else {
                examined.outcome.known += 1;
            }
        }
        for (device, numbers) in numbers {
            let head = heads.entry(device.clone()).or_insert(0);
            for (&n, line) in numbers.range(*head + 1..) {
                if n != *head + 1 {
                    let found = FactId { device: device.clone(), n };
                    let gap = DeskError::Gap { found, missing: *head + 1 };
                    examined.outcome.refused.push((line.number, gap.to_string()));
                    break;
                }
                *head = n;
            }
        }
        // Numbered last: this laptop's own facts may come back by an export in the same file.
        let mut own = heads.get(self.device()).copied().unwrap_or(0);
        for candidate in examined.candidates.iter_mut().filter(|candidate| candidate.intent) {
            own += 1;
            candidate.line.id.n = own;
        }
        Ok(examined)
    }

    /// Whether a fact simply comes next: decided here, after all others, taking nothing back.
    fn is_plain_next(&self, candidate: &Candidate) -> bool {
        candidate.intent
            && !matches!(candidate.what, What::Retracted(_))
            && self.live.reached.as_ref().is_none_or(|reached| *reached < candidate.key())
            && !self.retractions.contains(&candidate.line.id)
    }

    /// Appends a fact that comes next, without a copy of the state.
    fn append_next(&mut self, candidate: &Candidate, now: Moment) -> Result<(), DeskError> {
        decide(&self.live.state, &candidate.what, candidate.line.at, now)
            .map_err(|refusal| DeskError::Refused(refusal.to_string()))?;
        let lines = std::slice::from_ref(&candidate.line);
        let head = self.log.append(self.head, lines)?;
        evolve(&mut self.live.state, &candidate.stamp(), &candidate.what);
        self.arrived(lines, head);
        Ok(())
    }

    /// Folds the candidates among the facts of the log as if they were in it, deciding each intent on the way.
    fn try_out(&self, candidates: &[Candidate], now: Moment, outcome: &mut Admitted) -> Result<Trial, DeskError> {
        let retractions = self.with_retractions(candidates, outcome)?;
        let mut order: Vec<&Candidate> = candidates.iter().collect();
        order.sort_by_key(|candidate| candidate.key());
        let affected = self.affected(&order, &retractions, candidates)?;
        let mut folded = match &affected {
            None => self.live.clone(),
            Some(key) => self.checkpoints.last_before(key).cloned().unwrap_or_default(),
        };
        let mut waiting = order.into_iter().peekable();
        if affected.is_some() {
            let start = folded.scan_start();
            read_batches(&self.log, &start, None, |batch| {
                for fact in &batch {
                    let key = fact.stamp.key();
                    while let Some(candidate) = waiting.next_if(|candidate| candidate.key() < key) {
                        folded.try_candidate(candidate, &retractions, now, outcome);
                    }
                    folded.take(fact, &retractions);
                }
                true
            })?;
        }
        for candidate in waiting {
            folded.try_candidate(candidate, &retractions, now, outcome);
        }
        Ok(Trial { folded, retractions, affected })
    }

    /// The retractions of the log and those among the candidates. An intent that takes back what is not there, or is
    /// taken back already, is refused.
    fn with_retractions(&self, candidates: &[Candidate], outcome: &mut Admitted) -> Result<Retractions, DeskError> {
        let mut retractions = self.retractions.clone();
        let mut new = Vec::new();
        for candidate in candidates {
            let What::Retracted(retracted) = &candidate.what else { continue };
            let (of, id) = (&retracted.of, &candidate.line.id);
            if candidate.intent {
                let is_here = || candidates.iter().any(|other| other.line.id == *of);
                let refusal = if of == id {
                    Some(Refusal::RetractsItself)
                } else if self.retractions.contains(of) || new.iter().any(|(_, other)| other == of) {
                    Some(Refusal::AlreadyRetracted(of.clone()))
                } else if self.log.position_of(of)?.is_none() && !is_here() {
                    Some(Refusal::UnknownFact(of.clone()))
                } else {
                    None
                };
                if let Some(refusal) = refusal {
                    outcome.refused.push((candidate.number, refusal.to_string()));
                    continue;
                }
            }
            new.push((candidate.key(), of.clone()));
        }
        if !new.is_empty() {
            retractions.extend(new);
        }
        Ok(retractions)
    }

    /// The first fact of the fold that comes out differently: the earliest candidate that does not come after all
    /// others, and every fact that is now taken back or restored.
    fn affected(
        &self,
        order: &[&Candidate],
        retractions: &Retractions,
        candidates: &[Candidate],
    ) -> Result<Option<FactKey>, DeskError> {
        let mut affected = order
            .first()
            .map(|first| first.key())
            .filter(|key| self.live.reached.as_ref().is_some_and(|reached| key < reached));
        let new: FxHashSet<&FactId> = candidates.iter().map(|candidate| &candidate.line.id).collect();
        for id in changed(&self.retractions, retractions).filter(|id| !new.contains(id)) {
            if let Some(line) = self.log.line(id)? {
                let key = FactKey { instant: line.at.instant(), id: line.id };
                affected = Some(affected.map_or(key.clone(), |earlier| earlier.min(key)));
            }
        }
        Ok(affected)
    }

    /// Makes what was tried out the state of the cellar.
    fn adopt(&mut self, trial: Trial, lines: &[Line], head: Position) {
        let reached = self.live.reached.take();
        let timely = self.live.timely;
        if let Some(key) = &trial.affected {
            self.checkpoints.forget_from(key);
        }
        self.retractions = trial.retractions;
        self.live = Folded { timely, reached, ..trial.folded };
        self.arrived(lines, head);
    }

    /// Notes that facts stand in the log now and are folded.
    fn arrived(&mut self, lines: &[Line], head: Position) {
        let first = head.get() - i64::try_from(lines.len()).unwrap_or(0);
        for (line, position) in lines.iter().zip(first + 1..) {
            let key = FactKey { instant: line.at.instant(), id: line.id.clone() };
            // The rule by which the log calls a fact late.
            if self.live.reached.as_ref().is_none_or(|reached| *reached < key) {
                self.live.reached = Some(key);
                self.live.timely = Position::new(position);
            }
        }
        self.head = head;
        if self.checkpoints.is_due(self.live.timely) {
            self.checkpoints.add(self.live.clone());
        }
    }

    /// Takes in the retractions among facts that another program appended, and gives the first fact that may come out
    /// differently than it was folded.
    pub(super) fn take_in_retractions(&mut self, arrived: &[Decoded]) -> Result<Option<FactKey>, DeskError> {
        let new: Vec<(FactKey, FactId)> = arrived
            .iter()
            .filter_map(|fact| match &fact.what {
                Some(What::Retracted(retracted)) => Some((fact.stamp.key(), retracted.of.clone())),
                _ => None,
            })
            .collect();
        let before = self.retractions.clone();
        if !new.is_empty() {
            self.retractions.extend(new);
        }
        let reached = self.live.reached.as_ref();
        let mut affected = arrived
            .iter()
            .map(|fact| fact.stamp.key())
            .min()
            .filter(|key| reached.is_some_and(|reached| key < reached));
        for id in changed(&before, &self.retractions) {
            if let Some(line) = self.log.line(id)? {
                let key = FactKey { instant: line.at.instant(), id: line.id };
                if reached.is_some_and(|reached| key <= *reached) {
                    affected = Some(affected.map_or(key.clone(), |earlier| earlier.min(key)));
                }
            }
        }
        Ok(affected)
    }
}

/// What a try came to.
struct Trial {
    folded: Folded,
    retractions: Retractions,
    affected: Option<FactKey>,
}

impl Folded {
    fn try_candidate(&mut self, candidate: &Candidate, retractions: &Retractions, now: Moment, outcome: &mut Admitted) {
        if retractions.contains(&candidate.line.id) {
            return;
        }
        if candidate.intent
            && let Err(refusal) = decide(&self.state, &candidate.what, candidate.line.at, now)
        {
            outcome.refused.push((candidate.number, refusal.to_string()));
            return;
        }
        evolve(&mut self.state, &candidate.stamp(), &candidate.what);
    }
}

fn candidate(line: &IncomingLine, id: FactId, now: Moment, intent: bool) -> Candidate {
    let fact = &line.fact;
    Candidate {
        number: line.number,
        line: Line {
            id,
            at: fact.at,
            written: fact.written.unwrap_or(now),
            by: fact.by.clone(),
            version: fact.version,
            kind: fact.what.kind().into(),
            body: line.body.clone(),
            job: fact.job.clone(),
            note: fact.note.clone(),
        },
        what: fact.what.clone(),
        intent,
    }
}

/// The facts that are taken back in one of two resolutions but not in the other.
fn changed<'a>(before: &'a Retractions, after: &'a Retractions) -> impl Iterator<Item = &'a FactId> {
    let gone = before.gone().filter(|id| !after.contains(id));
    gone.chain(after.gone().filter(|id| !before.contains(id)))
}

/// The lines in the order in which they came, but none before an earlier one of its own device.
fn in_order_of_arrival(candidates: &[Candidate]) -> Vec<Line> {
    let mut first: FxHashMap<&Device, u64> = FxHashMap::default();
    for Candidate { line, .. } in candidates {
        let least = first.entry(&line.id.device).or_insert(line.id.n);
        *least = (*least).min(line.id.n);
    }
    let mut next = first;
    let mut early: FxHashMap<&Device, BTreeMap<u64, &Line>> = FxHashMap::default();
    let mut lines = Vec::with_capacity(candidates.len());
    for Candidate { line, .. } in candidates {
        let device = &line.id.device;
        early.entry(device).or_default().insert(line.id.n, line);
        let (Some(waiting), Some(next)) = (early.get_mut(device), next.get_mut(device)) else { continue };
        while let Some(line) = waiting.remove(next) {
            lines.push(line.clone());
            *next += 1;
        }
    }
    lines
}
