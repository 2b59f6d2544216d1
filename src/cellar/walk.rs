//! Walking a round: what is left to do, what comes next, and what one key says.

use std::ops::Range;

use super::fact::What;
use super::label::Label;
use super::lot::Stage;
use super::moment::Moment;
use super::refusal::Refusal;
use super::round::Mark;
use super::state::{LotId, RoomId, RoundId, State, Vessel, VesselId};
use super::topping::Topped;
use crate::reckon::due::Due;
use crate::units::Volume;

/// How far a round has come.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Progress {
    /// Barrels that were topped.
    pub done: u32,
    /// Barrels to top in all, those that were topped included; held ones are not counted.
    pub of: u32,
    /// Barrels that were skipped and not topped since.
    pub skipped: u32,
    /// Barrels that got some wine but are not brimful yet.
    pub in_part: u32,
    /// Barrels that are held back.
    pub held: u32,
}

impl Progress {
    /// Barrels that are still to be done, those to come back to included.
    #[must_use]
    pub const fn left(&self) -> u32 {
        self.of.saturating_sub(self.done)
    }
}

impl State {
    /// Every vessel as one walks: room by room, then those that lie in none in the order in which they were registered.
    pub fn in_walking_order(&self) -> impl Iterator<Item = VesselId> + '_ {
        let lying = self.rooms.iter().flat_map(|(_, room)| room.slots.iter().flatten().copied());
        let others = self.vessels.iter().filter(|(_, vessel)| vessel.slot.is_none()).map(|(id, _)| id);
        lying.chain(others)
    }

    /// Whether a vessel is one that is topped at all.
    #[must_use]
    pub fn is_to_be_topped(&self, vessel: &Vessel) -> bool {
        vessel.kept_full && !vessel.wine.is_empty()
    }

    /// Whether a round at a moment tops a vessel: one with its bung rolled to the side only when it is due, for opening
    /// it does more harm than the air.
    #[must_use]
    pub fn belongs_to_a_round(&self, vessel: &Vessel, at: Moment) -> bool {
        let stage = vessel.lot.and_then(|lot| self.lots.get(lot).stage).map(|(stage, _)| stage);
        let rests = stage == Some(Stage::Rolled) && self.due(vessel, at) == Some(Due::Fine);
        self.is_to_be_topped(vessel) && !rests
    }

    /// The vessels that lie in some slots of a room, with their slots, in walking order.
    pub fn lying_in(&self, room: RoomId, slots: Range<usize>) -> impl Iterator<Item = (usize, VesselId)> + '_ {
        let all = &self.rooms.get(room).slots;
        slots.filter_map(move |slot| Some((slot, (*all.get(slot)?)?)))
    }

    /// How far a round has come, in its whole room or with one lot.
    #[must_use]
    pub fn progress(&self, round: RoundId, lot: Option<LotId>, at: Moment) -> Progress {
        let round = self.rounds.get(round);
        let mut progress = Progress::default();
        let slots = 0..self.rooms.get(round.room).slots.len();
        for (_, id) in self.lying_in(round.room, slots) {
            let vessel = self.vessels.get(id);
            if lot.is_some() && vessel.lot != lot {
                continue;
            }
            match round.marks.get(&id) {
                Some(Mark::Topped(_) | Mark::Thirsty(_)) => {
                    progress.done += 1;
                    progress.of += 1;
                }
                // A rolled barrel that got some wine may lack too little now to be due; it is come back to all the same.
                Some(Mark::InPart(_)) if vessel.held.is_none() => {
                    progress.of += 1;
                    progress.in_part += 1;
                }
                _ if !self.belongs_to_a_round(vessel, at) => {}
                _ if vessel.held.is_some() => progress.held += 1,
                mark => {
                    progress.of += 1;
                    progress.skipped += u32::from(mark == Some(&Mark::Skipped));
                }
            }
        }
        progress
    }

    /// Whether a barrel is still to be done in a round: neither topped nor skipped nor held.
    fn is_left(&self, round: RoundId, id: VesselId, at: Moment) -> bool {
        let vessel = self.vessels.get(id);
        let marked = self.rounds.get(round).marks.contains_key(&id);
        !marked && vessel.held.is_none() && self.belongs_to_a_round(vessel, at)
    }

    /// The barrels of some slots that are still to be done, in walking order.
    #[must_use]
    pub fn left_in(&self, round: RoundId, slots: Range<usize>, at: Moment) -> Vec<VesselId> {
        let room = self.rounds.get(round).room;
        self.lying_in(room, slots).map(|(_, id)| id).filter(|&id| self.is_left(round, id, at)).collect()
    }

    /// The slot of the next barrel to do after a slot, in walking order and round again from the beginning; when none is
    /// left, the next one to come back to.
    #[must_use]
    pub fn next_stop(&self, round: RoundId, after: usize, at: Moment) -> Option<usize> {
        let room = self.rounds.get(round).room;
        let count = self.rooms.get(room).slots.len();
        let ahead = || self.lying_in(room, after + 1..count).chain(self.lying_in(room, 0..(after + 1).min(count)));
        let open = |id| self.rounds.get(round).marks.get(&id).is_some_and(|mark| mark.is_open());
        ahead()
            .find(|&(_, id)| self.is_left(round, id, at))
            .or_else(|| ahead().find(|&(slot, id)| slot != after && open(id)))
            .map(|(slot, _)| slot)
    }

    /// The facts that some barrels were topped from a vessel with the litres that one expects of each. Refused where
    /// the book says that the vessel does not hold so much.
    pub fn topped_as_expected(
        &self,
        barrels: &[VesselId],
        source: VesselId,
        at: Moment,
    ) -> Result<(Vec<What>, Volume), Refusal> {
        let from = self.vessels.get(source);
        let mut poured = Volume::ZERO;
        let mut facts = Vec::with_capacity(barrels.len());
        for &id in barrels {
            let vessel = self.vessels.get(id);
            let volume = self.expected_topping(vessel, at);
            poured += volume;
            facts.push(topped(&vessel.label, &from.label, volume, true));
        }
        if poured > from.volume() {
            let (vessel, holds) = (from.label.clone(), from.volume());
            return Err(Refusal::SourceTooLow { vessel, holds, wanted: poured });
        }
        Ok((facts, poured))
    }
}

/// The fact that a vessel was topped.
#[must_use]
pub fn topped(vessel: &Label, from: &Label, volume: Volume, full: bool) -> What {
    What::Topped(Topped { vessel: vessel.clone(), from: from.clone(), volume, full })
}
