//! What the facts tell of oak: tastes with their tasters, how the wine kept in each barrel, what the barrel drew and whether it leaked.

use chrono::{Datelike, NaiveDate};
use rustc_hash::FxHashMap;

use super::{Asked, Kind, Measure, Oak, kind_of};
use crate::cellar::core::evolve::evolve;
use crate::cellar::core::fact::{Stamp, What};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, RoomId, State, Vessel, VesselId};
use crate::cellar::core::table::Id;
use crate::cellar::jobs::books::loss::LossCause;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::tests::testing::Tested;
use crate::reckon::oak::LeakRate;

/// Two tests of a wine that lie closer tell the laboratory's scatter, not how the wine keeps (our choice).
const LEAST_DAYS: f64 = 30.0;
/// The days of a month, in the mean of the calendar.
pub(super) const MONTH_DAYS: f64 = 365.25 / 12.0;
/// A barrel's thirst says something from so many findings of its level on: the first ones of a fill are its soaking in (our choice).
const LEAST_FINDINGS: u32 = 2;

/// Something observed, before levels and sittings have numbers.
struct Observed {
    measure: Measure,
    value: f64,
    side: Side,
    lot: usize,
    filling: (VesselId, u32),
}

/// What is observed side by side.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Side {
    /// A taster, a lot, a day.
    Sitting(usize, LotId, NaiveDate),
    /// A lot from one month to another.
    Months(Measure, LotId, (i32, u32), (i32, u32)),
    /// A room.
    Room(Option<RoomId>),
}

/// A wine in one barrel, from a test on, as long as nothing but time changes what is tested.
#[derive(Clone)]
struct Keeping {
    lot: LotId,
    first: (Moment, f64),
    last: (Moment, f64),
}

/// How long a filling lay under observation, and whether it leaked.
struct Watched {
    days: f64,
    leaked: bool,
}

/// Folds facts and remembers what they tell of oak.
#[derive(Default)]
pub struct Observer {
    /// The state so far.
    pub state: State,
    asked: Asked,
    tasters: FxHashMap<String, usize>,
    observed: Vec<Observed>,
    keeping: FxHashMap<(Measure, VesselId, u32), Keeping>,
    watched: FxHashMap<(VesselId, u32), Watched>,
}

/// What a barrel was before a fact.
struct Before {
    id: VesselId,
    fill: u32,
    known: Option<Moment>,
    leaks: bool,
}

impl Observer {
    /// An observer of what is asked for.
    #[must_use]
    pub fn new(asked: Asked) -> Observer {
        Observer { asked, ..Observer::default() }
    }

    /// Folds one fact that is not taken back, with who entered it.
    pub fn fold(&mut self, by: &str, stamp: &Stamp, what: &What) {
        let before = self.watched_in(what).map(|id| self.before(id));
        let kept = self.state.discrepancies.len();
        evolve(&mut self.state, stamp, what);
        if self.state.discrepancies[kept..].iter().any(|found| !found.counted) {
            return;
        }
        match what {
            What::Tasted(tasted) => {
                if let (Some(score), Some(id)) = (tasted.score, self.barrel(&tasted.vessel)) {
                    self.taste(by, id, score, stamp.at);
                }
            }
            What::Tested(tested) => self.test(tested, stamp.at),
            What::Treated(treated) => self.end(&treated.vessel, &[Measure::SulfurFall]),
            What::WineMoved(moved) => self.end(&moved.to, &Measure::OF_KEEPING),
            What::WineReceived(received) => self.end(&received.vessel, &Measure::OF_KEEPING),
            _ => {}
        }
        if let Some(before) = before {
            self.watch(&before, stamp.at, what);
        }
    }

    /// A barrel with wine of a lot in it.
    fn barrel(&self, label: &Label) -> Option<VesselId> {
        let id = self.state.vessels.find(label.as_str())?;
        let vessel = self.state.vessels.get(id);
        (vessel.vessel_type == VesselType::Barrel && vessel.lot.is_some()).then_some(id)
    }

    fn is_asked(&self, lot: LotId, at: Moment) -> bool {
        let since = self.asked.since.is_none_or(|since| since.instant() <= at.instant());
        since && (self.asked.lots.is_empty() || self.asked.lots.contains(&self.state.lots.get(lot).label))
    }

    fn taste(&mut self, by: &str, id: VesselId, score: f64, at: Moment) {
        let vessel = self.state.vessels.get(id);
        let Some(lot) = vessel.lot.filter(|&lot| self.is_asked(lot, at)) else { return };
        let filling = (id, vessel.fills);
        let next = self.tasters.len();
        let taster = *self.tasters.entry(by.to_owned()).or_insert(next);
        let side = Side::Sitting(taster, lot, at.date());
        self.observed.push(Observed { measure: Measure::Score, value: score, side, lot: lot.index(), filling });
    }

    /// A test of one barrel alone: a composite says nothing of one.
    fn test(&mut self, tested: &Tested, at: Moment) {
        let drawn = || {
            let sample = self.state.samples.by_label(tested.sample.as_ref()?.as_str())?;
            let [drawn] = sample.drawn[..] else { return None };
            Some((self.state.vessels.get(drawn.vessel).label.clone(), drawn.at))
        };
        let Some((label, at)) = tested.vessel.clone().map(|vessel| (vessel, at)).or_else(drawn) else { return };
        let Some(id) = self.barrel(&label) else { return };
        for measure in Measure::OF_KEEPING {
            let found = match measure {
                Measure::AcidRise => tested.readings.va_g_l,
                _ => tested.readings.free_so2_mg_l,
            };
            let Some(found) = found else { continue };
            let vessel = self.state.vessels.get(id);
            let Some(lot) = vessel.lot.filter(|&lot| self.is_asked(lot, at)) else { continue };
            let begins = Keeping { lot, first: (at, found), last: (at, found) };
            let key = (measure, id, vessel.fills);
            self.keeping.entry(key).or_insert(begins).last = (at, found);
        }
    }

