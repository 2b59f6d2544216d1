//! Headspace: what each vessel of the state lacks at a moment.

use super::moment::Moment;
use super::state::{State, Vessel};
use crate::reckon::headspace::{Basis, Estimate, Level, estimate};
use crate::units::Volume;

/// Minutes in a day.
const DAY_MINUTES: f64 = 1_440.0;

/// What is poured is read to a tenth of a litre (common practice with a graduated can).
const JUG_MICROLITRES: u64 = 100_000;

impl State {
    /// The estimate of what a vessel lacks at a moment. What is not kept full lacks what its book says, exactly.
    #[must_use]
    pub fn headspace(&self, vessel: &Vessel, at: Moment) -> Estimate {
        let book = vessel.book_headspace();
        let (true, false, Some(since)) = (vessel.kept_full, vessel.wine.is_empty(), vessel.level_known) else {
            return Estimate { missing: book, deviation: Volume::ZERO, basis: Basis::Own };
        };
        estimate(&Level {
            capacity: vessel.capacity,
            book_headspace: book,
            days: at.elapsed_days(since),
            own_rate: vessel.last_rate.map(|rate| Volume::from_ul(rate.0).as_litres()),
            room_rate: vessel.slot.and_then(|slot| {
                let room = self.rooms.get(slot.room);
                let days = room.barrel_minutes as f64 / DAY_MINUTES;
                (room.barrel_minutes > 0).then(|| room.evaporation_found.as_litres() / days)
            }),
        })
    }

    /// What one would expect to pour into a vessel at a moment: the estimate, as a can is read.
    #[must_use]
    pub fn expected_topping(&self, vessel: &Vessel, at: Moment) -> Volume {
        let missing = self.headspace(vessel, at).missing.as_ul();
        Volume::from_ul((missing + JUG_MICROLITRES / 2) / JUG_MICROLITRES * JUG_MICROLITRES)
    }
}
