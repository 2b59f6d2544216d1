//! Evaporation through time: what each room drew month by month, and the saw-tooth of one barrel's headspace.
//!
//! What evaporated is found only when a level becomes known: at a topping to the brim, or at a gauging. It is taken to have
//! gone evenly since the level was last known, so that each month gets its share, and each room where a barrel was
//! carried meanwhile.
//!
//! **Evaporation by month** (`cellar/views/topping/evaporation.rs`) folds all facts once more: the state keeps no months. A finding is
//! spread evenly over the days since the level before; findings less than three days apart are taken together.
//!
//! **A room drinks more than its climate explains** only where its level, less 1.645 of its deviations, is a quarter above what its stated
//! temperature and humidity explain. The spread of the prior is not counted in: it stands for the draught, which is what is looked for.
//! Rooms of no stated climate are not judged.

use std::collections::BTreeMap;

use chrono::{Datelike, Months, NaiveDate};
use rustc_hash::FxHashMap;

use crate::cellar::core::book::is_wood;
use crate::cellar::core::evolve::evolve;
use crate::cellar::core::fact::{Stamp, What};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::{DAY_MICROSECONDS, Moment};
use crate::cellar::core::state::{RoomId, State, Vessel, VesselId};
use crate::units::Volume;

/// Levels found sooner than this after one another are taken together: between them lie the hand and the thermometer.
const LEAST_DAYS: f64 = 3.0;

/// A month of fewer barrel-days than this says nothing of a rate.
const LEAST_BARREL_DAYS: f64 = 1.0;

/// How far back a barrel's saw-tooth goes, days.
const SAW_TOOTH_DAYS: i64 = 731;

/// A month of the calendar on the wall.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Month {
    /// Its first day.
    first: NaiveDate,
}

impl Month {
    /// The month that a moment lies in.
    #[must_use]
    pub fn of(moment: Moment) -> Month {
        let date = moment.date();
        Month { first: date.with_day(1).unwrap_or(date) }
    }

    /// The month after; itself where the calendar ends.
    #[must_use]
    pub fn next(self) -> Month {
        Month { first: self.first.checked_add_months(Months::new(1)).unwrap_or(self.first) }
    }

    /// The year.
    #[must_use]
    pub fn year(self) -> i32 {
        self.first.year()
    }

    /// The month before; itself where the calendar begins.
    #[must_use]
    pub fn before(self) -> Month {
        Month { first: self.first.checked_sub_months(Months::new(1)).unwrap_or(self.first) }
    }

    /// How many days it has.
    #[must_use]
    pub fn days(self) -> f64 {
        f64::from(self.first.num_days_in_month())
    }

    /// As people say it: `Nov 2026`.
    #[must_use]
    pub fn show(self) -> String {
        self.first.format("%b %Y").to_string()
    }

    /// When it begins by a clock on the wall.
    #[must_use]
    pub fn begins(self, wall: Moment) -> Moment {
        let days = (self.first - NaiveDate::default()).num_days();
        wall.at_instant(days * DAY_MICROSECONDS - i64::from(wall.offset_minutes()) * 60_000_000)
    }
}

/// As programs say it: `2026-11`.
impl std::fmt::Display for Month {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.first.format("%Y-%m"))
    }
}

/// What was found to have evaporated, and over how long.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Found {
    /// Litres; what turned out to be there after all is taken off.
    pub litres: f64,
    /// The sum over barrels of the days in which it went.
    pub barrel_days: f64,
}

impl Found {
    /// Litres for each barrel and day; none where the time is too short to say.
    #[must_use]
    pub fn daily(&self) -> Option<f64> {
        (self.barrel_days >= LEAST_BARREL_DAYS).then(|| self.litres / self.barrel_days)
    }
}

/// What a barrel lacked at a moment at which that was known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// When.
    pub at: Moment,
    /// What it lacked.
    pub missing: Volume,
    /// Whether a fill begins here, so that no line leads here from what was before.
    pub begins: bool,
}

