//! Placing: a vessel lies somewhere, a forklift lifts a rack.

use serde::{Deserialize, Serialize};

use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::place::{Place, RackPlace};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{RoomId, Slot, State, VesselId};

/// The fact `vessel_placed`: a vessel lies at a place now, or at none.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct VesselPlaced {
    /// Which vessel.
    pub vessel: Label,
    /// Where it lies; null where it lies at no known place.
    pub place: Option<Place>,
}

/// The fact `rack_moved`: every barrel of a rack lies in another rack's place now, same sides.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RackMoved {
    /// Where the rack was.
    pub from: RackPlace,
    /// Where it is.
    pub to: RackPlace,
}

impl Job for VesselPlaced {
    type Ready = (VesselId, Option<Slot>);

    fn ready(&self, state: &State) -> Result<Self::Ready, Refusal> {
        let id = state.vessel(&self.vessel)?;
        let Some(place) = &self.place else { return Ok((id, None)) };
        let room_id = state.room(&place.rack.room)?;
        let room = state.rooms.get(room_id);
        let index = room.slot(place).ok_or_else(|| Refusal::UnknownPlace(place.clone()))?;
        match room.slots[index] {
            Some(by) if by != id => {
                Err(Refusal::PlaceTaken { place: place.clone(), by: state.vessels.get(by).label.clone() })
            }
            _ => Ok((id, Some(slot(room_id, index)))),
        }
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, (id, slot): Self::Ready) {
        state.lay(id, slot, stamp.at);
        state.vessels.get_mut(id).history.remember(stamp, Event::Placed);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}

impl Job for RackMoved {
    /// Every barrel of the rack, with the slot that it lies in afterwards.
    type Ready = Vec<(VesselId, Slot)>;

    fn ready(&self, state: &State) -> Result<Self::Ready, Refusal> {
        let (from_room, from) = rack(state, &self.from)?;
        let (to_room, to) = rack(state, &self.to)?;
        let barrels: Vec<(usize, VesselId)> = from
            .clone()
            .filter_map(|index| Some((index - from.start, state.rooms.get(from_room).slots[index]?)))
            .collect();
        if barrels.is_empty() {
            return Err(Refusal::RackEmpty(self.from.clone()));
        }
        if let Some(by) = to.clone().find_map(|index| state.rooms.get(to_room).slots[index]) {
            return Err(Refusal::RackTaken { to: self.to.clone(), by: state.vessels.get(by).label.clone() });
        }
        barrels
            .into_iter()
            .map(|(side, id)| {
                if side < to.len() {
                    Ok((id, slot(to_room, to.start + side)))
                } else {
                    Err(Refusal::RackTooSmall { to: self.to.clone(), vessel: state.vessels.get(id).label.clone() })
                }
            })
            .collect()
    }

    /// A rack stands on the barrels of the one below it.
    fn doubt(&self, state: &State, _: &Self::Ready) -> Option<Refusal> {
        if let Some(refusal) = state.stands_under(&self.from) {
            return Some(refusal);
        }
        let below = RackPlace { tier: self.to.tier.saturating_sub(1), ..self.to.clone() };
        let stands = below.tier == 0 || (below != self.from && lying_in(state, &below).next().is_some());
        (!stands).then(|| Refusal::RackOnAir { to: self.to.clone() })
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, barrels: Self::Ready) {
        for (id, slot) in barrels {
            state.lay(id, Some(slot), stamp.at);
            state.vessels.get_mut(id).history.remember(stamp, Event::Placed);
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.from.room)
    }
}

/// What lies in a rack; nothing where there is no such rack.
fn lying_in<'a>(state: &'a State, place: &RackPlace) -> impl Iterator<Item = Label> + 'a {
    let there = rack(state, place).ok().map(|(room, slots)| (state.rooms.get(room), slots));
    let lying = there.into_iter().flat_map(|(room, slots)| room.slots[slots].iter().flatten());
    lying.map(|&id| state.vessels.get(id).label.clone())
}

fn rack(state: &State, place: &RackPlace) -> Result<(RoomId, std::ops::Range<usize>), Refusal> {
    let room = state.room(&place.room)?;
    let slots = state.rooms.get(room).rack_slots(place).ok_or_else(|| Refusal::UnknownRack(place.clone()))?;
    Ok((room, slots))
}

fn slot(room: RoomId, index: usize) -> Slot {
    Slot { room, index: u32::try_from(index).unwrap_or(u32::MAX) }
}

impl State {
    /// Why a rack cannot be lifted, if it cannot: it is empty, or stands under others.
    #[must_use]
    pub fn why_not_lifted(&self, from: &RackPlace) -> Option<Refusal> {
        let is_empty = lying_in(self, from).next().is_none();
        if is_empty { Some(Refusal::RackEmpty(from.clone())) } else { self.stands_under(from) }
    }

    /// What lies in a rack, by side; nothing where there is no such rack.
    pub fn lying_in_rack(&self, place: &RackPlace) -> impl Iterator<Item = Label> + '_ {
        lying_in(self, place)
    }

    /// What says that a rack stands under another.
    fn stands_under(&self, from: &RackPlace) -> Option<Refusal> {
        let above = RackPlace { tier: from.tier.saturating_add(1), ..from.clone() };
        let above = lying_in(self, &above).next()?;
        Some(Refusal::RackUnderOthers { from: from.clone(), above })
    }

    /// Lays a vessel in a free slot, or in none, and frees the one it lay in.
    pub(in crate::cellar) fn lay(&mut self, id: VesselId, slot: Option<Slot>, at: Moment) {
        self.change_rooms(id, slot.map(|slot| slot.room), at);
        if let Some(old) = self.vessels.get(id).slot {
            self.rooms.get_mut(old.room).slots[old.index as usize] = None;
        }
        if let Some(new) = slot {
            self.rooms.get_mut(new.room).slots[new.index as usize] = Some(id);
        }
        self.vessels.get_mut(id).carry(slot);
        self.keep_unplaced(id);
    }
}
