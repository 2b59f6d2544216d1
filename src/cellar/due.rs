//! Due: which vessels are to be topped at a moment.

use super::lot::Stage;
use super::moment::Moment;
use super::state::{Lot, Room, State, Vessel};
use crate::reckon::due::{Due, HOUSE_ROUND_DAYS, ROLLED_ROUND_DAYS, SOAKING_ROUND_DAYS, judge};

impl Lot {
    /// Days between two toppings that the lot itself asks for: its own, else its stage's.
    #[must_use]
    pub fn own_round_days(&self) -> Option<u32> {
        let by_stage = match self.stage {
            Some((Stage::Soaking, _)) => Some(SOAKING_ROUND_DAYS),
            Some((Stage::Rolled, _)) => Some(ROLLED_ROUND_DAYS),
            Some((Stage::Malolactic | Stage::BungUp, _)) | None => None,
        };
        self.round_days.or(by_stage)
    }
}

impl Room {
    /// Days between two rounds of the room: its own, else the house's.
    #[must_use]
    pub fn round_days_or_house(&self) -> u32 {
        self.round_days.unwrap_or(HOUSE_ROUND_DAYS)
    }
}

impl State {
    /// Days between two toppings of a vessel: its lot's own, else its stage's, else its room's, else the house's.
    #[must_use]
    pub fn round_days(&self, vessel: &Vessel) -> u32 {
        let by_lot = vessel.lot.and_then(|lot| self.lots.get(lot).own_round_days());
        let by_room = vessel.slot.map(|slot| self.rooms.get(slot.room).round_days_or_house());
        by_lot.or(by_room).unwrap_or(HOUSE_ROUND_DAYS)
    }

    /// Whole local days since a vessel was last brimful for certain: topped, else filled. A day is the date on the wall
    /// where it was; carried west over midnight, a barrel topped just now is topped today.
    #[must_use]
    pub fn days_since_full(&self, vessel: &Vessel, at: Moment) -> Option<i64> {
        let full = vessel.last_topped.or(vessel.filled)?;
        let days = at.days_since(full);
        Some(if at.instant() < full.instant() { days } else { days.max(0) })
    }

    /// Whether a vessel is to be topped; `None` where it is empty or not kept full.
    #[must_use]
    pub fn due(&self, vessel: &Vessel, at: Moment) -> Option<Due> {
        if !vessel.kept_full || vessel.wine.is_empty() {
            return None;
        }
        let days = self.days_since_full(vessel, at)?;
        let tolerated = vessel.slot.and_then(|slot| self.rooms.get(slot.room).tolerated);
        Some(judge(days, self.round_days(vessel), self.headspace(vessel, at).missing, tolerated))
    }
}
