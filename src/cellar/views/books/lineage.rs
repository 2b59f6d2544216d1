//! Lineage: where the wine of a vessel, lot or bottle came from, and where it went.
//!
//! **What wine met and where it went** is gathered once, by `Tracer::past_of_run` and `Tracer::onward`; the desk, the sheet and the page of
//! the screen show that.
//!
//! **New wood** is followed through every vessel by `Tracer::new_wood`, which needs all facts; the state alone knows only the barrel that a
//! wine lies in. Wine that came into the book in a tank counts as never having lain in wood.
//!
//! **Back and forward agree**: a fill is in the past of bottles exactly if these bottles are in its future (`tests/cellar/recall.rs`). What
//! is done to wine is kept with the fill and with how much had happened; care of the wood and a chosen blend belong to the wine that comes
//! next.
//!
//! **A bottle's past** ends where it was filled: `Tracer::past_of_run` walks back from each stretch, so that what came into the tank later
//! is none of it. A test of a sample counts by when the sample was drawn. Additions, tests and tastes are kept beside the flows with the
//! fill that they were done to.

mod done;
mod gathered;
mod names;
mod new_wood;
mod onward;
mod recall;

use std::collections::hash_map::Entry;

use rustc_hash::FxHashMap;

use crate::cellar::core::evolve::evolve;
use crate::cellar::core::fact::{Stamp, What};
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, OriginId, RunId, State, Vessel, VesselId};
use crate::cellar::jobs::floor::receiving::ReceivedPart;
use crate::cellar::jobs::wood::moving::Purpose;
use crate::units::Volume;

pub use done::{Check, Done, DoneTo, Test};
pub use gathered::{Added, Finding, Flowed, LaidIn, Times, flowed};
pub use names::Name;
pub use new_wood::NewWood;
pub use onward::{Onward, Starting};
pub use recall::{AtTheLine, Past, Reached, ReachedCode, Root};

/// A vessel in one of its fills: wine of another fill of the same vessel is other wine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Fill {
    /// The vessel.
    pub vessel: VesselId,
    /// Which of its fills, as the vessel counts them.
    pub number: u32,
}

/// Why wine flowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Flow {
    /// It was moved.
    Moved(Purpose),
    /// It was poured into a headspace.
    Topping,
}

/// Wine that went from one fill to another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Step {
    from: Fill,
    to: Fill,
    volume: Volume,
    at: Moment,
    flow: Flow,
    lot: Option<LotId>,
}

/// All that flowed between two fills for one reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stream {
    /// Where it came from.
    pub from: Fill,
    /// Where it went.
    pub to: Fill,
    /// Why.
    pub flow: Flow,
    /// The lot that it was when it left.
    pub lot: Option<LotId>,
    /// How much in all.
    pub volume: Volume,
    /// How often.
    pub times: u32,
    /// When first.
    pub first: Moment,
    /// When last.
    pub last: Moment,
}

/// Wine that came into the book in a fill.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Receipt {
    /// Where it came into.
    pub into: Fill,
    /// The lot that it was from then on.
    pub lot: LotId,
    /// Where it grew.
    pub origin: OriginId,
    /// How much.
    pub volume: Volume,
    /// When.
    pub at: Moment,
}

/// Something that happened to wine, in the order of the facts.
#[derive(Clone, Copy, Debug)]
enum Happened {
    Flowed(Step),
    Received(Receipt),
    Bottled(Filled),
    /// It left the house in bulk: which of those that did.
    Left(usize),
}

/// Wine that left the house in bulk.
#[derive(Clone, Debug, PartialEq)]
pub struct BulkOut {
    /// Where it left from.
    pub from: Fill,
    /// The lot that it was.
    pub lot: Option<LotId>,
    /// How much.
    pub volume: Volume,
    /// When.
    pub at: Moment,
    /// To whom.
    pub to: Text,
    /// Why.
    pub why: Option<Text>,
}

/// Wine that went from a fill into the bottles of a run.
#[derive(Clone, Copy, Debug)]
struct Filled {
    from: Fill,
    run: RunId,
    /// Which of the run's stretches.
    stretch: usize,
}

