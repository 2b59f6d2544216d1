//! Racking to a tank: which barrels, in which order, how much wine is expected of each, and whether the tank has room.
//!
//! **Lees expected** of a barrel are the median of the last 64 whose tank was gauged (`State::learn_lees`): what stayed behind by the book,
//! and what the tank lacks or has too much, spread over the barrels racked since its level was known. What was said to arrive measures
//! nothing: it is often what was expected. More than a tenth of a barrel is no lees.

use std::ops::Range;

use serde::{Deserialize, Serialize};

use crate::cellar::core::book;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, RoomId, State, VesselId};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::floor::work::{StopSet, Task, TaskSet, WorkSet};
use crate::cellar::jobs::topping::gauging::Missing;
use crate::cellar::jobs::wood::moving::{Purpose, WineMoved};
use crate::units::{Volume, litres};

/// How many rackings the cellar remembers for the lees that they left behind.
const REMEMBERED: usize = 64;
/// What stays behind beyond this part of a barrel is no lees: it was drawn elsewhere, or the book was wrong (our choice).
const MOST_LEES: u64 = 10;
/// Expected litres are said as they are read on a meter.
const METER: u64 = 100_000;

/// What is to be racked where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RackingAsked {
    /// The lot whose barrels are racked.
    pub lot: LotId,
    /// Only the barrels of these slots, where some are named.
    pub racks: Vec<(RoomId, Range<usize>)>,
    /// The vessel that the wine comes into.
    pub to: VesselId,
    /// The lot that it is there, where that is said.
    pub into: Option<LotId>,
}

/// A barrel of a racking.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RackingStop {
    /// Which barrel.
    pub vessel: VesselId,
    /// What is expected to arrive in the tank.
    pub expected: Volume,
    /// The standard deviation of that, as far as the headspace estimate knows.
    pub deviation: Volume,
    /// Lees and the wine lost with them, expected.
    pub lees: Volume,
}

/// Barrels that were racked into a vessel since its level was known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct RackedIn {
    /// How many.
    pub(in crate::cellar) barrels: u32,
    /// What was left behind in them in all, by the book of the vessel.
    pub(in crate::cellar) left: Volume,
    /// What they hold brimful in all.
    pub(in crate::cellar) capacity: Volume,
}

/// What the last rackings left behind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LeesFound {
    /// Their median, by barrel.
    pub each: Volume,
    /// How many rackings of a barrel it is of.
    pub rackings: usize,
}

/// A racking before it is walked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Racking {
    /// What was asked.
    pub asked: RackingAsked,
    /// The barrels, in walking order.
    pub stops: Vec<RackingStop>,
    /// Barrels that are held and left out.
    pub held: Vec<VesselId>,
    /// Barrels among the others whose wine is suspect.
    pub suspect: Vec<VesselId>,
    /// What is expected to arrive in all.
    pub expected: Volume,
    /// Lees in all.
    pub lees: Volume,
    /// Where the lees are from; none where no tank was gauged after a racking yet, and none are reckoned with.
    pub lees_found: Option<LeesFound>,
    /// What the tank has room for now, by the book.
    pub room: Volume,
}

/// The fact that a vessel was racked empty: with what arrives, the lees that stay behind, and the lot that it is there.
pub(in crate::cellar) fn racked(
    state: &State,
    from: VesselId,
    to: VesselId,
    (volume, lees): (Volume, Volume),
    lot: Option<LotId>,
) -> What {
    let label = |id: VesselId| state.vessels.get(id).label.clone();
    What::WineMoved(Box::new(WineMoved {
        lees,
        empties: true,
        lot: lot.map(|lot| state.lots.get(lot).label.clone()),
        ..WineMoved::of(label(from), label(to), volume, Purpose::Racking)
    }))
}

