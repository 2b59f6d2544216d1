//! Booking wine in and out of a vessel: the one place where a vessel's wine, account, lot and wood change together.

use std::sync::Arc;

use super::account::Entry;
use super::moment::Moment;
use super::refusal::Refusal;
use super::state::{DailyRate, LotId, Room, RoomId, RoundId, Slot, State, Vessel, VesselId};
use super::table::Table;
use super::wine::Wine;
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::topping::gauging::CameIn;
use crate::cellar::jobs::wood::care::CareGiven;
use crate::reckon::headspace::{RoomRate, Wall};
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
pub(in crate::cellar) struct Arrival {
    /// How much.
    pub volume: Volume,
    /// The lot that it is, or takes, there.
    pub lot: Option<LotId>,
    /// Its colour.
    pub colour: Option<Colour>,
}

/// What was found when a vessel's level became known.
pub(in crate::cellar) struct Finding {
    /// What was lost since it was last known, litres; fewer than none where it held more than the book said.
    lost: f64,
    at: Moment,
    /// What a barrel lost, and in how many minutes, where that says how fast it drinks.
    evaporated: Option<(Volume, u64)>,
}

/// Why wine cannot come into a vessel, if it cannot: red into a white lot, white into red wood, more than it holds.
pub(in crate::cellar) fn doubt_arrival(state: &State, into: VesselId, arrival: Arrival) -> Option<Refusal> {
    let vessel = state.vessels.get(into);
    doubt_colour(state, into, arrival).or_else(|| doubt_volume(vessel, vessel.volume() + arrival.volume))
}

