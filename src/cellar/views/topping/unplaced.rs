//! Barrels at no place: on a trolley, on the floor, not laid down yet. Each is topped in the rounds of one room.
//!
//! **Barrels at no place** (`cellar/views/topping/unplaced.rs`) are few, so the state keeps a list of them, and a round asks only that. A
//! barrel belongs to one room, so that no two plans carry wine for it. Nobody knows where it stands: topped while its room has no round and
//! one other room has, it counts in that round.

use std::sync::Arc;

use rustc_hash::FxHashMap;

use super::plan::Plan;
use crate::cellar::core::state::{LotId, RoomId, State, Vessel, VesselId};
use crate::cellar::core::table::Id;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::views::floor::stretch::few;

impl Vessel {
    /// Whether others were topped from it since it was last brimful itself.
    #[must_use]
    pub fn tops_others(&self) -> bool {
        let full = self.last_topped.or(self.filled);
        self.topped_others.is_some_and(|topped| full.is_none_or(|full| topped.instant() > full.instant()))
    }

    /// Whether it is a barrel that lies at no place, is to be kept full and has not been broken for topping.
    #[must_use]
    pub fn is_topped_at_no_place(&self) -> bool {
        self.vessel_type == VesselType::Barrel && self.slot.is_none() && self.kept_full && !self.tops_others()
    }
}

impl State {
    /// Keeps a vessel among those that lie at no place, or no longer.
    pub(in crate::cellar) fn keep_unplaced(&mut self, id: VesselId) {
        let vessel = self.vessels.get(id);
        let lies_nowhere = vessel.slot.is_none() && vessel.retired.is_none();
        if self.unplaced.contains(&id) == lies_nowhere {
            return;
        }
        let unplaced = Arc::make_mut(&mut self.unplaced);
        if lies_nowhere {
            unplaced.insert(id)
        } else {
            unplaced.remove(&id)
        };
    }

    /// The room in whose rounds a vessel is topped: where it lies; at no place, where it last lay, else where its lot lies, else
    /// the first room.
    #[must_use]
    pub fn round_room(&self, vessel: &Vessel) -> Option<RoomId> {
        vessel.slot.map(|slot| slot.room).or(vessel.home).or_else(|| self.room_of_lot(vessel.lot))
    }

    /// The first room where barrels of a lot lie, else the first room.
    fn room_of_lot(&self, lot: Option<LotId>) -> Option<RoomId> {
        let is_of_lot = |id: &VesselId| lot.is_some() && self.vessels.get(*id).lot == lot;
        let mut rooms = self.rooms.iter();
        let lies = rooms.find(|(_, room)| room.slots.iter().flatten().any(is_of_lot));
        lies.or_else(|| self.rooms.iter().next()).map(|(id, _)| id)
    }

    /// The vessels at no place that are topped in the rounds of a room, in the order in which they were registered: not what the
    /// open round is topped from, nor what others were topped from since it was full.
    #[must_use]
    pub fn unplaced_of(&self, room: RoomId) -> Vec<VesselId> {
        let round = self.rooms.get(room).open_round.map(|round| self.rounds.get(round));
        let mut of_lots: FxHashMap<Option<LotId>, Option<RoomId>> = FxHashMap::default();
        let mut belongs = |vessel: &Vessel| {
            let is_topped = self.is_to_be_topped(vessel) && !vessel.tops_others();
            is_topped && {
                let of_lot = || *of_lots.entry(vessel.lot).or_insert_with(|| self.room_of_lot(vessel.lot));
                vessel.home.or_else(of_lot) == Some(room)
            }
        };
        let is_source = |id: VesselId| round.is_some_and(|round| round.source == Some(id));
        let is_marked = |id: &VesselId| round.is_some_and(|round| round.marks.contains_key(id));
        let of_room = |&id: &VesselId| !is_source(id) && (is_marked(&id) || belongs(self.vessels.get(id)));
        self.unplaced.iter().copied().filter(of_room).collect()
    }

    /// The vessels of a room's rounds as they are walked, each with its turn: those that lie there by their slots, then those at no
    /// place.
    pub(in crate::cellar) fn walk_of(&self, room: RoomId) -> impl Iterator<Item = (usize, VesselId)> + '_ {
        let slots = &self.rooms.get(room).slots;
        let lying = slots.iter().enumerate().filter_map(|(slot, id)| Some((slot, (*id)?)));
        lying.chain(self.unplaced_of(room).into_iter().map(move |id| (slots.len() + id.index(), id)))
    }

    /// The vessel whose turn it is.
    pub(in crate::cellar) fn at_turn(&self, room: RoomId, turn: usize) -> Option<VesselId> {
        match self.rooms.get(room).slots.get(turn) {
            Some(lying) => *lying,
            None => self.unplaced_of(room).into_iter().find(|&id| self.turn_at_no_place(room, id) == Some(turn)),
        }
    }

    /// When a vessel at no place has its turn in the rounds of a room; none where it has none.
    #[must_use]
    pub fn turn_at_no_place(&self, room: RoomId, id: VesselId) -> Option<usize> {
        self.unplaced_of(room).contains(&id).then(|| self.rooms.get(room).slots.len() + id.index())
    }

    /// The barrels of a plan that lie at no place, in words; none where all lie somewhere.
    #[must_use]
    pub fn unplaced_words(&self, plan: &Plan) -> Option<String> {
        let stops = plan.stops.iter().map(|stop| self.vessels.get(stop.vessel));
        let names: Vec<String> =
            stops.filter(|vessel| vessel.slot.is_none()).map(|vessel| vessel.label.to_string()).collect();
        match names.as_slice() {
            [] => None,
            [one] => Some(format!("1 of them lies at no place: {one}.")),
            many => Some(format!("{} of them lie at no place: {}.", many.len(), few(many))),
        }
    }
}
