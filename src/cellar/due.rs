//! Due: which vessels are to be topped at a moment.

use super::lot::Stage;
use super::moment::Moment;
use super::state::{State, Vessel};
use crate::reckon::due::{Due, HOUSE_ROUND_DAYS, ROLLED_ROUND_DAYS, SOAKING_ROUND_DAYS, judge};

impl State {
    /// Days between two toppings of a vessel: its lot's own, else its stage's, else its room's, else the house's.
    #[must_use]
    pub fn round_days(&self, vessel: &Vessel) -> u32 {
        let lot = vessel.lot.map(|lot| self.lots.get(lot));
        let stage = lot.and_then(|lot| lot.stage).map(|(stage, _)| stage);
        let by_stage = match stage {
            Some(Stage::Soaking) => Some(SOAKING_ROUND_DAYS),
            Some(Stage::Rolled) => Some(ROLLED_ROUND_DAYS),
            Some(Stage::Malolactic | Stage::BungUp) | None => None,
        };
        let by_room = vessel.slot.and_then(|slot| self.rooms.get(slot.room).round_days);
        lot.and_then(|lot| lot.round_days).or(by_stage).or(by_room).unwrap_or(HOUSE_ROUND_DAYS)
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
