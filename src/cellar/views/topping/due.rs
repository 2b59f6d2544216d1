//! Due: which vessels are to be topped at a moment.
//!
//! **A barrel is over** when a seventh of its interval has passed beyond its day (three days on three weeks): our choice.
//!
//! **Rolled barrels** belong to a round only when they are due: opening them is what the rolling avoids.
//!
//! **Due** is the interval or the tolerated headspace, whichever comes first. The interval is that of the moment a barrel was full, so that
//! what is due stays due when the first weeks of new wood are over. A stage that has an interval goes before those weeks.

use chrono::{Days, NaiveDate};

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{Lot, Room, State, Vessel};
use crate::cellar::jobs::floor::lot::Stage;
use crate::reckon::due::{Due, FIRST_WEEKS_DAYS, HOUSE_ROUND_DAYS, ROLLED_ROUND_DAYS, SOAKING_ROUND_DAYS, judge};
use crate::units::{Volume, litres};

const DAY_MICROSECONDS: i64 = 86_400_000_000;

fn later(date: NaiveDate, days: u64) -> Option<NaiveDate> {
    date.checked_add_days(Days::new(days))
}

/// Whole local days between two moments, at least none where the later one is no earlier.
fn days_between(earlier: Moment, at: Moment) -> i64 {
    let days = at.days_since(earlier);
    if at.instant() < earlier.instant() { days } else { days.max(0) }
}

/// Microseconds since midnight on the wall.
fn since_midnight(moment: Moment) -> i64 {
    (moment.instant() + i64::from(moment.offset_minutes()) * 60_000_000).rem_euclid(DAY_MICROSECONDS)
}

/// Why a vessel is due when it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DueBecause {
    /// It will have lost what its room tolerates.
    Air(Volume),
    /// Its lot has an interval of its own.
    Lot,
    /// Its lot's stage has one.
    Stage(Stage),
    /// It is in the first weeks of its first fill.
    FirstFill,
    /// Its room has one.
    Room,
    /// Nothing else is said, so it is the house's.
    House,
    /// Nobody knows when it was last topped.
    Unrecorded,
}

impl DueBecause {
    /// Whether it is another interval than that of all barrels round it.
    #[must_use]
    pub const fn is_its_own(self) -> bool {
        matches!(self, DueBecause::Lot | DueBecause::Stage(_) | DueBecause::FirstFill)
    }

    /// The words for it, behind so many days.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            DueBecause::Air(tolerated) => format!("{} of air", litres(tolerated)),
            DueBecause::Lot => "its lot".to_owned(),
            DueBecause::Stage(Stage::Rolled) => "rolled".to_owned(),
            DueBecause::Stage(_) => "soaking".to_owned(),
            DueBecause::FirstFill => "first fill".to_owned(),
            DueBecause::Room => "its room".to_owned(),
            DueBecause::House => "the house".to_owned(),
            DueBecause::Unrecorded => "last topping not known".to_owned(),
        }
    }
}

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