    /// What changes what is tested ends what was kept; the next test begins anew.
    fn end(&mut self, vessel: &Label, measures: &[Measure]) {
        let Some(id) = self.state.vessels.find(vessel.as_str()) else { return };
        let fill = self.state.vessels.get(id).fills;
        for &measure in measures {
            if let Some(keeping) = self.keeping.remove(&(measure, id, fill)) {
                self.keep(measure, (id, fill), &keeping);
            }
        }
    }

    fn keep(&mut self, measure: Measure, filling: (VesselId, u32), keeping: &Keeping) {
        let ((from, first), (to, last)) = (keeping.first, keeping.last);
        let days = to.elapsed_days(from);
        if days < LEAST_DAYS {
            return;
        }
        let risen = (last - first) / days * MONTH_DAYS;
        let value = if measure == Measure::SulfurFall { -risen } else { risen };
        let month = |at: Moment| (at.date().year(), at.date().month());
        let side = Side::Months(measure, keeping.lot, month(from), month(to));
        self.observed.push(Observed { measure, value, side, lot: keeping.lot.index(), filling });
    }

    /// The barrel of which a fact may make the level known, or say that it leaks.
    fn watched_in(&self, what: &What) -> Option<VesselId> {
        let label = match what {
            What::Topped(topped) => &topped.vessel,
            What::Gauged(gauged) => &gauged.vessel,
            What::Lost(lost) if lost.cause == LossCause::Leak => &lost.vessel,
            _ => return None,
        };
        self.barrel(label)
    }

    fn before(&self, id: VesselId) -> Before {
        let vessel = self.state.vessels.get(id);
        Before { id, fill: vessel.fills, known: vessel.level_known, leaks: self.state.leak(vessel).is_some() }
    }

    fn watch(&mut self, before: &Before, at: Moment, what: &What) {
        let vessel = self.state.vessels.get(before.id);
        let Some(lot) = vessel.lot.filter(|_| vessel.fills == before.fill) else { return };
        if !self.is_asked(lot, at) {
            return;
        }
        let began = !before.leaks && self.state.leak(vessel).is_some();
        let days =
            before.known.filter(|_| vessel.level_known != before.known).map_or(0.0, |known| at.elapsed_days(known));
        let watched = self.watched.entry((before.id, before.fill));
        let watched = watched.or_insert(Watched { days: 0.0, leaked: false });
        watched.days += days.max(0.0);
        watched.leaked |= began || matches!(what, What::Lost(_));
    }

    /// What a barrel of 225 L would lose in a year in its room, by what the estimate believes of its thirst.
    fn drawn(&self, id: VesselId, vessel: &Vessel) -> Option<Observed> {
        let lot = vessel.lot.filter(|_| vessel.vessel_type == VesselType::Barrel && vessel.kept_full)?;
        let is_known = vessel.thirst.findings() >= LEAST_FINDINGS;
        let is_asked = self.asked.lots.is_empty() || self.asked.lots.contains(&self.state.lots.get(lot).label);
        let room = vessel.slot.map(|slot| slot.room);
        let level = self.state.rate_of(room).level() * MONTH_DAYS * 12.0;
        (is_known && is_asked).then(|| Observed {
            measure: Measure::Evaporation,
            value: vessel.thirst.factor() * level,
            side: Side::Room(room),
            lot: lot.index(),
            filling: (id, vessel.fills),
        })
    }

    /// What kind of barrel held a filling: its wood as it is known by now, so that a corrected forest is the barrel's from its first day.
    fn kind(&self, (id, fill): (VesselId, u32)) -> Kind {
        kind_of(self.state.vessels.get(id), fill)
    }

    /// What was seen.
    #[must_use]
    pub fn seen(mut self) -> Oak {
        let mut still: Vec<_> = std::mem::take(&mut self.keeping).into_iter().collect();
        // In an order that no hashing decides.
        still.sort_by_key(|((measure, id, fill), _)| (*measure, *id, *fill));
        for ((measure, id, fill), keeping) in still {
            self.keep(measure, (id, fill), &keeping);
        }
        let drawn: Vec<Observed> =
            self.state.vessels.iter().filter_map(|(id, vessel)| self.drawn(id, vessel)).collect();
        self.observed.extend(drawn);
        let mut oak = Oak { tasters: self.tasters.len(), ..Oak::default() };
        let (mut sides, mut fillings) = (FxHashMap::default(), FxHashMap::default());
        for one in &self.observed {
            let next = sides.len();
            let sitting = *sides.entry(one.side).or_insert(next);
            let next = fillings.len();
            let filling = *fillings.entry(one.filling).or_insert(next);
            let barrel = one.filling.0.index();
            oak.add(one.measure, one.value, (sitting, one.lot), (barrel, filling), &self.kind(one.filling));
        }
        let mut watched: Vec<_> = self.watched.iter().collect();
        watched.sort_by_key(|(filling, _)| **filling);
        for (&filling, it) in watched {
            let rate = LeakRate { leaks: usize::from(it.leaked), barrel_years: it.days / (MONTH_DAYS * 12.0) };
            oak.add_leaks(&self.kind(filling), rate);
        }
        for (_, vessel) in self.state.vessels.iter().filter(|(_, vessel)| vessel.vessel_type == VesselType::Barrel) {
            oak.add_price(&kind_of(vessel, vessel.fills), vessel.wood.price);
        }
        oak
    }
}
