//! Walking a round: what is left to do, what comes next, and what one key says.

use std::ops::Range;

use super::fact::What;
use super::group::Group;
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

/// A leg of a walk: barrels that are done one after the other, before anything is changed. Legs are walked in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Leg {
    /// Which part of the round its barrels belong to.
    pub group: Group,
    /// Whether they hold wine of another colour than the round's topping vessel, so that it must be changed for them.
    pub other_colour: bool,
}

/// The next barrel of a walk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Next {
    /// The slot it lies in.
    pub slot: usize,
    /// Its leg; none where it is one to come back to.
    pub leg: Option<Leg>,
    /// The leg of the barrel that one comes from; none where none that is topped lies there.
    pub before: Option<Leg>,
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

    /// The next barrel to do after a slot, as the plan of what is left orders them: organic before the rest, clean before
    /// suspect, of these what the topping vessel serves first, then in walking order and round again from the beginning.
    /// When none is left, the next one to come back to, in walking order.
    #[must_use]
    pub fn next_stop(&self, round: RoundId, after: usize, at: Moment) -> Option<Next> {
        let room = self.rounds.get(round).room;
        let slots = &self.rooms.get(room).slots;
        let lying = || self.lying_in(room, 0..slots.len());
        let left: Vec<(usize, VesselId)> = lying().filter(|&(_, id)| self.is_left(round, id, at)).collect();
        let grouping = self.grouping(left.iter().map(|&(_, id)| id));
        let source = self.rounds.get(round).source;
        let colour = source.and_then(|source| self.colour_in(self.vessels.get(source)));
        let leg = |vessel: &Vessel| {
            let other_colour = colour.is_some() && self.colour_in(vessel) != colour;
            Leg { group: grouping.of(vessel), other_colour }
        };
        let from = slots.get(after).copied().flatten().map(|id| self.vessels.get(id));
        let before = from.filter(|vessel| self.is_to_be_topped(vessel)).map(leg);
        // What lies behind comes after what lies ahead.
        let ahead = |slot: usize| (slot <= after, slot);
        if let Some((leg, (_, slot))) = left.iter().map(|&(slot, id)| (leg(self.vessels.get(id)), ahead(slot))).min() {
            return Some(Next { slot, leg: Some(leg), before });
        }
        let is_open = |id| self.rounds.get(round).marks.get(&id).is_some_and(|mark| mark.is_open());
        let open = lying().filter(|&(slot, id)| slot != after && is_open(id));
        let slot = open.map(|(slot, _)| slot).min_by_key(|&slot| ahead(slot))?;
        Some(Next { slot, leg: None, before })
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
