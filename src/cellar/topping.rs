//! Topping: filling the headspace of a vessel that is to be kept full.

use serde::{Deserialize, Serialize};

use super::account::Entry;
use super::book::{self, Arrival};
use super::fact::Stamp;
use super::history::Event;
use super::job::Job;
use super::label::Label;
use super::refusal::Refusal;
use super::round::Mark;
use super::state::{State, Vessel, VesselId};
use crate::units::Volume;

/// The fact `topped`: wine was poured into a vessel's headspace.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Topped {
    /// The vessel that was topped.
    pub vessel: Label,
    /// The vessel that the wine came from.
    pub from: Label,
    /// How much was poured.
    #[serde(rename = "volume_ul")]
    pub volume: Volume,
    /// Whether the vessel is brimful now.
    #[serde(default = "yes")]
    pub full: bool,
}

const fn yes() -> bool {
    true
}

/// A topping that would find more than this part of the barrel missing is most likely a slip of the hand.
const ABSURD_PART: u64 = 4;

impl Topped {
    /// What must have been missing from a vessel for so much to go in: V + X − C.
    fn missing_from(&self, vessel: &Vessel) -> Volume {
        (vessel.volume() + self.volume).saturating_sub(vessel.capacity)
    }
}

impl Job for Topped {
    /// The vessel that is topped, and the one that the wine comes from.
    type Ready = (VesselId, VesselId);

    fn ready(&self, state: &State) -> Result<Self::Ready, Refusal> {
        let (vessel, from) = (state.vessel(&self.vessel)?, state.vessel(&self.from)?);
        if vessel == from {
            return Err(Refusal::SameVessel(self.vessel.clone()));
        }
        book::sane(self.volume)?;
        if self.volume.is_zero() && !self.full {
            return Err(Refusal::NoVolume);
        }
        if state.vessels.get(vessel).wine.is_empty() {
            return Err(Refusal::ToppedEmpty(self.vessel.clone()));
        }
        if !self.volume.is_zero() && state.vessels.get(from).wine.is_empty() {
            return Err(Refusal::SourceEmpty(self.from.clone()));
        }
        Ok((vessel, from))
    }

    fn doubt(&self, state: &State, &(id, from): &Self::Ready) -> Option<Refusal> {
        let vessel = state.vessels.get(id);
        if self.volume > vessel.capacity {
            let (label, capacity) = (vessel.label.clone(), vessel.capacity);
            return Some(Refusal::Overfull { vessel: label, would: self.volume, capacity });
        }
        // What evaporated makes the room, even where the book gave more than the vessel holds: only the colour can forbid
        // it, so that a barrel with a wrong book is still topped.
        let colour = state.colour_in(state.vessels.get(from));
        book::doubt_colour(state, id, Arrival { volume: self.volume, lot: vessel.lot, colour })
    }

    fn slip(&self, state: &State, &(id, _): &Self::Ready) -> Option<Refusal> {
        let vessel = state.vessels.get(id);
        let missing = self.missing_from(vessel);
        (missing.as_ul() > vessel.capacity.as_ul() / ABSURD_PART).then(|| Refusal::AbsurdTopping {
            vessel: self.vessel.clone(),
            poured: self.volume,
            missing,
            capacity: vessel.capacity,
        })
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, (id, from): Self::Ready) {
        let colour = state.colour_in(state.vessels.get(from));
        let wine = state.vessels.get_mut(from).draw(self.volume, Entry::MovedOut, stamp.at);
        let vessel = state.vessels.get(id);
        let missing = self.missing_from(vessel).min(vessel.volume());
        if self.full {
            let surplus = vessel.capacity.saturating_sub(vessel.volume() + self.volume);
            state.vessels.get_mut(id).gain(surplus);
            state.find_evaporation(id, missing, stamp.at);
        } else if !missing.is_zero() {
            let vessel = state.vessels.get_mut(id);
            vessel.book(Entry::Evaporation, missing);
            vessel.wine.take(missing);
        }
        let vessel = state.vessels.get_mut(id);
        let arrival = Arrival { volume: self.volume, lot: vessel.lot, colour };
        vessel.pour(&wine, Entry::MovedIn, arrival, stamp.at);
        if self.full {
            vessel.last_topped = Some(stamp.at);
        }
        vessel
            .history
            .remember(stamp, if self.full { Event::Topped(self.volume) } else { Event::ToppedInPart(self.volume) });
        state.mark_round(id, Mark::Topped(self.volume));
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
