//! Lineage: where the wine of a vessel or lot came from, and where it went.

use rustc_hash::{FxHashMap, FxHashSet};

use super::evolve::evolve;
use super::fact::{Stamp, What};
use super::moment::Moment;
use super::moving::Purpose;
use super::state::{LotId, State, VesselId};
use crate::units::Volume;

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

/// Folds facts and remembers every flow of wine.
#[derive(Debug, Default)]
pub struct Tracer {
    /// The state so far.
    pub state: State,
    steps: Vec<Step>,
}

impl Tracer {
    /// Folds one fact that is not taken back.
    pub fn fold(&mut self, stamp: &Stamp, what: &What) {
        let step = self.step(stamp, what);
        let kept = self.state.discrepancies.len();
        evolve(&mut self.state, stamp, what);
        let without_effect = self.state.discrepancies[kept..].iter().any(|found| !found.counted);
        if !without_effect {
            self.steps.extend(step);
        }
    }

    fn step(&self, stamp: &Stamp, what: &What) -> Option<Step> {
        let (from, to, volume, flow) = match what {
            What::WineMoved(moved) => (&moved.from, &moved.to, moved.volume, Flow::Moved(moved.purpose)),
            What::Topped(topped) => (&topped.from, &topped.vessel, topped.volume, Flow::Topping),
            _ => return None,
        };
        let (from, to) = (self.state.vessels.find(from.as_str())?, self.state.vessels.find(to.as_str())?);
        let (source, target) = (self.state.vessels.get(from), self.state.vessels.get(to));
        let begins = u32::from(target.wine.is_empty());
        (!volume.is_zero()).then_some(Step {
            from: Fill { vessel: from, number: source.fills },
            to: Fill { vessel: to, number: target.fills + begins },
            volume,
            at: stamp.at,
            flow,
            lot: source.lot,
        })
    }

    /// The present fill of a vessel, or its last one where it is empty.
    #[must_use]
    pub fn fill_of(&self, vessel: VesselId) -> Fill {
        Fill { vessel, number: self.state.vessels.get(vessel).fills }
    }

    /// Everything that flowed into some fills, directly or through others, first things first.
    #[must_use]
    pub fn back(&self, fills: &[Fill]) -> Vec<Stream> {
        // Walking back in time, wine that reached a source after it had given does not count.
        let mut reached: FxHashSet<Fill> = fills.iter().copied().collect();
        let mut steps = Vec::new();
        for step in self.steps.iter().rev() {
            if reached.contains(&step.to) {
                reached.insert(step.from);
                steps.push(*step);
            }
        }
        steps.reverse();
        gather(&steps)
    }

    /// Everything that flowed out of some fills, directly or through others, first things first.
    #[must_use]
    pub fn forward(&self, fills: &[Fill]) -> Vec<Stream> {
        let mut reached: FxHashSet<Fill> = fills.iter().copied().collect();
        let mut steps = Vec::new();
        for step in &self.steps {
            if reached.contains(&step.from) {
                reached.insert(step.to);
                steps.push(*step);
            }
        }
        gather(&steps)
    }
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
