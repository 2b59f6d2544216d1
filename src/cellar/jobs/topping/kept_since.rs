//! Since when things are written down: what lies before is no evidence of anything.
//!
//! A cellar that takes its barrels into a book does not begin there: they were filled and topped before, and nobody wrote it down.
//! What the first topping finds missing went in a time that nobody knows. It says nothing of what the barrel or its room draws, of
//! leaks or of intervals, and it is no loss of the period in which it was found.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use crate::cellar::core::day::Day;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, RoomId, State, Vessel, VesselId};

/// What is written down from a moment on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Recorded {
    /// When barrels were topped, and with how much.
    Toppings,
    /// All that happens in the cellar, toppings among it.
    All,
}

/// The fact `kept_since`: before it nothing of that was written down, in the whole cellar or in a part of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct KeptSince {
    /// What is written down from here on.
    pub what: Recorded,
    /// The room that is meant, if it is one.
    #[serde(default)]
    pub room: Option<Label>,
    /// The lot that is meant, if it is one.
    #[serde(default)]
    pub lot: Option<Label>,
    /// The vessel that is meant, if it is one.
    #[serde(default)]
    pub vessel: Option<Label>,
    /// The day on which they were last topped, where that is known all the same: brimful then, they are as if that topping were written down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub topped_on: Option<Day>,
}

impl KeptSince {
    /// When they were last brimful, by the clock of when that came into the book; none where it is not known, or the day had not come.
    fn brimful(&self, at: Moment) -> Option<Moment> {
        self.topped_on.filter(|day| day.date() <= at.date()).map(|day| at.on_day(day.date()))
    }
}

/// What a part of the cellar is, looked up: all that is named must be so.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Part {
    room: Option<RoomId>,
    lot: Option<LotId>,
    vessel: Option<VesselId>,
}

impl Part {
    fn has(&self, id: VesselId, vessel: &Vessel) -> bool {
        let lies_there = self.room.is_none_or(|room| vessel.slot.is_some_and(|slot| slot.room == room));
        let holds_it = self.lot.is_none_or(|lot| vessel.lot == Some(lot));
        lies_there && holds_it && self.vessel.is_none_or(|only| only == id)
    }
}

/// Wine that comes into the book where it lies already, with the day on which its vessel was last topped where that is known.
#[derive(Clone, Copy, Debug)]
pub struct LiesAlready<'a> {
    /// In which vessel.
    pub vessel: &'a Label,
    /// Of which lot.
    pub lot: &'a Label,
    /// The day.
    pub topped_on: Option<Day>,
}

/// What it means where no day is known.
pub const NOT_KNOWN: &str = "is taken as not known: what their first topping finds missing is no loss of this cellar's, and nothing is learned from it.";

impl State {
    /// That nothing was written down of some wine before it came into the book, and when it was last topped where that is known: a fact for
    /// each lot that is new, if one holds for all of it, else for each vessel that is kept full. Each stands beside the place of the wine that it comes after.
    #[must_use]
    pub fn not_recorded(&self, lying: &[LiesAlready<'_>]) -> Vec<(usize, KeptSince)> {
        let is_topped =
            |wine: &LiesAlready<'_>| self.vessels.by_label(wine.vessel.as_str()).is_some_and(|it| it.kept_full);
        let mut days: BTreeMap<&str, BTreeSet<Option<Day>>> = BTreeMap::new();
        for wine in lying.iter().filter(|wine| is_topped(wine)) {
            days.entry(wine.lot.as_str()).or_default().insert(wine.topped_on);
        }
        // Of a lot that is here already more may be known of its other barrels.
        let as_a_lot = |lot: &str| self.lots.find(lot).is_none() && days.get(lot).is_some_and(|days| days.len() == 1);
        let mut told: BTreeSet<&str> = BTreeSet::new();
        let mut facts = Vec::new();
        for (place, wine) in lying.iter().enumerate().filter(|(_, wine)| is_topped(wine)) {
            let whole_lot = as_a_lot(wine.lot.as_str());
            if whole_lot && !told.insert(wine.lot.as_str()) {
                continue;
            }
            let (lot, vessel) =
                if whole_lot { (Some(wine.lot.clone()), None) } else { (None, Some(wine.vessel.clone())) };
            let topped_on = wine.topped_on;
            facts.push((place, KeptSince { what: Recorded::Toppings, room: None, lot, vessel, topped_on }));
        }
        facts
    }
}

impl Job for KeptSince {
    type Ready = Part;

    fn ready(&self, state: &State) -> Result<Part, Refusal> {
        Ok(Part {
            room: self.room.as_ref().map(|room| state.room(room)).transpose()?,
            lot: self.lot.as_ref().map(|lot| state.lot(lot)).transpose()?,
            vessel: self.vessel.as_ref().map(|vessel| state.vessel(vessel)).transpose()?,
        })
    }

    fn questions(&self, _state: &State, _part: &Part, at: Moment) -> Vec<Question> {
        let ahead = self.topped_on.filter(|day| day.date() > at.date());
        ahead.map(|topped_on| Question::ToppedAhead { topped_on, on: Day::of(at.date()) }).into_iter().collect()
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, part: Part) {
        let brimful = self.brimful(stamp.at);
        let is_meant = |(id, vessel): &(VesselId, &Vessel)| {
            part.has(*id, vessel) && vessel.kept_full && vessel.retired.is_none() && !vessel.wine.is_empty()
        };
        let meant: Vec<VesselId> = match part.vessel {
            Some(id) => Some(id).filter(|&id| is_meant(&(id, state.vessels.get(id)))).into_iter().collect(),
            None => state.vessels.iter().filter(is_meant).map(|(id, _)| id).collect(),
        };
        for id in meant {
            state.vessels.get_mut(id).level_was_not_recorded(stamp.at, brimful);
        }
    }

    fn about(&self) -> Option<&Label> {
        self.vessel.as_ref().or(self.lot.as_ref()).or(self.room.as_ref())
    }
}
