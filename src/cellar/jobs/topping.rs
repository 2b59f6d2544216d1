//! Topping: filling the headspace of a vessel that is to be kept full.
//!
//! **Topping that would find more than a quarter of the barrel missing** is refused as a slip; gauge first if it is true.
//!
//! **What a topping says is signed**: `Vessel::found` is what evaporated less what was gained, since an overfilled barrel takes less than
//! the book expects the next time.

pub mod gauging;
pub mod kept_since;
pub mod round;

use serde::{Deserialize, Serialize};

use crate::cellar::core::account::Entry;
use crate::cellar::core::book::{self, Arrival, Home};
use crate::cellar::core::doing::{Doing, Twice, Within, twice};
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::plausible;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{RoundId, State, Vessel, VesselId};
use crate::cellar::jobs::finish::checklist::lapse::Change;
use crate::cellar::jobs::topping::round::Mark;
use crate::units::{Mass, Volume};

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
    /// Whether it was poured on purpose besides what the vessel took in this round before.
    #[serde(default, skip_serializing_if = "is_unsaid")]
    pub again: bool,
}

const fn yes() -> bool {
    true
}

/// Whether a yes or no need not be written: no is what stands where nothing is said.
#[allow(clippy::trivially_copy_pass_by_ref)] // serde hands out a reference
pub(in crate::cellar) const fn is_unsaid(said: &bool) -> bool {
    !*said
}

/// Litres are asked about once more when they are more than so many times what is expected …
const ASK_TIMES: u64 = 3;
/// … and this much.
const ASK_MORE: Volume = Volume::from_litres(3);

/// A topping that would find more than this part of the barrel missing is most likely a slip of the hand.
const ABSURD_PART: u64 = 4;

impl Topped {
    /// What is remembered of it in a round.
    fn doing(&self, stamp: &Stamp, round: RoundId) -> Doing {
        let within = Within::Round(round);
        Doing { id: stamp.id.clone(), at: stamp.at, within, volume: self.volume, amount: Mass::ZERO, done: self.full }
    }

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
        let source = state.vessels.get(from);
        if let Some(doubt) = book::doubt_draw(source, self.volume) {
            return Some(doubt);
        }
        // What evaporated makes the room, even where the book gave more than the vessel holds: only the colour can forbid
        // it, so that a barrel with a wrong book is still topped.
        let colour = state.colour_in(source);
        book::doubt_colour(state, id, Arrival { volume: Volume::ZERO, lot: vessel.lot, colour })
    }

    fn slip(&self, state: &State, &(id, _): &Self::Ready) -> Option<Refusal> {
        let vessel = state.vessels.get(id);
        let missing = self.missing_from(vessel);
        let absurd = (missing.as_ul() > vessel.capacity.as_ul() / ABSURD_PART).then(|| Refusal::AbsurdTopping {
            vessel: self.vessel.clone(),
            poured: self.volume,
            missing,
            capacity: vessel.capacity,
        });
        absurd.or_else(|| plausible::doubt_litres(&self.vessel, self.volume, plausible::TOPPED))
    }

    fn bar(&self, state: &State, &(id, from): &Self::Ready) -> Option<Refusal> {
        state.barred(&[id, from])
    }

    fn questions(&self, state: &State, &(id, from): &Self::Ready, at: Moment) -> Vec<Question> {
        let expected = state.expected_topping(state.vessels.get(id), at);
        let most = Volume::from_ul(expected.as_ul().saturating_mul(ASK_TIMES)) + ASK_MORE;
        let (vessel, poured) = (self.vessel.clone(), self.volume);
        let improbable = (poured > most).then(|| Question::ImprobableTopping { vessel, poured, expected });
        let lacks = {
            let vessel = state.vessels.get(id);
            vessel.capacity.saturating_sub(vessel.volume())
        };
        let hardly = self.full && lacks.saturating_sub(poured) > ASK_MORE;
        let hardly = hardly.then(|| Question::HardlyFull { vessel: self.vessel.clone(), poured, lacks });
        let crossing = state.asks_before_pouring(id, from, poured, at);
        // Whoever chose the vessel of the round was asked then.
        let chosen = poured.is_zero() || state.is_chosen_source(id, from);
        let suspect = if chosen { None } else { state.asks_of_suspect_source(from) };
        let done = state.round_mark(id).filter(|mark| !self.again && matches!(mark, Mark::Topped(_)));
        let again = done.map(|mark| Question::ToppedAlready { vessel: self.vessel.clone(), took: mark.poured() });
        improbable.into_iter().chain(hardly).chain(again).chain(crossing).chain(suspect).collect()
    }

    fn twice(&self, state: &State, ready: Option<&Self::Ready>, stamp: &Stamp) -> Option<Box<Twice>> {
        if self.again {
            return None;
        }
        let id = ready.map(|&(id, _)| id).or_else(|| state.vessel(&self.vessel).ok())?;
        let earlier = state.topped_elsewhere(id, stamp);
        twice(&self.vessel, "topped", &earlier, (stamp, self.volume, Mass::ZERO))
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, (id, from): Self::Ready) {
        state.carry_suspicion(Some(from), id, self.volume, stamp.at);
        let source = state.vessels.get_mut(from);
        let lot = source.lot;
        if !self.volume.is_zero() {
            source.topped_others = Some(stamp.at);
        }
        let wine = source.draw(self.volume, Entry::MovedOut, stamp.at);
        let colour = lot.map(|lot| state.lots.get(lot).colour);
        let vessel = state.vessels.get_mut(id);
        let home = Home::of(vessel.slot, &mut state.rooms, &mut state.nowhere);
        let missing = self.missing_from(vessel).min(vessel.volume());
        let is_recorded = vessel.kept_since.is_none();
        let mut finding = None;
        if self.full {
            vessel.gain(vessel.capacity.saturating_sub(vessel.volume() + self.volume));
            finding = vessel.find_evaporation(missing, stamp.at);
            vessel.last_topped = Some(stamp.at);
        } else {
            vessel.evaporate(missing);
        }
        // Even a barrel that must have been dry is topped, not filled: it keeps its lot and its fill.
        vessel.take_in(&wine, Entry::MovedIn, colour);
        let event = if self.full { Event::Topped(self.volume) } else { Event::ToppedInPart(self.volume) };
        vessel.history.remember(stamp, event);
        let its_round = home.open_round();
        if let Some(round) = its_round {
            vessel.did(self.doing(stamp, round), &state.rounds, &state.works);
        }
        let is_other = lot != vessel.lot;
        if let Some(finding) = finding {
            vessel.learn(home, &finding, !state.unlearning);
        }
        if is_other && !self.volume.is_zero() {
            state.wine_changed(id, stamp, Change::Blended);
            state.crossed(id, lot);
        }
        let mark = if self.full { Mark::Topped(self.volume) } else { Mark::InPart(self.volume) };
        let round = state.mark_round(id, mark);
        if let Some(round) = round.filter(|_| !is_recorded) {
            state.rounds.get_mut(round).unrecorded.insert(id);
        }
        // Only now that it is topped is it known in which round one at no place was.
        if let Some(round) = round.filter(|_| its_round.is_none()) {
            state.did(id, self.doing(stamp, round));
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
