//! Walking a round: what is left to do, what comes next, and what one key says.
//!
//! **A round's order** is organic before the rest, then clean before suspect in each, then one topping vessel after the other, then the
//! walk. What is suspect stands in `cellar/jobs/tests/suspect.rs`: by the last taste, as the list of marks is today, and by tests, as the
//! house's limits are today; a limit that is set later makes old results suspect too. What tests say is kept with the vessel (`Watched`),
//! so that the walk opens none. A lot is organic if all its wine in the round is. The groups stand in `cellar/views/topping/group.rs`, for
//! the plan and for the walk (`State::next_stop`), which goes the plan of what is left from the cursor round again. From which vessel a
//! barrel is topped is one rule (`cellar/views/topping/supply.rs`) of its lot, of what the vessels hold now and of which is in hand: the
//! plan plays the walk through with it, the walk asks it of one barrel after the other, so that no key pays for the whole plan. Wine of
//! another lot that was poured or said in a round (`Round::crossings`) counts as the lot's own there. What is come back to goes as it lies,
//! or with two groups open the walk would never leave the first.

use std::ops::Range;

use chrono::NaiveDate;

use super::group::Group;
use super::supply::Supply;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, RoomId, RoundId, State, Vessel, VesselId};
use crate::cellar::jobs::floor::lot::Stage;
use crate::cellar::jobs::topping::Topped;
use crate::cellar::jobs::topping::round::Mark;
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

/// How a barrel stands to the vessel that a round is topped from now, in the order in which such barrels are walked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hose {
    /// The plan tops it from that vessel.
    InHand,
    /// The plan tops it from another one, which must be taken in hand for it.
    Other(VesselId),
    /// No vessel of its colour holds enough for it.
    None,
}

/// The next barrel of a walk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Next {
    /// Which barrel.
    pub vessel: VesselId,
    /// Where it comes in the walk: the slot that it lies in, or, at no place, a number beyond the last slot.
    pub slot: usize,
    /// Which part of the round it belongs to; none where it is one to come back to.
    pub group: Option<Group>,
    /// How it stands to the topping vessel.
    pub hose: Hose,
    /// Which part of the round the barrel belongs to that one comes from; none where none that is topped lies there.
    pub before: Option<Group>,
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

    /// Whether a vessel is one of the barrels of a round: done in it, or to be done, held ones too.
    #[must_use]
    pub fn is_of_round(&self, round: RoundId, id: VesselId, at: Moment) -> bool {
        let (round, vessel) = (self.rounds.get(round), self.vessels.get(id));
        let is_here = match vessel.slot {
            Some(slot) => slot.room == round.room,
            None => self.unplaced_of(round.room).contains(&id),
        };
        is_here && (round.marks.contains_key(&id) || self.belongs_to_a_round(vessel, at))
    }

    /// How many barrels of some slots are of no round yet because they are not due, and when the first of them is.
    #[must_use]
    pub fn resting(&self, round: RoundId, slots: Range<usize>, at: Moment) -> Option<(usize, NaiveDate)> {
        let lying = self.lying_in(self.rounds.get(round).room, slots);
        let rests = |id: &VesselId| self.is_to_be_topped(self.vessels.get(*id)) && !self.is_of_round(round, *id, at);
        let due: Vec<NaiveDate> =
            lying.map(|(_, id)| id).filter(rests).filter_map(|id| self.due_on(self.vessels.get(id))).collect();
        due.iter().min().map(|first| (due.len(), *first))
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
        for (_, id) in self.walk_of(round.room) {
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

    /// All barrels of a round that are still to be done, in walking order.
    #[must_use]
    pub fn left_of(&self, round: RoundId, at: Moment) -> Vec<VesselId> {
        let all = self.walk_of(self.rounds.get(round).room);
        all.map(|(_, id)| id).filter(|&id| self.is_left(round, id, at)).collect()
    }

    /// Whom the vessels of a round top as they are now; `left` are the barrels that are still to be done.
    pub(in crate::cellar) fn supply_of<'a>(&'a self, round: RoundId, left: &'a [VesselId], at: Moment) -> Supply<'a> {
        let round = self.rounds.get(round);
        Supply::new(self, &self.clean_sources(round.source).0, round.source, &round.crossings, left, at)
    }

    /// How a barrel of a round stands to the vessel that the round is topped from.
    #[must_use]
    pub fn hose(&self, round: RoundId, barrel: VesselId, at: Moment) -> Hose {
        let its = self.rounds.get(round);
        let sources = self.clean_sources(its.source).0;
        // By what is left one vessel is preferred to another; where there is one only, nobody need go through the room for it.
        let left = if sources.len() > 1 { self.left_of(round, at) } else { Vec::new() };
        Supply::new(self, &sources, its.source, &its.crossings, &left, at).hose(barrel)
    }

    /// The next barrel to do after a slot, as the plan of what is left orders them: organic before the rest, clean before
    /// suspect, of these what the topping vessel serves first, then in walking order and round again from the beginning.
    /// When none is left, the next one to come back to, in walking order.
    #[must_use]
    pub fn next_stop(&self, round: RoundId, after: usize, at: Moment) -> Option<Next> {
        let room = self.rounds.get(round).room;
        let (slot_of, left): (Vec<usize>, Vec<VesselId>) =
            self.walk_of(room).filter(|&(_, id)| self.is_left(round, id, at)).unzip();
        let grouping = self.grouping(left.iter().copied());
        let mut supply = self.supply_of(round, &left, at);
        let from = self.at_turn(room, after).map(|id| self.vessels.get(id));
        let before = from.filter(|vessel| self.is_to_be_topped(vessel)).map(|vessel| grouping.of(vessel));
        // What lies behind comes after what lies ahead.
        let ahead = |slot: usize| (slot <= after, slot);
        let groups: Vec<Group> = left.iter().map(|&id| grouping.of(self.vessels.get(id))).collect();
        if let Some(&group) = groups.iter().min() {
            let mut here: Vec<usize> = (0..left.len()).filter(|&index| groups[index] == group).collect();
            here.sort_by_key(|&index| ahead(slot_of[index]));
            let mut first: Option<(usize, VesselId, Hose)> = None;
            for index in here {
                let hose = supply.hose(left[index]);
                if first.is_none_or(|(.., best)| supply.turn(hose) < supply.turn(best)) {
                    first = Some((slot_of[index], left[index], hose));
                }
                // Nearly always the next one is topped from the vessel in hand, and the others need not be looked at.
                if hose == Hose::InHand {
                    break;
                }
            }
            return first.map(|(slot, vessel, hose)| Next { vessel, slot, group: Some(group), hose, before });
        }
        let is_open = |id| self.rounds.get(round).marks.get(&id).is_some_and(|mark| mark.is_open());
        let open = self.walk_of(room).filter(|&(slot, id)| slot != after && is_open(id));
        let (slot, id) = open.min_by_key(|&(slot, _)| ahead(slot))?;
        Some(Next { vessel: id, slot, group: None, hose: supply.hose(id), before })
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
    What::Topped(Topped { vessel: vessel.clone(), from: from.clone(), volume, full, again: false })
}
