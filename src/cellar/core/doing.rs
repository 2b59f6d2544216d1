//! What was done at a vessel of late in a round or at a step of a work, by the facts that did it.
//!
//! It serves two ends. What is typed at a barrel that is done is what it took: the facts that said otherwise are taken back. And
//! what two laptops did on one occasion without knowing of each other was perhaps done once and entered twice: both facts
//! count, and a discrepancy names them until somebody settles it.

use serde::{Deserialize, Serialize};
use smallvec::SmallVec;

use super::fact::{FactId, Stamp};
use super::label::Label;
use super::moment::{HOUR_MICROSECONDS, Moment};
use super::refusal::Refusal;
use super::state::{Discrepancy, Round, RoundId, State, Vessel, VesselId, Work, WorkId};
use super::table::Table;
use crate::cellar::jobs::floor::work::{Task, Tick};
use crate::cellar::jobs::wood::care::Care;
use crate::units::{Mass, Volume, poured, weighed};

/// Once a round or a work is closed, another laptop that does not know of it may go on for so long (our choice: a day's work).
const GOES_ON: i64 = 12 * HOUR_MICROSECONDS;
/// So many facts are remembered of a vessel at the most.
const REMEMBERED: usize = 32;

/// What something was part of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Within {
    /// A round.
    Round(RoundId),
    /// A work.
    Work(WorkId),
    /// The care of empty wood, with a work or without.
    Care(Care),
}

/// A fact by which something was done at a vessel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Doing {
    /// Which fact.
    pub id: FactId,
    /// When.
    pub at: Moment,
    /// In which round, or at a step of which work.
    pub within: Within,
    /// What was poured, moved, or added as a solution.
    pub volume: Volume,
    /// What was weighed.
    pub amount: Mass,
    /// Whether nothing was left to do afterwards.
    pub done: bool,
}

/// What was done of late, the last of it last.
pub type Doings = SmallVec<[Doing; 1]>;

/// What may have been done once and entered on two laptops.
#[derive(Clone, Debug, PartialEq)]
pub struct Twice {
    /// The facts of other laptops that came before.
    pub earlier: Vec<FactId>,
    /// The sentence about it.
    pub said: Refusal,
}

impl Doing {
    /// How much it was, as whoever did it reads it.
    #[must_use]
    pub fn much(&self) -> String {
        much(self.volume, self.amount)
    }
}

/// Litres as they were measured; where none were, what was weighed.
#[must_use]
pub fn much(volume: Volume, amount: Mass) -> String {
    if volume.is_zero() && !amount.is_zero() { weighed(amount) } else { poured(volume) }
}

impl Vessel {
    /// What was done at it in a round or a work, first things first.
    pub fn done_within(&self, within: Within) -> impl Iterator<Item = &Doing> {
        self.lately.iter().filter(move |doing| doing.within == within)
    }

    /// Remembers what was done at it. What belongs to no open round or work, nor to the same half day, is forgotten.
    pub(in crate::cellar) fn did(&mut self, doing: Doing, rounds: &Table<RoundId, Round>, works: &Table<WorkId, Work>) {
        let is_open = |within: Within| match within {
            Within::Round(round) => rounds.get(round).ended.is_none(),
            Within::Work(work) => works.get(work).ended.is_none(),
            Within::Care(_) => false,
        };
        let goes_on = |other: &Doing| doing.at.instant() - other.at.instant() <= GOES_ON || is_open(other.within);
        if let [last] = self.lately.as_mut_slice()
            && !goes_on(last)
        {
            *last = doing;
            return;
        }
        self.lately.retain(|other| goes_on(other));
        if self.lately.len() == REMEMBERED {
            self.lately.remove(0);
        }
        self.lately.push(doing);
    }
}