/// Why wine of a colour cannot come into a vessel, if it cannot.
pub(in crate::cellar) fn doubt_colour(state: &State, into: VesselId, arrival: Arrival) -> Option<Refusal> {
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
pub(in crate::cellar) fn doubt_volume(vessel: &Vessel, would: Volume) -> Option<Refusal> {
    exceeds(vessel, would).then(|| Refusal::Overfull { vessel: vessel.label.clone(), would, capacity: vessel.capacity })
}

/// Why a vessel cannot have given a volume, if it cannot. More than the book knew there is a gain, but no vessel gives
/// more than it can hold.
pub(in crate::cellar) fn doubt_draw(vessel: &Vessel, volume: Volume) -> Option<Refusal> {
    // An overfull vessel gives what it holds.
    (exceeds(vessel, volume) && volume > vessel.volume()).then(|| Refusal::MoreThanItHolds {
        vessel: vessel.label.clone(),
        volume,
        capacity: vessel.capacity,
    })
}

/// Whether a volume is more than a vessel can hold, barrels varying as they do.
fn exceeds(vessel: &Vessel, volume: Volume) -> bool {
    let limit = u128::from(vessel.capacity.as_ul()) * u128::from(FILL_HUNDREDTHS);
    u128::from(volume.as_ul()) * 100 > limit
}

/// Remembers one more thing, and forgets the oldest beyond so many.
pub(in crate::cellar) fn remember<T: Clone>(list: &mut Arc<Vec<T>>, thing: T, most: usize) {
    let list = Arc::make_mut(list);
    if list.len() >= most {
        list.remove(0);
    }
    list.push(thing);
}

/// Refuses a volume that no cellar has.
pub(in crate::cellar) fn sane(volume: Volume) -> Result<(), Refusal> {
    if volume > Volume::MOST { Err(Refusal::TooMuch(volume)) } else { Ok(()) }
}

/// Whether what a vessel held stays in its wood.
pub(in crate::cellar) fn is_wood(vessel: &Vessel) -> bool {
    vessel.vessel_type == VesselType::Barrel
}

impl Vessel {
    /// Books a gain: there was more than the book knew, in proportion to what it holds.
    pub(in crate::cellar) fn gain(&mut self, volume: Volume) {
        if !volume.is_zero() {
            self.book(Entry::Gain, volume);
            self.gained += volume;
            self.wine.grow(volume);
        }
    }

    /// Draws wine out under a line of the account. The cellar is right, the book is wrong: a draw beyond the book is
    /// booked as a gain first.
    pub(in crate::cellar) fn draw(&mut self, volume: Volume, entry: Entry, at: Moment) -> Wine {
        self.gain(volume.saturating_sub(self.volume()));
        self.book(entry, volume);
        let taken = self.wine.take(volume);
        if self.wine.is_empty() && !taken.is_empty() {
            self.emptied(at);
        }
        taken
    }

    /// Pours wine in under a line of the account. An empty vessel takes the lot that comes and begins a new fill.
    pub(in crate::cellar) fn pour(&mut self, wine: &Wine, entry: Entry, arrival: Arrival, at: Moment) {
        if wine.is_empty() {
            return;
        }
        if self.wine.is_empty() {
            self.lot = arrival.lot;
            self.filled = Some(at);
            self.level_known = Some(at);
            self.filled_before = false;
            self.fills += 1;
            let wall = match (is_wood(self), self.is_first_fill()) {
                (true, true) => Wall::NewWood,
                (true, false) => Wall::WetWood,
                (false, _) => Wall::NoWood,
            };
            self.thirst.fill(wall, at.days_of_epoch());
            self.gained = Volume::ZERO;
        } else if arrival.lot != self.lot {
            self.rename(arrival.lot);
        }
        self.take_in(wine, entry, arrival.colour);
    }

    /// Takes wine in under the lot that the vessel has.
    pub(in crate::cellar) fn take_in(&mut self, wine: &Wine, entry: Entry, colour: Option<Colour>) {
        if is_wood(self) && self.stained != Some(Colour::Red) {
            self.stained = colour.or(self.stained);
        }
        self.book(entry, wine.volume());
        self.wine.mix(wine);
    }

    /// Books what evaporated, and remembers it until the vessel's level is known again.
    pub(in crate::cellar) fn evaporate(&mut self, volume: Volume) {
        if !volume.is_zero() {
            self.book(self.missing_entry(), volume);
            self.wine.lose(volume);
            self.evaporated += volume;
        }
    }

    /// The line of the account for what is missing: it evaporated, and since when is known or not.
    pub(in crate::cellar) fn missing_entry(&self) -> Entry {
        if self.kept_since.is_some() { Entry::Unrecorded } else { Entry::Evaporation }
    }

    /// Nothing was written down of it before a moment: when it was last brimful is not known, unless that is said. A topping of that
    /// moment is written down.
    pub(in crate::cellar) fn level_was_not_recorded(&mut self, since: Moment, brimful: Option<Moment>) {
        if self.last_topped.is_some_and(|topped| topped.instant() >= since.instant()) {
            return;
        }
        // Filled on the same day it came into the book, where it had lain full for nobody knows how long.
        self.filled_before |= self.filled.is_some_and(|filled| since.days_since(filled) == 0);
        self.kept_since = if brimful.is_some() { None } else { Some(since) };
        self.level_known = brimful;
        self.last_topped = brimful;
        self.came_in = CameIn::default();
        self.evaporated = Volume::ZERO;
        self.gained = Volume::ZERO;
        self.thirst.forget(brimful.unwrap_or(since).days_of_epoch(), self.filled_before);
    }

    /// What an empty vessel forgets.
    fn emptied(&mut self, at: Moment) {
        self.lot = None;
        self.filled = None;
        self.emptied = Some(at);
        self.last_topped = None;
        self.level_known = None;
        self.kept_since = None;
        self.filled_before = false;
        self.last_rate = None;
        self.care = CareGiven::default();
        self.racked_from = Vec::new();
        self.stirred = None;
        self.blanket = None;
        self.tests = Arc::default();
        self.watched = None;
        self.carried = None;
        self.additions = Arc::default();
        self.changes = Vec::new();
        self.came_in = CameIn::default();
        self.evaporated = Volume::ZERO;
        self.gained = Volume::ZERO;
    }

    /// What the book was off by since the vessel's level was last known, litres: above nothing where wine was lost, below
    /// where there was more than it said.
    pub(in crate::cellar) fn found(&self) -> f64 {
        self.evaporated.as_litres() - self.gained.as_litres()
    }

    /// What the vessel lacked became known: its evaporation, and from it how fast the vessel drinks. Gives what is to be
    /// learned from that.
    pub(in crate::cellar) fn find_evaporation(&mut self, evaporated: Volume, at: Moment) -> Option<Finding> {
        let since = self.level_known.replace(at);
        self.evaporate(evaporated);
        let lost = self.found();
        // What toppings in part had to find missing on the way evaporated in the same time.
        let evaporated = std::mem::take(&mut self.evaporated);
        self.gained = Volume::ZERO;
        if self.kept_since.take().is_some() {
            // Over how long it went nobody knows, so nothing is learned from it.
            self.thirst.begin(at.days_of_epoch());
            return None;
        }
        let minutes = u64::try_from((at.instant() - since?.instant()) / 60_000_000).unwrap_or(0);
        let tells_a_rate = minutes >= LEAST_MINUTES_FOR_A_RATE && is_wood(self);
        if tells_a_rate {
            self.last_rate = Some(DailyRate(evaporated.as_ul().saturating_mul(DAY_MINUTES) / minutes));
        }
        Some(Finding { lost, at, evaporated: tells_a_rate.then_some((evaporated, minutes)) })
    }
}

impl State {
    /// A vessel and its room learn from what was found in it.
    pub(in crate::cellar) fn learn(&mut self, id: VesselId, finding: &Finding) {
        let vessel = self.vessels.get_mut(id);
        let home = Home::of(vessel.slot, &mut self.rooms, &mut self.nowhere);
        vessel.learn(home, finding, !self.unlearning);
    }
}

/// What learns with a vessel.
pub(in crate::cellar) enum Home<'a> {
    /// The room that it lies in.
    Room(&'a mut Room),
    /// What is believed of barrels that lie in none.
    Nowhere(&'a mut RoomRate),
}

impl<'a> Home<'a> {
    /// What learns with a vessel that lies there.
    pub(in crate::cellar) fn of(
        slot: Option<Slot>,
        rooms: &'a mut Table<RoomId, Room>,
        nowhere: &'a mut RoomRate,
    ) -> Home<'a> {
        match slot {
            Some(slot) => Home::Room(rooms.get_mut(slot.room)),
            None => Home::Nowhere(nowhere),
        }
    }

    /// The round that is open in the room.
    pub(in crate::cellar) fn open_round(&self) -> Option<RoundId> {
        match self {
            Home::Room(room) => room.open_round,
            Home::Nowhere(_) => None,
        }
    }
}

impl Vessel {
    /// It and its room learn from what was found in it, unless nothing is to be learnt. What a room lost in all is kept beside the
    /// estimate.
    pub(in crate::cellar) fn learn(&mut self, home: Home<'_>, finding: &Finding, learns: bool) {
        let (day, teaches) = (finding.at.days_of_epoch(), is_wood(self));
        let rate = match home {
            Home::Room(room) => {
                if let Some((evaporated, minutes)) = finding.evaporated {
                    room.evaporation_found += evaporated;
                    room.barrel_minutes += minutes;
                }
                &mut room.rate
            }
            Home::Nowhere(rate) => rate,
        };
        if learns {
            self.thirst.find(rate, finding.lost, day, teaches);
        }
    }
}