impl Vessel {
    /// The interval is that of the moment at which the vessel was full, not of the moment at which one looks: else what
    /// is due would cease to be when the first weeks are over.
    fn was_full_in_first_weeks(&self) -> bool {
        let Some(filled) = self.filled.filter(|_| self.is_first_fill() && !self.filled_before) else { return false };
        self.last_topped.unwrap_or(filled).days_since(filled) < FIRST_WEEKS_DAYS
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

    /// Days from a vessel's last topping to its next: as [`State::round_days`], but a week where new wood was last full in
    /// the first weeks of its first fill. What the lot itself asks for goes before.
    #[must_use]
    pub fn interval_days(&self, vessel: &Vessel) -> u32 {
        let days = self.round_days(vessel);
        let lot_asks = vessel.lot.is_some_and(|lot| self.lots.get(lot).own_round_days().is_some());
        if !lot_asks && vessel.was_full_in_first_weeks() { days.min(SOAKING_ROUND_DAYS) } else { days }
    }

    /// Why a vessel is due when it is.
    #[must_use]
    pub fn due_because(&self, vessel: &Vessel) -> DueBecause {
        if vessel.kept_since.is_some() {
            return DueBecause::Unrecorded;
        }
        let tolerated = vessel.slot.and_then(|slot| self.rooms.get(slot.room).tolerated);
        let by_interval = vessel
            .last_topped
            .or(vessel.filled)
            .and_then(|full| later(full.date(), u64::from(self.interval_days(vessel))));
        if let (Some(tolerated), Some(day)) = (tolerated, self.due_on(vessel))
            && by_interval.is_some_and(|by_interval| day < by_interval)
        {
            return DueBecause::Air(tolerated);
        }
        let lot = vessel.lot.map(|lot| self.lots.get(lot));
        match lot.filter(|lot| lot.own_round_days().is_some()) {
            Some(lot) if lot.round_days.is_some() => return DueBecause::Lot,
            Some(lot) => {
                if let Some((stage, _)) = lot.stage {
                    return DueBecause::Stage(stage);
                }
            }
            None => {}
        }
        let room = vessel.slot.map(|slot| self.rooms.get(slot.room));
        if self.interval_days(vessel) < self.round_days(vessel) {
            DueBecause::FirstFill
        } else if room.is_some_and(|room| room.round_days.is_some()) {
            DueBecause::Room
        } else {
            DueBecause::House
        }
    }

    /// The day on which a vessel is due: when its interval is over, or in the course of which it is estimated to pass the
    /// headspace that its room tolerates, whichever comes first; where it is not known when it was last topped, since that began
    /// to be written down. `None` where it is empty or not kept full.
    #[must_use]
    pub fn due_on(&self, vessel: &Vessel) -> Option<NaiveDate> {
        if !vessel.kept_full || vessel.wine.is_empty() {
            return None;
        }
        if let Some(since) = vessel.kept_since {
            return Some(since.date());
        }
        let full = vessel.last_topped.or(vessel.filled)?;
        let by_interval = later(full.date(), u64::from(self.interval_days(vessel)))?;
        let tolerated = vessel.slot.and_then(|slot| self.rooms.get(slot.room).tolerated);
        let by_air = tolerated.and_then(|tolerated| self.passes_on(vessel, tolerated, by_interval));
        Some(by_air.map_or(by_interval, |by_air| by_air.min(by_interval)))
    }

    /// The first day, before another one, at whose end a vessel lacks so much. What is missing only grows until the
    /// vessel is opened, so that halving finds the day in a dozen steps however long the interval is.
    fn passes_on(&self, vessel: &Vessel, tolerated: Volume, before: NaiveDate) -> Option<NaiveDate> {
        let known = vessel.level_known.or(vessel.filled)?;
        let first_midnight = known.instant() - since_midnight(known);
        let lacks = |day: i64| {
            let end_of_day = known.at_instant(first_midnight + (day + 1) * DAY_MICROSECONDS - 1);
            self.headspace(vessel, end_of_day).missing >= tolerated
        };
        let (mut low, mut high) = (0, (before - known.date()).num_days());
        if high <= 0 || !lacks(high - 1) {
            return None;
        }
        // It lacks so much on the last day looked at; whether it does on an earlier one is what is asked.
        high -= 1;
        while low < high {
            let middle = low + (high - low) / 2;
            if lacks(middle) {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        later(known.date(), u64::try_from(low).unwrap_or(0))
    }

    /// Whole local days since a vessel was last brimful for certain: topped, else filled. A day is the date on the wall
    /// where it was; carried west over midnight, a barrel topped just now is topped today. `None` where that was not written
    /// down.
    #[must_use]
    pub fn days_since_full(&self, vessel: &Vessel, at: Moment) -> Option<i64> {
        if vessel.kept_since.is_some() {
            return None;
        }
        let full = vessel.last_topped.or(vessel.filled)?;
        Some(days_between(full, at))
    }

    /// Whether a vessel is to be topped; `None` where it is empty or not kept full.
    #[must_use]
    pub fn due(&self, vessel: &Vessel, at: Moment) -> Option<Due> {
        self.due_lacking(vessel, self.headspace(vessel, at).missing, at)
    }

    /// The same where it has been estimated already what the vessel lacks.
    pub(in crate::cellar) fn due_lacking(&self, vessel: &Vessel, missing: Volume, at: Moment) -> Option<Due> {
        if !vessel.kept_full || vessel.wine.is_empty() {
            return None;
        }
        let tolerated = vessel.slot.and_then(|slot| self.rooms.get(slot.room).tolerated);
        let judged = |days| judge(days, self.interval_days(vessel), missing, tolerated);
        match vessel.kept_since {
            // Somebody should look at it, and it is at least as long as that since it was topped.
            Some(since) => Some(judged(days_between(since, at)).max(Due::Due)),
            None => self.days_since_full(vessel, at).map(judged),
        }
    }
}