impl Racking {
    /// What lees are expected, and where that is from.
    #[must_use]
    pub fn lees_words(&self) -> String {
        match self.lees_found {
            Some(found) => {
                let (all, each) = (litres(self.lees), litres(found.each));
                let barrels = found.rackings;
                let of = if barrels == 1 {
                    "the last barrel".to_owned()
                } else {
                    format!("the median of the last {barrels} barrels")
                };
                format!("Lees: {all} in all, {each} a barrel, {of} whose tank was gauged.")
            }
            None => "Lees: no earlier racking to estimate from.".to_owned(),
        }
    }

    /// What the tank lacks in room; nothing where it has enough.
    #[must_use]
    pub fn short(&self) -> Volume {
        self.expected.saturating_sub(self.room)
    }

    /// The fact that begins it. Refused where the tank is too small.
    pub fn begin(&self, state: &State, work: Label) -> Result<WorkSet, Refusal> {
        let tank = state.vessels.get(self.asked.to);
        if !self.short().is_zero() {
            let (room, expected) = (self.room, self.expected);
            return Err(Refusal::TankTooSmall { tank: tank.label.clone(), room, expected });
        }
        let stops = self.stops.iter().map(|stop| StopSet {
            vessel: state.vessels.get(stop.vessel).label.clone(),
            volume: stop.expected,
            lees: stop.lees,
            ..StopSet::of(state.vessels.get(stop.vessel).label.clone())
        });
        let lot = self.asked.into.map(|lot| state.lots.get(lot).label.clone());
        Ok(WorkSet { work, task: TaskSet::Racking { to: tank.label.clone(), lot }, stops: stops.collect() })
    }
}

impl State {
    /// Plans a racking at a moment. Refused where there is nothing to rack, or the tank cannot take it.
    pub fn plan_racking(&self, asked: RackingAsked, at: Moment) -> Result<Racking, Refusal> {
        let wanted = |id: VesselId| {
            let vessel = self.vessels.get(id);
            let slot = vessel.slot.map(|slot| (slot.room, slot.index as usize));
            let in_racks = |(room, index)| asked.racks.iter().any(|(of, slots)| *of == room && slots.contains(&index));
            vessel.lot == Some(asked.lot) && (asked.racks.is_empty() || slot.is_some_and(in_racks))
        };
        let (held, barrels): (Vec<VesselId>, Vec<VesselId>) =
            self.barrels_walked().filter(|&id| wanted(id)).partition(|&id| self.vessels.get(id).held.is_some());
        let lot = &self.lots.get(asked.lot).label;
        match (barrels.is_empty(), held.is_empty()) {
            (true, true) => return Err(Refusal::NothingToRack(lot.clone())),
            (true, false) => return Err(Refusal::AllHeld(lot.clone())),
            _ => {}
        }
        self.takes_in(&asked)?;
        self.in_no_other_work(&barrels, |task| matches!(task, Task::Racking { .. }))?;
        let lees_found = self.lees_found();
        let stops: Vec<RackingStop> =
            barrels.iter().map(|&id| self.racking_stop(id, lees_found.map(|found| found.each), at)).collect();
        Ok(Racking {
            held,
            suspect: self.suspects_among(barrels),
            expected: stops.iter().map(|stop| stop.expected).sum(),
            lees: stops.iter().map(|stop| stop.lees).sum(),
            lees_found,
            room: self.vessels.get(asked.to).book_headspace(),
            stops,
            asked,
        })
    }

    /// What is expected of a barrel when it is emptied.
    pub(in crate::cellar) fn racking_stop(&self, id: VesselId, lees: Option<Volume>, at: Moment) -> RackingStop {
        let vessel = self.vessels.get(id);
        let estimate = self.headspace(vessel, at);
        let holds = vessel.capacity.saturating_sub(estimate.missing);
        let lees = lees.unwrap_or_default().min(holds);
        let arrives = holds.saturating_sub(lees).as_ul() / METER * METER;
        RackingStop { vessel: id, expected: Volume::from_ul(arrives), deviation: estimate.deviation, lees }
    }