/// What was found of a room, month by month.
#[derive(Clone, Debug, PartialEq)]
pub struct RoomMonths {
    /// The room.
    pub room: Label,
    /// Its months in which something was known, in their order.
    pub months: Vec<(Month, Found)>,
}

/// What the facts tell of evaporation.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Evaporated {
    /// By room, in the order of the rooms.
    pub rooms: Vec<RoomMonths>,
    /// The levels of the barrel that was asked for, of the last two years.
    pub levels: Vec<Level>,
}

impl Evaporated {
    /// The months of a room.
    #[must_use]
    pub fn of_room(&self, room: &Label) -> &[(Month, Found)] {
        self.rooms.iter().find(|found| found.room == *room).map_or(&[], |found| &found.months)
    }
}

/// What was found too soon after the level before to be a finding of its own.
#[derive(Clone, Copy, Debug)]
struct Pending {
    fill: u32,
    since: Moment,
    litres: f64,
}

/// A vessel as it was before a fact.
struct Before {
    id: VesselId,
    room: Option<RoomId>,
    fill: u32,
    was_empty: bool,
    known: Option<Moment>,
    balance: f64,
    found: f64,
}

/// Folds facts and remembers what became known of levels.
#[derive(Debug, Default)]
pub struct Observer {
    /// The state so far.
    pub state: State,
    barrel: Option<Label>,
    months: BTreeMap<(RoomId, Month), Found>,
    pending: FxHashMap<VesselId, Pending>,
    /// The rooms that a vessel left since its level was known, and when.
    left: FxHashMap<VesselId, Vec<(Option<RoomId>, Moment)>>,
    levels: Vec<Level>,
}

/// What the account of a vessel says of evaporation, litres.
fn evaporation_balance(vessel: &Vessel) -> f64 {
    use crate::cellar::core::account::Entry;
    let account = vessel.account();
    account.sum(Entry::Evaporation).as_litres() - account.sum(Entry::Gain).as_litres()
}

impl Observer {
    /// An observer that also draws the saw-tooth of a barrel, if one is named.
    #[must_use]
    pub fn new(barrel: Option<Label>) -> Observer {
        Observer { barrel, ..Observer::default() }
    }

    /// Folds one fact that is not taken back.
    pub fn fold(&mut self, stamp: &Stamp, what: &What) {
        let found_in = self.subject(what).map(|id| self.before(id));
        let carried: Vec<(VesselId, Option<RoomId>)> =
            self.carried(what).into_iter().map(|id| (id, self.room_of(id))).collect();
        let watched = self.barrel.as_ref().and_then(|label| self.state.vessels.find(label.as_str()));
        let watched = watched.map(|id| self.before(id));
        let kept = self.state.discrepancies.len();
        evolve(&mut self.state, stamp, what);
        if self.state.discrepancies[kept..].iter().any(|found| !found.counted) {
            return;
        }
        for (id, room) in carried {
            if self.room_of(id) != room {
                self.left.entry(id).or_default().push((room, stamp.at));
            }
        }
        if let Some(before) = watched {
            self.watch(&before, stamp.at, what);
        }
        if let Some(before) = found_in {
            self.find(&before, stamp.at);
        }
    }

    fn room_of(&self, id: VesselId) -> Option<RoomId> {
        self.state.vessels.get(id).slot.map(|slot| slot.room)
    }

    fn before(&self, id: VesselId) -> Before {
        let vessel = self.state.vessels.get(id);
        Before {
            id,
            room: self.room_of(id),
            fill: vessel.fills,
            was_empty: vessel.wine.is_empty(),
            known: vessel.level_known,
            balance: evaporation_balance(vessel),
            found: vessel.found(),
        }
    }

    /// The barrel whose level a fact may make known.
    fn subject(&self, what: &What) -> Option<VesselId> {
        let label = match what {
            What::Topped(topped) if topped.full => &topped.vessel,
            What::Gauged(gauged) => &gauged.vessel,
            _ => return None,
        };
        self.state.vessels.find(label.as_str()).filter(|&id| is_wood(self.state.vessels.get(id)))
    }

