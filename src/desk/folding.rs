//! Folding the log: rows are read and decoded on one thread while another folds them.

use std::hint::black_box;
use std::ops::ControlFlow;
use std::sync::mpsc::{Receiver, Sender, channel, sync_channel};
use std::thread;

use super::passed_over::{PassedOver, Unread};
use crate::cellar::core::account::Entry;
use crate::cellar::core::evolve::evolve;
use crate::cellar::core::fact::{FactKey, Stamp, What};
use crate::cellar::core::fold::Retractions;
use crate::cellar::core::state::State;
use crate::log::{Log, LogError, Position, RawFact, ScanStart};

/// How many facts go from the reading to the folding thread at a time: few enough to stay in the processor's cache.
const BATCH: usize = 256;
/// How many batches may wait between the two.
const WAITING: usize = 6;
/// How many facts ahead the folding thread looks.
const AHEAD: usize = 6;
/// So few facts are folded where they are read: starting a thread would take longer.
const FEW: i64 = 4_096;

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
    /// How many facts came past.
    pub passed: i64,
    /// Which of them could not be read.
    pub passed_over: PassedOver,
}

/// What a row of the log holds.
pub(super) enum Content {
    /// What happened.
    Fact(What),
    /// A fact that is taken back.
    Gone,
    /// A fact that this program cannot read.
    Unread(Box<Unread>),
}

impl Content {
    #[inline]
    fn read(raw: &RawFact<'_>) -> Content {
        match What::of_version(raw.kind, raw.version, raw.body) {
            Ok(what) => Content::Fact(what),
            Err(error) => Content::Unread(Box::new(Unread::new(raw, error))),
        }
    }

    /// The same for a fact that is taken back. One that cannot be read is told all the same: who can say what it would do?
    pub fn taken_back(self) -> Content {
        if matches!(self, Content::Fact(_)) { Content::Gone } else { self }
    }
}

/// A fact on its way to the fold.
pub(super) struct Decoded {
    /// Its name and when it happened.
    pub stamp: Stamp,
    /// Its place in the order of arrival.
    pub position: Position,
    /// Whether it arrived after a fact of a later place.
    pub late: bool,
    /// What it says.
    pub content: Content,
}

impl Decoded {
    pub fn read(raw: &RawFact<'_>) -> Decoded {
        Decoded { stamp: raw.stamp(), position: raw.position(), late: raw.late, content: Content::read(raw) }
    }

    /// The same for a fold, which passes over what is taken back.
    pub fn read_unless_gone(raw: &RawFact<'_>, retractions: &Retractions) -> Decoded {
        let stamp = raw.stamp();
        let gone = retractions.contains(&stamp.id);
        let content = Content::read(raw);
        let content = if gone { content.taken_back() } else { content };
        Decoded { stamp, position: raw.position(), late: raw.late, content }
    }

    /// What happened, if it can be read and stands.
    pub fn what(&self) -> Option<&What> {
        match &self.content {
            Content::Fact(what) => Some(what),
            Content::Gone | Content::Unread(_) => None,
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

    /// Whether it has come to a fact or past its place.
    pub fn has_come_to(&self, key: &FactKey) -> bool {
        self.reached.as_ref().is_some_and(|reached| reached >= key)
    }

    /// Folds one fact; with nothing in it, passes it by.
    pub fn take(&mut self, fact: &Decoded) {
        match &fact.content {
            Content::Fact(what) => evolve(&mut self.state, &fact.stamp, what),
            Content::Gone => {}
            Content::Unread(unread) => self.passed_over.add(unread),
        }
        if !fact.late {
            self.timely = fact.position;
        }
        self.reached = Some(fact.stamp.key());
        self.passed += 1;
    }
}

/// Looks at the vessel that a fact which comes soon is about: the vessels of a large cellar do not all fit into the cache
/// of a processor. The answer says nothing.
pub(super) fn look_ahead(state: &State, coming: &Decoded) {
    let look = || -> Option<u64> {
        let about = coming.what()?.deed().subject()?;
        let vessel = state.vessels.by_label(about.as_str())?;
        // Whatever a topping changes, wherever in the vessel it lies; of what it remembers it writes over the oldest.
        let booked =
            vessel.postings.latest(Entry::Evaporation).as_ul() ^ vessel.postings.latest(Entry::MovedIn).as_ul();
        let remembered = vessel.history.lines().next().map_or(0, |line| line.id.n);
        let done = vessel.lately.first().map_or(0, |doing| doing.id.n);
        let believed = vessel.thirst.factor().to_bits() ^ u64::from(vessel.thirst.findings());
        let is_known = vessel.held.is_some() | vessel.carried.is_some() | vessel.home.is_some();
        Some(booked ^ remembered ^ done ^ believed ^ vessel.volume().as_ul() ^ u64::from(is_known))
    };
    black_box(look());
}

/// How far a log is folded.
#[derive(Clone, Copy)]
pub(super) enum Until<'a> {
    /// To its last fact.
    End,
    /// Up to an instant, which is included.
    Instant(i64),
    /// Up to a fact or its place, which is left out.
    Before(&'a FactKey),
}

impl Until<'_> {
    pub fn is_past(self, raw: &RawFact<'_>) -> bool {
        match self {
            Until::End => false,
            Until::Instant(instant) => raw.at.instant() > instant,
            Until::Before(key) => (raw.at.instant(), raw.device, raw.n) >= (key.instant, &key.id.device, key.id.n),
        }
    }
}

/// What folding a log came to.
pub(super) struct Run {
    /// The fold.
    pub folded: Folded,
    /// How much of the log was there.
    pub head: Position,
    /// Folds that were passed shortly before the end of the log, oldest first.
    pub passed: Vec<Folded>,
}

/// Folds the log from a start on.
pub(super) fn fold_log(log: &Log, start: Folded, retractions: &Retractions, until: Until<'_>) -> Result<Run, LogError> {
    log.at_one_instant(|| {
        let head = log.head()?;
        let scan = start.scan_start();
        let mut folding = Folding::new(start, head);
        if head.get() - folding.folded.passed <= FEW {
            read(log, &scan, retractions, until, |fact| {
                folding.take(&fact);
                true
            })?;
        } else {
            folding = apart(folding, |each| read(log, &scan, retractions, until, each))?;
        }
        Ok(Run { folded: folding.folded, head, passed: folding.passed })
    })
}

/// What takes facts in, one after the other in their order.
pub(super) trait TakeIn<Fact>: Send {
    /// Looks at what a fact that comes soon is about, so that the processor has it at hand by then.
    fn look_ahead(&self, coming: &Fact);