    /// Whether a vessel can take the wine of a lot at all.
    fn takes_in(&self, asked: &RackingAsked) -> Result<(), Refusal> {
        let (tank, lot) = (self.vessels.get(asked.to), self.lots.get(asked.lot));
        let label = || tank.label.clone();
        if tank.retired.is_some() {
            return Err(Refusal::Retired(label()));
        }
        if tank.vessel_type == VesselType::Barrel {
            return Err(Refusal::NotATank(label()));
        }
        if tank.book_headspace().is_zero() {
            return Err(Refusal::TankFull { tank: label(), holds: tank.volume() });
        }
        if let Some(into) = asked.into.map(|into| self.lots.get(into)).filter(|into| into.colour != lot.colour) {
            let (lot, lot_colour) = (into.label.clone(), into.colour);
            return Err(Refusal::LotColour { lot, lot_colour, colour: self.lots.get(asked.lot).colour });
        }
        let Some(other) = tank.lot.filter(|&other| other != asked.lot).map(|other| self.lots.get(other)) else {
            return Ok(());
        };
        if other.colour != lot.colour {
            return Err(Refusal::WrongColour { vessel: label(), holds: other.colour, comes: lot.colour });
        }
        match asked.into {
            Some(_) => Ok(()),
            None => Err(Refusal::OtherLot { tank: label(), holds: other.label.clone() }),
        }
    }

    /// What the last rackings of this cellar left behind in a barrel; none where it has racked nothing yet.
    #[must_use]
    pub fn lees_found(&self) -> Option<LeesFound> {
        let mut left = self.lees_left.to_vec();
        left.sort_unstable();
        let each = *left.get(left.len() / 2)?;
        Some(LeesFound { each, rackings: left.len() })
    }

    /// Remembers what a racking left behind in a barrel until the vessel that it went into is gauged.
    pub(in crate::cellar) fn remember_racked(
        &mut self,
        moved: &WineMoved,
        (barrel, into): (VesselId, VesselId),
        at: Moment,
    ) {
        let vessel = self.vessels.get(barrel);
        if !book::is_wood(vessel) {
            return;
        }
        let holds = match moved.evaporation {
            Some(_) => vessel.volume().saturating_sub(moved.evaporated(vessel)),
            // The book would count as lees what had evaporated.
            None => vessel.capacity.saturating_sub(self.headspace(vessel, at).missing),
        };
        let left = holds.saturating_sub(moved.volume + moved.loss);
        let capacity = vessel.capacity;
        if left <= most_lees(capacity) {
            let racked = &mut self.vessels.get_mut(into).came_in.from_barrels;
            racked.barrels = racked.barrels.saturating_add(1);
            racked.left += left;
            racked.capacity += capacity;
        }
    }

    /// Learns from a gauging of a vessel what the barrels left behind that were racked into it, if that is what it tells of. What
    /// arrived by the meter, or was expected to, is no measurement of lees.
    pub(in crate::cellar) fn learn_lees(
        &mut self,
        into: VesselId,
        measured: Volume,
        cause: Option<Missing>,
        at: Moment,
    ) {
        let vessel = self.vessels.get(into);
        let racked = vessel.came_in.from_barrels;
        if racked.barrels == 0 {
            return;
        }
        let tells = vessel.came_in.missing(at) == Missing::Lees && cause.is_none_or(|cause| cause == Missing::Lees);
        let left = (racked.left + vessel.volume()).saturating_sub(measured);
        if tells && !left.is_zero() && left <= most_lees(racked.capacity) {
            let each = Volume::from_ul(left.as_ul() / u64::from(racked.barrels));
            for _ in 0..usize::try_from(racked.barrels).unwrap_or(REMEMBERED).min(REMEMBERED) {
                book::remember(&mut self.lees_left, each, REMEMBERED);
            }
        }
        self.vessels.get_mut(into).came_in.from_barrels = RackedIn::default();
    }
}

/// The most that can be lees of barrels of a capacity.
fn most_lees(capacity: Volume) -> Volume {
    Volume::from_ul(capacity.as_ul() / MOST_LEES)
}
