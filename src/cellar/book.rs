//! Booking wine in and out of a vessel: the one place where a vessel's wine, account, lot and wood change together.

use super::account::Entry;
use super::lot::Colour;
use super::moment::Moment;
use super::refusal::Refusal;
use super::state::{DailyRate, LotId, State, Vessel, VesselId};
use super::vessel::VesselType;
use super::wine::Wine;
use crate::units::Volume;

/// Barrels vary: wine may fill a vessel to this many hundredths of its capacity.
const FILL_HUNDREDTHS: u64 = 102;

/// Minutes in a day.
const DAY_MINUTES: u64 = 24 * 60;

/// The shortest time between two known levels that says how fast a barrel drinks, in minutes: within three days what
/// is read at the bung is mostly the hand's and the thermometer's.
const LEAST_MINUTES_FOR_A_RATE: u64 = 3 * DAY_MINUTES;

/// A wine that is said to come into a vessel.
#[derive(Clone, Copy)]
pub(super) struct Arrival {
    /// How much.
    pub volume: Volume,
    /// The lot that it is, or takes, there.
    pub lot: Option<LotId>,
    /// Its colour.
    pub colour: Option<Colour>,
}

/// Why wine cannot come into a vessel, if it cannot: red into a white lot, white into red wood, more than it holds.
pub(super) fn doubt_arrival(state: &State, into: VesselId, arrival: Arrival) -> Option<Refusal> {
    let vessel = state.vessels.get(into);
    doubt_colour(state, into, arrival).or_else(|| doubt_volume(vessel, vessel.volume() + arrival.volume))
}

/// Why wine of a colour cannot come into a vessel, if it cannot.
pub(super) fn doubt_colour(state: &State, into: VesselId, arrival: Arrival) -> Option<Refusal> {
    let vessel = state.vessels.get(into);
    let comes = arrival.colour?;
    let holds = state.colour_in(vessel);
    if comes == Colour::Red && arrival.lot == vessel.lot && holds.is_some_and(|holds| holds != Colour::Red) {
        return Some(Refusal::WrongColour { vessel: vessel.label.clone(), holds: holds?, comes });
    }
    if is_wood(vessel) && vessel.stained == Some(Colour::Red) && comes != Colour::Red {
        return Some(Refusal::RedWood { vessel: vessel.label.clone(), colour: comes });
    }
    let lot = state.lots.get(arrival.lot?);
    (comes == Colour::Red && lot.colour != Colour::Red).then(|| Refusal::LotColour {
        lot: lot.label.clone(),
        lot_colour: lot.colour,
        colour: comes,
    })
}

/// Why a vessel cannot hold a volume, if it cannot.
pub(super) fn doubt_volume(vessel: &Vessel, would: Volume) -> Option<Refusal> {
    let limit = u128::from(vessel.capacity.as_ul()) * u128::from(FILL_HUNDREDTHS);
    (u128::from(would.as_ul()) * 100 > limit).then(|| Refusal::Overfull {
        vessel: vessel.label.clone(),
        would,
        capacity: vessel.capacity,
    })
}

/// Refuses a volume that no cellar has.
pub(super) fn sane(volume: Volume) -> Result<(), Refusal> {
    if volume > Volume::MOST { Err(Refusal::TooMuch(volume)) } else { Ok(()) }
}

/// Whether what a vessel held stays in its wood.
pub(super) fn is_wood(vessel: &Vessel) -> bool {
    vessel.vessel_type == VesselType::Barrel
}

impl Vessel {
    /// Books a gain: there was more than the book knew, in proportion to what it holds.
    pub(super) fn gain(&mut self, volume: Volume) {
        self.book(Entry::Gain, volume);
        self.wine.grow(volume);
    }

    /// Draws wine out under a line of the account. The cellar is right, the book is wrong: a draw beyond the book is
    /// booked as a gain first.
    pub(super) fn draw(&mut self, volume: Volume, entry: Entry, at: Moment) -> Wine {
        let missing = volume.saturating_sub(self.volume());
        if !missing.is_zero() {
            self.gain(missing);
        }
        self.book(entry, volume);
        let taken = self.wine.take(volume);
        if self.wine.is_empty() && !taken.is_empty() {
            self.emptied(at);
        }
        taken
    }

    /// Pours wine in under a line of the account. An empty vessel takes the lot that comes and begins a new fill.
    pub(super) fn pour(&mut self, wine: &Wine, entry: Entry, arrival: Arrival, at: Moment) {
        if wine.is_empty() {
            return;
        }
        if self.wine.is_empty() {
            self.lot = arrival.lot;
            self.filled = Some(at);
            self.level_known = Some(at);
            self.fills += 1;
        } else if arrival.lot != self.lot {
            self.rename(arrival.lot);
        }
        if is_wood(self) && self.stained != Some(Colour::Red) {
            self.stained = arrival.colour.or(self.stained);
        }
        self.book(entry, wine.volume());
        self.wine.mix(wine);
    }

    /// What an empty vessel forgets.
    fn emptied(&mut self, at: Moment) {
        self.lot = None;
        self.filled = None;
        self.emptied = Some(at);
        self.last_topped = None;
        self.level_known = None;
        self.last_rate = None;
    }
}

impl State {
    /// What a vessel lacked became known: its evaporation, and from it how fast the vessel and its room drink.
    pub(super) fn find_evaporation(&mut self, id: VesselId, evaporated: Volume, at: Moment) {
        let vessel = self.vessels.get_mut(id);
        let since = vessel.level_known.replace(at);
        if !evaporated.is_zero() {
            vessel.book(Entry::Evaporation, evaporated);
            vessel.wine.take(evaporated);
        }
        let minutes =
            since.map_or(0, |since| u64::try_from((at.instant() - since.instant()) / 60_000_000).unwrap_or(0));
        if minutes < LEAST_MINUTES_FOR_A_RATE || vessel.vessel_type != VesselType::Barrel {
            return;
        }
        vessel.last_rate = Some(DailyRate(evaporated.as_ul().saturating_mul(DAY_MINUTES) / minutes));
        if let Some(slot) = vessel.slot {
            let room = self.rooms.get_mut(slot.room);
            room.evaporation_found += evaporated;
            room.barrel_minutes += minutes;
        }
    }
}