    /// Takes in the next fact.
    fn take_in(&mut self, fact: &Fact);
}

/// Reads facts on this thread and has them taken in on another. `read` hands out each fact, until it is told that it is
/// enough.
pub(super) fn apart<Fact: Send, Taker: TakeIn<Fact>>(
    mut taker: Taker,
    read: impl FnOnce(&mut dyn FnMut(Fact) -> bool) -> Result<(), LogError>,
) -> Result<Taker, LogError> {
    thread::scope(|scope| {
        let (sender, receiver) = sync_channel(WAITING);
        // Batches come back to be filled again: new memory for each would cost more than the decoding.
        let (give_back, emptied) = channel();
        let taking = scope.spawn(move || {
            take_all(&mut taker, &receiver, &give_back);
            taker
        });
        let mut batch = Vec::with_capacity(BATCH);
        let read = read(&mut |fact| {
            batch.push(fact);
            if batch.len() < BATCH {
                return true;
            }
            let mut next: Vec<Fact> = emptied.try_recv().unwrap_or_else(|_| Vec::with_capacity(BATCH));
            next.clear();
            sender.send(std::mem::replace(&mut batch, next)).is_ok()
        });
        // Only a taker that panicked does not listen any more, and its panic goes on below.
        let _ = sender.send(batch);
        drop(sender);
        match taking.join() {
            Ok(taker) => read.map(|()| taker),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    })
}

fn take_all<Fact>(taker: &mut impl TakeIn<Fact>, batches: &Receiver<Vec<Fact>>, give_back: &Sender<Vec<Fact>>) {
    for batch in batches {
        for (index, fact) in batch.iter().enumerate() {
            if let Some(coming) = batch.get(index + AHEAD) {
                taker.look_ahead(coming);
            }
            taker.take_in(fact);
        }
        // At the end nobody wants it any more.
        let _ = give_back.send(batch);
    }
}

/// Reads and decodes facts until `each` says that it is enough.
fn read(
    log: &Log,
    start: &ScanStart,
    retractions: &Retractions,
    until: Until<'_>,
    mut each: impl FnMut(Decoded) -> bool,
) -> Result<(), LogError> {
    log.scan(start, &mut |raw| {
        if until.is_past(raw) || !each(Decoded::read_unless_gone(raw, retractions)) {
            return ControlFlow::Break(());
        }
        ControlFlow::Continue(())
    })?;
    Ok(())
}

/// Hands out every fact from a start on, without what is taken back.
pub(super) fn each_fact(
    log: &Log,
    start: &ScanStart,
    retractions: &Retractions,
    until: Until<'_>,
    mut each: impl FnMut(Decoded),
) -> Result<(), LogError> {
    read(log, start, retractions, until, |fact| {
        each(fact);
        true
    })
}

/// A fold on its way, which leaves checkpoints behind.
struct Folding {
    folded: Folded,
    passed: Vec<Folded>,
    /// After how many facts a checkpoint is left, the next one last.
    stops: Vec<i64>,
}

impl Folding {
    fn new(folded: Folded, head: Position) -> Folding {
        let from = folded.passed;
        let stops = CHECKPOINTS_BEFORE_END.iter().rev().map(|before| head.get() - before);
        Folding { folded, passed: Vec::new(), stops: stops.filter(|&stop| stop > from).collect() }
    }

    fn take(&mut self, fact: &Decoded) {
        self.folded.take(fact);
        if self.stops.last() == Some(&self.folded.passed) {
            self.passed.push(self.folded.clone());
            self.stops.pop();
        }
    }
}

impl TakeIn<Decoded> for Folding {
    fn look_ahead(&self, coming: &Decoded) {
        look_ahead(&self.folded.state, coming);
    }

    fn take_in(&mut self, fact: &Decoded) {
        self.take(fact);
    }
}

/// Every retraction of the log, resolved.
pub(super) fn all_retractions(log: &Log) -> Result<Retractions, LogError> {
    let mut found = Vec::new();
    log.retractions_after(Position::START, &mut |raw| {
        found.extend(Decoded::read(raw).retraction());
        ControlFlow::Continue(())
    })?;
    let mut retractions = Retractions::default();
    retractions.extend(found);
    Ok(retractions)
}