    /// The vessels that a fact may carry to another room.
    fn carried(&self, what: &What) -> Vec<VesselId> {
        let room = match what {
            What::VesselPlaced(placed) => return self.state.vessels.find(placed.vessel.as_str()).into_iter().collect(),
            What::RackMoved(moved) => &moved.from.room,
            What::RoomLaidOut(laid) => &laid.room,
            _ => return Vec::new(),
        };
        let room = self.state.rooms.by_label(room.as_str());
        room.map_or_else(Vec::new, |room| room.slots.iter().copied().flatten().collect())
    }

    /// A level became known: what went since the last one is given to its months.
    fn find(&mut self, before: &Before, at: Moment) {
        let vessel = self.state.vessels.get(before.id);
        let (Some(known), Some(_)) = (before.known, vessel.level_known) else {
            // When it went was not written down, nor where it lay then.
            self.pending.remove(&before.id);
            self.left.remove(&before.id);
            return;
        };
        let litres = before.found + evaporation_balance(vessel) - before.balance;
        let pending = self.pending.remove(&before.id).filter(|pending| pending.fill == before.fill);
        let since = pending.map_or(known, |pending| pending.since);
        let litres = litres + pending.map_or(0.0, |pending| pending.litres);
        if at.elapsed_days(since) < LEAST_DAYS {
            self.pending.insert(before.id, Pending { fill: before.fill, since, litres });
            return;
        }
        let daily = litres / at.elapsed_days(since);
        let mut from = since;
        let mut stays = self.left.remove(&before.id).unwrap_or_default();
        stays.push((before.room, at));
        for (room, to) in stays {
            if to.instant() > from.instant() {
                if let Some(room) = room {
                    self.spread(room, from, to, daily);
                }
                from = to;
            }
        }
    }

    /// Gives each month between two moments its share.
    fn spread(&mut self, room: RoomId, from: Moment, to: Moment, daily: f64) {
        let mut start = to.at_instant(from.instant());
        while start.instant() < to.instant() {
            let month = Month::of(start);
            let next = month.next().begins(to).instant();
            // Where the calendar ends the rest goes to the last month.
            let end = if next > start.instant() { to.at_instant(next.min(to.instant())) } else { to };
            let days = end.elapsed_days(start);
            let found = self.months.entry((room, month)).or_default();
            found.litres += daily * days;
            found.barrel_days += days;
            start = end;
        }
    }

    /// The barrel that is watched, after a fact.
    fn watch(&mut self, before: &Before, at: Moment, what: &What) {
        let vessel = self.state.vessels.get(before.id);
        let after = vessel.book_headspace();
        let level = |missing, begins| Level { at, missing, begins };
        if before.was_empty || vessel.fills != before.fill {
            if !vessel.wine.is_empty() {
                self.levels.push(level(after, true));
            }
            return;
        }
        match what {
            What::Topped(topped) if self.state.vessels.find(topped.vessel.as_str()) == Some(before.id) => {
                // So much went in, so it lacked as much more before.
                self.levels.push(level((after + topped.volume).min(vessel.capacity), before.known.is_none()));
                self.levels.push(level(after, false));
            }
            What::Gauged(gauged)
                if self.state.vessels.find(gauged.vessel.as_str()) == Some(before.id) && !vessel.wine.is_empty() =>
            {
                self.levels.push(level(after, before.known.is_none()));
            }
            _ => {}
        }
    }

    /// What was seen, as of a moment.
    #[must_use]
    pub fn seen(mut self, until: Moment) -> Evaporated {
        let rooms = self.state.rooms.iter().map(|(id, room)| RoomMonths {
            room: room.label.clone(),
            months: self.months.iter().filter(|((of, _), _)| *of == id).map(|((_, month), f)| (*month, *f)).collect(),
        });
        let rooms = rooms.collect();
        let first = until.instant().saturating_sub(SAW_TOOTH_DAYS * DAY_MICROSECONDS);
        // The one before is kept, so that the line comes in from the edge.
        let early = self.levels.iter().take_while(|level| level.at.instant() < first).count();
        self.levels.drain(..early.saturating_sub(1));
        Evaporated { rooms, levels: self.levels }
    }
}