impl State {
    /// What other laptops poured to the brim into a vessel in the round that is open in its room, or was closed a while ago.
    pub(in crate::cellar) fn topped_elsewhere<'a>(&'a self, id: VesselId, stamp: &Stamp) -> Vec<&'a Doing> {
        let vessel = self.vessels.get(id);
        if vessel.lately.is_empty() {
            return Vec::new();
        }
        let open = self.open_round_of(vessel);
        let is_same = |doing: &Doing| match (doing.within, open) {
            (Within::Round(round), Some(open)) => round == open,
            (Within::Round(_), None) => goes_on(doing, stamp),
            (Within::Work(_) | Within::Care(_), _) => false,
        };
        // Of most that is remembered the round is over, and a glance at that is cheaper than one at who did it.
        let in_time = vessel.lately.iter().filter(|doing| doing.done && is_same(doing));
        in_time.filter(|doing| is_of_another(doing, stamp)).collect()
    }

    /// What other laptops did at a step of a work that a fact fits, where no open work has that step still to be done.
    pub(in crate::cellar) fn stepped_elsewhere<'a>(
        &'a self,
        id: VesselId,
        stamp: &Stamp,
        fits: impl Fn(&Task) -> bool,
    ) -> Vec<&'a Doing> {
        let vessel = self.vessels.get(id);
        if vessel.lately.is_empty() {
            return Vec::new();
        }
        let works = self.open_works.iter().map(|&id| self.works.get(id)).filter(|work| fits(&work.task));
        let mut ticks = works.filter_map(|work| work.stop(id)).map(|stop| stop.tick);
        if ticks.any(|tick| !matches!(tick, Some(Tick::Done(_)))) {
            return Vec::new();
        }
        let is_same = |doing: &Doing| match doing.within {
            Within::Work(work) => {
                let work = self.works.get(work);
                fits(&work.task) && (work.ended.is_none() || goes_on(doing, stamp))
            }
            Within::Round(_) | Within::Care(_) => false,
        };
        of_others(vessel, stamp).filter(|doing| is_same(doing)).collect()
    }

    /// The same care that other laptops gave to the wood of a vessel within half a day.
    pub(in crate::cellar) fn cared_elsewhere<'a>(
        &'a self,
        id: VesselId,
        care: Care,
        stamp: &'a Stamp,
    ) -> Vec<&'a Doing> {
        let is_same = |doing: &&Doing| doing.within == Within::Care(care) && goes_on(doing, stamp);
        of_others(self.vessels.get(id), stamp).filter(is_same).collect()
    }

    /// What the vessels of a blend gave to it, transfer by transfer in their order; nothing where the work is no blend.
    #[must_use]
    pub fn given_to(&self, work: WorkId) -> Vec<(VesselId, &Doing)> {
        let set = self.works.get(work);
        if !matches!(set.task, Task::Blending { .. }) {
            return Vec::new();
        }
        let of = |id: VesselId| self.vessels.get(id).done_within(Within::Work(work)).map(move |doing| (id, doing));
        let mut given: Vec<(VesselId, &Doing)> = set.stops.iter().flat_map(|stop| of(stop.vessel)).collect();
        given.sort_by_key(|(_, doing)| (doing.at.instant(), &doing.id));
        given
    }

    /// Remembers what was done at a vessel.
    pub(in crate::cellar) fn did(&mut self, id: VesselId, doing: Doing) {
        self.vessels.get_mut(id).did(doing, &self.rounds, &self.works);
    }

    /// The discrepancies that two laptops made, and that the person settles: both, or one of them.
    #[must_use]
    pub fn done_twice(&self) -> impl DoubleEndedIterator<Item = &Discrepancy> {
        self.discrepancies.iter().filter(|found| !found.twice.is_empty())
    }
}

fn goes_on(doing: &Doing, stamp: &Stamp) -> bool {
    stamp.at.instant() - doing.at.instant() <= GOES_ON
}

fn is_of_another(doing: &Doing, stamp: &Stamp) -> bool {
    doing.id.device != stamp.id.device
}

fn of_others<'a, 'b>(vessel: &'a Vessel, stamp: &'b Stamp) -> impl Iterator<Item = &'a Doing> + use<'a, 'b> {
    vessel.lately.iter().filter(|doing| is_of_another(doing, stamp))
}

/// That something was done on another laptop before; none where nothing was.
pub(in crate::cellar) fn twice(
    vessel: &Label,
    did: &'static str,
    earlier: &[&Doing],
    (stamp, volume, amount): (&Stamp, Volume, Mass),
) -> Option<Box<Twice>> {
    if earlier.is_empty() {
        return None;
    }
    let said = |much: String, at: Moment| format!("{much} at {}", at.show_clock());
    let mut times: Vec<String> = earlier.iter().map(|doing| said(doing.much(), doing.at)).collect();
    times.push(said(much(volume, amount), stamp.at));
    Some(Box::new(twice_at(vessel, did, earlier, &times)))
}

/// The same of what is not measured.
pub(in crate::cellar) fn twice_unmeasured(
    vessel: &Label,
    did: &'static str,
    earlier: &[&Doing],
    stamp: &Stamp,
) -> Option<Box<Twice>> {
    if earlier.is_empty() {
        return None;
    }
    let times = earlier.iter().map(|doing| doing.at).chain([stamp.at]);
    let times: Vec<String> = times.map(|at| format!("at {}", at.show_clock())).collect();
    Some(Box::new(twice_at(vessel, did, earlier, &times)))
}

fn twice_at(vessel: &Label, did: &'static str, earlier: &[&Doing], times: &[String]) -> Twice {
    Twice {
        earlier: earlier.iter().map(|doing| doing.id.clone()).collect(),
        said: Refusal::DoneTwice { vessel: vessel.clone(), did, times: times.join(", ") },
    }
}