/// A person; none where the name is none, as in a damaged file.
pub type Hand = Option<Name>;

/// Where wine came from, directly or through other fills.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Back {
    /// What flowed, first things first.
    pub streams: Vec<Stream>,
    /// What came into the book on the way, first things first.
    pub receipts: Vec<Receipt>,
}

/// A fill, and since when its wine counts: what went out of it before that was other wine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Since {
    /// The fill.
    pub fill: Fill,
    /// How much had happened before.
    happened: usize,
}

impl Flow {
    /// The word for it in the exchange format.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Flow::Topping => "topping",
            Flow::Moved(Purpose::BarrelDown) => "barrel_down",
            Flow::Moved(Purpose::Racking) => "racking",
            Flow::Moved(Purpose::Blend) => "blend",
            Flow::Moved(Purpose::Filtration) => "filtration",
            Flow::Moved(Purpose::Other) => "other",
        }
    }
}

impl From<Fill> for Since {
    fn from(fill: Fill) -> Since {
        Since { fill, happened: 0 }
    }
}

/// Folds facts and remembers every flow of wine.
#[derive(Debug, Default)]
pub struct Tracer {
    /// The state so far.
    pub state: State,
    happened: Vec<Happened>,
    /// Who entered each thing that happened.
    hands: Vec<Hand>,
    /// What left the house in bulk.
    bulk_out: Vec<BulkOut>,
    /// Additions, tests, tastes and what else was done to wine, in the order of the facts.
    done: Vec<Done>,
    /// What every labelled sample was drawn from.
    samples: FxHashMap<Label, done::Portions>,
    people: names::Names,
    /// Materials and their batches.
    materials: names::Names,
    /// Every fill under every lot's name that it had, in the order in which it took it.
    named: Vec<(LotId, Since)>,
    /// The name that each fill took last.
    last_named: FxHashMap<Fill, LotId>,
}

impl Tracer {
    /// Folds one fact that is not taken back.
    pub fn fold(&mut self, stamp: &Stamp, what: &What) {
        self.fold_by(None, stamp, what);
    }

    /// Folds one fact that is not taken back, and remembers who entered it.
    pub fn fold_by(&mut self, by: Option<&str>, stamp: &Stamp, what: &What) {
        let before = self.happened.len();
        let step = self.step(stamp, what);
        let receipts = self.receipts(stamp, what);
        let bottled_from = self.bottled_from(what);
        let bulk_out = self.bulk_out(stamp, what);
        let kept = self.state.discrepancies.len();
        evolve(&mut self.state, stamp, what);
        let without_effect = self.state.discrepancies[kept..].iter().any(|found| !found.counted);
        if without_effect {
            return;
        }
        let into = step.map(|step| step.to).or_else(|| receipts.first().map(|receipt| receipt.into));
        self.happened.extend(step.map(Happened::Flowed));
        self.happened.extend(receipts.into_iter().map(Happened::Received));
        let filled = bottled_from.and_then(|(run, from)| self.filled(run, from));
        self.happened.extend(filled.map(Happened::Bottled));
        if let Some(left) = bulk_out {
            self.happened.push(Happened::Left(self.bulk_out.len()));
            self.bulk_out.push(left);
        }
        let hand = by.and_then(|by| self.people.number(by));
        self.hands.resize(self.happened.len(), hand);
        if let Some((wine, to)) = self.done_to(what) {
            self.done.push(Done { at: stamp.at, hand, wine, to });
        }
        if let Some((fill, lot)) = into.and_then(|fill| Some((fill, self.state.vessels.get(fill.vessel).lot?))) {
            self.name(lot, Since { fill, happened: before });
        }
    }

    /// How much has happened.
    fn so_far(&self) -> u32 {
        u32::try_from(self.happened.len()).unwrap_or(u32::MAX)
    }

    /// Remembers a lot's name on a fill, where it is new there.
    fn name(&mut self, lot: LotId, since: Since) {
        if self.last_named.insert(since.fill, lot) != Some(lot) {
            self.named.push((lot, since));
        }
    }

