//! Headspace: what each vessel of the state lacks at a moment, and which barrels drink more than they should.
//!
//! **Barrels that lie in no room** share one rate, `State::nowhere`.

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RoomId, State, Vessel, VesselId};
use crate::reckon::headspace::{Basis, Climate, Estimate, RoomRate};
use crate::units::Volume;

/// What is poured is read to a tenth of a litre (common practice with a graduated can).
const JUG_MICROLITRES: u64 = 100_000;

/// A room's level must lie above what its climate explains by so many of its own standard deviations to be believed: one
/// chance in twenty of being wrong.
const CREDIBLY: f64 = 1.645;

/// … and by this part, for less than a quarter is within what a thermometer in another corner would say (our choice).
const WORTH_SAYING: f64 = 1.25;

/// What a room draws from a 225 L barrel in the mean of the year, beside what its climate explains.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoomLevel {
    /// What its toppings say, litres a day.
    pub learned: f64,
    /// The standard deviation of that, as a part of it.
    pub deviation: f64,
    /// What its stated temperature and humidity explain, litres a day; none where they are not stated.
    pub climate: Option<f64>,
    /// How many times what its climate explains it draws, where that is credibly more: by a quarter even at the low
    /// end of what is believed of the room.
    pub beyond: Option<f64>,
}

/// A barrel that drinks more than it should.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leak {
    /// How many times what it should.
    pub times: f64,
    /// Since when: the last time its level was known before it first drank too much.
    pub since: Moment,
}

impl State {
    /// The estimate of what a vessel lacks at a moment. What is not kept full lacks what its book says, exactly.
    /// Where it was not written down when the vessel was last topped, it is that of a usual interval before, in a wide band.
    #[must_use]
    pub fn headspace(&self, vessel: &Vessel, at: Moment) -> Estimate {
        let book = vessel.book_headspace();
        if !vessel.kept_full || vessel.wine.is_empty() {
            return Estimate { missing: book, deviation: Volume::ZERO, basis: Basis::Book };
        }
        let room = vessel.slot.map(|slot| slot.room);
        let rate = self.rate_of(room);
        let (found, day) = (vessel.found(), at.days_of_epoch());
        let is_recorded = vessel.kept_since.is_none();
        let loss = if is_recorded {
            vessel.thirst.loss(rate, found, day)
        } else {
            vessel.thirst.loss_unrecorded(rate, found, day, f64::from(self.round_days(vessel)))
        };
        let basis = || vessel.thirst.basis(rate, self.climate_of(room).stated().is_some());
        Estimate {
            missing: Volume::nearest_to_litres(book.as_litres() + loss.litres).min(vessel.capacity),
            deviation: Volume::nearest_to_litres(loss.deviation).min(vessel.capacity),
            basis: if is_recorded { basis() } else { Basis::Unrecorded },
        }
    }

    /// What is expected to have evaporated from a vessel that the book still has in it.
    #[must_use]
    pub fn gone(&self, vessel: &Vessel, at: Moment) -> Volume {
        self.headspace(vessel, at).missing.saturating_sub(vessel.book_headspace())
    }

    /// Whether a vessel drinks more than it should, how much more, and since when.
    #[must_use]
    pub fn leak(&self, vessel: &Vessel) -> Option<Leak> {
        let filled = vessel.filled.filter(|_| vessel.kept_full)?;
        let leak = vessel.thirst.leak()?;
        Some(Leak { times: leak.times, since: filled.at_days_of_epoch(leak.since) })
    }

    /// The barrels of a room that drink more than they should, the worst first.
    #[must_use]
    pub fn leaks_in(&self, room: RoomId) -> Vec<(VesselId, Leak)> {
        let slots = 0..self.rooms.get(room).slots.len();
        let leaking = |(_, id)| self.leak(self.vessels.get(id)).map(|leak| (id, leak));
        let mut leaks: Vec<(VesselId, Leak)> = self.lying_in(room, slots).filter_map(leaking).collect();
        leaks.sort_by(|a, b| b.1.times.total_cmp(&a.1.times));
        leaks
    }

    /// What one would expect to pour into a vessel at a moment: the estimate, as a can is read.
    #[must_use]
    pub fn expected_topping(&self, vessel: &Vessel, at: Moment) -> Volume {
        let missing = self.headspace(vessel, at).missing.as_ul();
        Volume::from_ul((missing + JUG_MICROLITRES / 2) / JUG_MICROLITRES * JUG_MICROLITRES)
    }

    /// What a room has been learned to draw; none before anything was topped in it.
    #[must_use]
    pub fn room_level(&self, room: RoomId, at: Moment) -> Option<RoomLevel> {
        let rate = self.rate_of(Some(room));
        if rate.seen() == 0 {
            return None;
        }
        let (learned, deviation) = (rate.level(), rate.level_deviation(at.days_of_epoch()));
        let climate = self.climate_of(Some(room));
        let stated = climate.stated().map(|_| climate.rate());
        let beyond = stated.map(|stated| learned / stated);
        let surely = |times: &f64| times * libm::exp(-CREDIBLY * deviation) > WORTH_SAYING;
        Some(RoomLevel { learned, deviation, climate: stated, beyond: beyond.filter(surely) })
    }

    /// What a room draws, or the places that are in none.
    #[must_use]
    pub fn rate_of(&self, room: Option<RoomId>) -> &RoomRate {
        room.map_or(&self.nowhere, |room| &self.rooms.get(room).rate)
    }

    fn climate_of(&self, room: Option<RoomId>) -> Climate {
        room.map_or(Climate::default(), |room| {
            let room = self.rooms.get(room);
            Climate { temperature_c: room.temperature_c, humidity_pct: room.humidity_pct }
        })
    }

    /// A vessel is carried from one room to another: what the old one drew from it stays drawn.
    pub(in crate::cellar) fn change_rooms(&mut self, id: VesselId, to: Option<RoomId>, at: Moment) {
        let vessel = self.vessels.get(id);
        let from = vessel.slot.map(|slot| slot.room);
        if from == to || vessel.wine.is_empty() {
            return;
        }
        let rate = *self.rate_of(from);
        self.vessels.get_mut(id).thirst.leave(&rate, at.days_of_epoch());
    }
}
