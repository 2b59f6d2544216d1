//! Folding the log: rows are read and decoded on one thread while another folds them.

use std::ops::ControlFlow;
use std::sync::mpsc::{Receiver, sync_channel};
use std::thread;

use crate::cellar::fact::{FactKey, Stamp, What};
use crate::cellar::fold::{Retractions, fold};
use crate::cellar::state::State;
use crate::log::{Log, LogError, Position, RawFact, ScanStart};

/// How many facts go from the reading to the folding thread at a time.
const BATCH: usize = 512;
/// How many batches may wait between the two.
const WAITING: usize = 4;

/// How many facts before the last one a checkpoint is left when a log is folded: near ones, so that an undo folds
/// little, and a far one for a late entry.
const CHECKPOINTS_BEFORE_END: [i64; 4] = [32_768, 8_192, 2_048, 512];

/// A state, and how far the log was folded into it.
#[derive(Clone, Default)]
pub(super) struct Folded {
    /// The state.
    pub state: State,
    /// The last fact that arrived in its place and was folded.
    pub timely: Position,
    /// The last fact that came past, folded or taken back.
    pub reached: Option<FactKey>,
}

/// A fact on its way to the fold.
pub(super) struct Decoded {
    /// Its name and when it happened.
    pub stamp: Stamp,
    /// Its place in the order of arrival.
    pub position: Position,
    /// Whether it arrived after a fact of a later place.
    pub late: bool,
    /// What happened; `None` where the row cannot be read, which `verify` reports.
    pub what: Option<What>,
}

impl Decoded {
    fn read(raw: &RawFact<'_>) -> Decoded {
        Decoded {
            stamp: raw.stamp(),
            position: raw.position(),
            late: raw.late,
            what: What::from_body(raw.kind, raw.body).ok(),
        }
    }
}

impl Folded {
    /// Where a scan goes on from here.
    pub fn scan_start(&self) -> ScanStart {
        match &self.reached {
            Some(key) => ScanStart::After { timely: self.timely, key: key.clone() },
            None => ScanStart::Beginning,
        }
    }

    /// Folds one fact.
    pub fn take(&mut self, fact: &Decoded, retractions: &Retractions) {
        if let Some(what) = &fact.what {
            fold(&mut self.state, retractions, &fact.stamp, what);
        }
        if !fact.late {
            self.timely = fact.position;
        }
        self.reached = Some(fact.stamp.key());
    }
}

/// Folds the log from a start to its end, or up to an instant (included). Gives the fold, the head that was read, and
/// folds that were passed shortly before the end.
pub(super) fn fold_log(
    log: &Log,
    start: Folded,
    retractions: &Retractions,
    until: Option<i64>,
) -> Result<(Folded, Position, Vec<Folded>), LogError> {
    let head = log.head()?;
    let scan = start.scan_start();
    thread::scope(|scope| {
        let (sender, receiver) = sync_channel(WAITING);
        let folding = scope.spawn(move || fold_batches(&receiver, start, retractions, head));
        let read = read_batches(log, &scan, until, |batch| sender.send(batch).is_ok());
        drop(sender);
        let (folded, passed) = match folding.join() {
            Ok(done) => done,
            Err(panic) => std::panic::resume_unwind(panic),
        };
        Ok((folded, read?, passed))
    })
}

/// Reads and decodes rows, a batch at a time, until `send` says that nobody listens.
pub(super) fn read_batches(
    log: &Log,
    start: &ScanStart,
    until: Option<i64>,
    mut send: impl FnMut(Vec<Decoded>) -> bool,
) -> Result<Position, LogError> {
    let mut batch = Vec::with_capacity(BATCH);
    let head = log.scan(start, &mut |raw| {
        if until.is_some_and(|until| raw.at.instant() > until) {
            return ControlFlow::Break(());
        }
        batch.push(Decoded::read(raw));
        if batch.len() == BATCH && !send(std::mem::replace(&mut batch, Vec::with_capacity(BATCH))) {
            return ControlFlow::Break(());
        }
        ControlFlow::Continue(())
    })?;
    send(batch);
    Ok(head)
}

fn fold_batches(
    receiver: &Receiver<Vec<Decoded>>,
    mut folded: Folded,
    retractions: &Retractions,
    head: Position,
) -> (Folded, Vec<Folded>) {
    let mut passed = Vec::new();
    let from = folded.timely.get();
    let mut stops = CHECKPOINTS_BEFORE_END.iter().map(|before| head.get() - before).filter(|&stop| stop > from);
    let mut next = stops.next();
    for fact in receiver.iter().flatten() {
        folded.take(&fact, retractions);
        if next.is_some_and(|stop| folded.timely.get() >= stop) {
            passed.push(folded.clone());
            next = stops.next();
        }
    }
    (folded, passed)
}

/// Every retraction of the log, resolved.
pub(super) fn all_retractions(log: &Log) -> Result<Retractions, LogError> {
    let mut retractions = Retractions::default();
    retractions.extend(log.retractions()?.iter().filter_map(|line| {
        let fact = line.fact().ok()?;
        let What::Retracted(retracted) = &fact.what else { return None };
        Some((fact.key(), retracted.of.clone()))
    }));
    Ok(retractions)
}

/// The facts that arrived after a position.
pub(super) fn arrived_after(log: &Log, position: Position) -> Result<Vec<Decoded>, LogError> {
    let mut arrived = Vec::new();
    log.arrived_after(position, &mut |raw| {
        arrived.push(Decoded::read(raw));
        ControlFlow::Continue(())
    })?;
    Ok(arrived)
}