    /// The fill that wine comes into when it comes into a vessel now.
    fn fill_next(&self, vessel: VesselId) -> Fill {
        let target = self.state.vessels.get(vessel);
        Fill { vessel, number: target.fills + u32::from(target.wine.is_empty()) }
    }

    fn step(&self, stamp: &Stamp, what: &What) -> Option<Step> {
        let (from, to, volume, flow) = match what {
            What::WineMoved(moved) => (&moved.from, &moved.to, moved.volume, Flow::Moved(moved.purpose)),
            What::Topped(topped) => (&topped.from, &topped.vessel, topped.volume, Flow::Topping),
            _ => return None,
        };
        let (from, to) = (self.state.vessels.find(from.as_str())?, self.state.vessels.find(to.as_str())?);
        let source = self.state.vessels.get(from);
        (!volume.is_zero()).then_some(Step {
            from: Fill { vessel: from, number: source.fills },
            to: self.fill_next(to),
            volume,
            at: stamp.at,
            flow,
            lot: source.lot,
        })
    }

    fn receipts(&self, stamp: &Stamp, what: &What) -> Vec<Receipt> {
        let What::WineReceived(received) = what else { return Vec::new() };
        let found = self.state.vessels.find(received.vessel.as_str()).zip(self.state.lots.find(received.lot.as_str()));
        let Some((vessel, lot)) = found else { return Vec::new() };
        let into = self.fill_next(vessel);
        let receipt = |part: &ReceivedPart| {
            let origin = self.state.origins.find(part.origin.as_str())?;
            Some(Receipt { into, lot, origin, volume: part.volume, at: stamp.at })
        };
        received.parts.iter().filter_map(receipt).collect()
    }

    fn bulk_out(&self, stamp: &Stamp, what: &What) -> Option<BulkOut> {
        let What::WineOut(out) = what else { return None };
        let id = self.state.vessels.find(out.vessel.as_str())?;
        let lot = self.state.vessels.get(id).lot;
        let (to, why) = (out.to.clone(), out.why.clone());
        Some(BulkOut { from: self.fill_of(id), lot, volume: out.volume, at: stamp.at, to, why })
    }

    /// The present fill of a vessel, or its last one where it is empty.
    #[must_use]
    pub fn fill_of(&self, vessel: VesselId) -> Fill {
        Fill { vessel, number: self.state.vessels.get(vessel).fills }
    }

    /// The lot whose name a fill took last.
    #[must_use]
    pub fn last_name(&self, fill: Fill) -> Option<LotId> {
        self.last_named.get(&fill).copied()
    }

    /// The fills that hold a lot now.
    #[must_use]
    pub fn fills_now(&self, lot: LotId) -> Vec<Fill> {
        let holds = |(id, vessel): (VesselId, &Vessel)| (vessel.lot == Some(lot)).then(|| self.fill_of(id));
        self.state.vessels.iter().filter_map(holds).collect()
    }

    /// Every fill that ever had a lot's name, each since it took it.
    #[must_use]
    pub fn fills_ever(&self, lot: LotId) -> Vec<Since> {
        self.named.iter().filter(|(named, _)| *named == lot).map(|(_, since)| *since).collect()
    }

    /// Everything that flowed into some fills, directly or through others, and what came into the book on the way.
    #[must_use]
    pub fn back(&self, fills: &[Fill]) -> Back {
        let roots: Vec<Root> = fills.iter().map(|&fill| Root { fill, before: self.happened.len() }).collect();
        self.gather_back(&self.walk_back(&roots).way)
    }

    fn gather_back(&self, way: &[usize]) -> Back {
        let (mut steps, mut receipts) = (Vec::new(), Vec::new());
        for &index in way {
            match self.happened[index] {
                Happened::Flowed(step) => steps.push(step),
                Happened::Received(receipt) => receipts.push(receipt),
                Happened::Bottled(_) | Happened::Left(_) => {}
            }
        }
        Back { streams: gather(&steps), receipts: gather_receipts(&receipts) }
    }

    /// What happened on the way to some wine, first things first. Walking back in time, wine that reached a source after it
    /// had given does not count.
    fn walk_back(&self, roots: &[Root]) -> recall::Walk {
        let mut until: FxHashMap<Fill, usize> = FxHashMap::default();
        for root in roots {
            let latest = until.entry(root.fill).or_insert(root.before);
            *latest = root.before.max(*latest);
        }
        let mut way = Vec::new();
        for (index, happened) in self.happened.iter().enumerate().rev() {
            let counts = |fill: &Fill| until.get(fill).is_some_and(|&until| index < until);
            match happened {
                Happened::Flowed(step) if counts(&step.to) => {
                    let latest = until.entry(step.from).or_insert(index);
                    *latest = index.max(*latest);
                    way.push(index);
                }
                Happened::Received(receipt) if counts(&receipt.into) => way.push(index),
                _ => {}
            }
        }
        way.reverse();
        recall::Walk { way, until }
    }

    /// Everything that flowed out of some fills since they count, directly or through others, first things first.
    #[must_use]
    pub fn forward(&self, fills: &[Since]) -> Vec<Stream> {
        let flowed = |&index: &usize| match self.happened[index] {
            Happened::Flowed(step) => Some(step),
            Happened::Received(_) | Happened::Bottled(_) | Happened::Left(_) => None,
        };
        gather(&self.walk_forward(fills).iter().filter_map(flowed).collect::<Vec<_>>())
    }

    /// What of it left the house in bulk, first things first.
    #[must_use]
    pub fn left_in_bulk(&self, fills: &[Since]) -> Vec<&BulkOut> {
        let left = |&index: &usize| match self.happened[index] {
            Happened::Left(which) => self.bulk_out.get(which),
            Happened::Flowed(_) | Happened::Received(_) | Happened::Bottled(_) => None,
        };
        self.walk_forward(fills).iter().filter_map(left).collect()
    }

    /// What happened to wine since it counts, first things first.
    fn walk_forward(&self, fills: &[Since]) -> Vec<usize> {
        let mut counts: FxHashMap<Fill, usize> = FxHashMap::default();
        for since in fills {
            let earliest = counts.entry(since.fill).or_insert(since.happened);
            *earliest = since.happened.min(*earliest);
        }
        let mut way = Vec::new();
        for (index, happened) in self.happened.iter().enumerate() {
            let from = match happened {
                Happened::Flowed(step) => step.from,
                Happened::Bottled(filled) => filled.from,
                Happened::Left(which) => self.bulk_out[*which].from,
                Happened::Received(_) => continue,
            };
            if counts.get(&from).is_none_or(|&since| since > index) {
                continue;
            }
            if let Happened::Flowed(step) = happened {
                let earliest = counts.entry(step.to).or_insert(index);
                *earliest = index.min(*earliest);
            }
            way.push(index);
        }
        way
    }
}

/// What came into a fill of one origin and as one lot is one receipt, dated by the first.
fn gather_receipts(receipts: &[Receipt]) -> Vec<Receipt> {
    let mut index: FxHashMap<(Fill, LotId, OriginId), usize> = FxHashMap::default();
    let mut gathered: Vec<Receipt> = Vec::new();
    for receipt in receipts {
        match index.entry((receipt.into, receipt.lot, receipt.origin)) {
            Entry::Occupied(known) => gathered[*known.get()].volume += receipt.volume,
            Entry::Vacant(place) => {
                place.insert(gathered.len());
                gathered.push(*receipt);
            }
        }
    }
    gathered
}

fn gather(steps: &[Step]) -> Vec<Stream> {
    let mut index: FxHashMap<(Fill, Fill, Flow, Option<LotId>), usize> = FxHashMap::default();
    let mut streams: Vec<Stream> = Vec::new();
    for step in steps {
        let at = *index.entry((step.from, step.to, step.flow, step.lot)).or_insert_with(|| {
            streams.push(Stream {
                from: step.from,
                to: step.to,
                flow: step.flow,
                lot: step.lot,
                volume: Volume::ZERO,
                times: 0,
                first: step.at,
                last: step.at,
            });
            streams.len() - 1
        });
        let stream = &mut streams[at];
        stream.volume += step.volume;
        stream.times += 1;
        stream.last = step.at;
    }
    streams
}
