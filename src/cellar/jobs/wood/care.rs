//! Care of empty wood: what was done to a barrel between two wines, and when it is due again.
//!
//! **Sulfuring is due** at once when a barrel was emptied, then at the house's interval; wood that never held wine is left as it came.
//!
//! **Wood wants** to be rinsed where nothing washed it since it was emptied or sulfured, and soaked where it was wet for longer than a
//! soaking holds. It is said and never refused: many houses do not write such care down.

use serde::{Deserialize, Serialize};

use crate::cellar::core::book;
use crate::cellar::core::doing::{Doing, Twice, Within, twice_unmeasured};
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{RoomId, State, Vessel, VesselId};
use crate::cellar::jobs::floor::work::{StopSet, TaskSet, WorkSet};
use crate::cellar::jobs::topping::is_unsaid;
use crate::units::{Mass, Volume};

/// What is done to empty wood.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Care {
    /// Rinsed with water.
    Rinsed,
    /// Steamed.
    Steamed,
    /// Treated with ozone in water.
    Ozonated,
    /// Sulfur burnt, or gas let in.
    Sulfured,
    /// Swelled with water so that it holds.
    Soaked,
    /// Drained and dried.
    Dried,
}

impl Care {
    /// Every one.
    pub const ALL: [Care; 6] = [Care::Rinsed, Care::Steamed, Care::Ozonated, Care::Sulfured, Care::Soaked, Care::Dried];

    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Care::Rinsed => "rinsed",
            Care::Steamed => "steamed",
            Care::Ozonated => "ozonated",
            Care::Sulfured => "sulfured",
            Care::Soaked => "soaked",
            Care::Dried => "dried",
        }
    }
}

/// The fact `barrel_cared`: something was done to an empty barrel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BarrelCared {
    /// Which barrel.
    pub vessel: Label,
    /// What.
    pub care: Care,
    /// Whether it was given on purpose besides the same care on the same day.
    #[serde(default, skip_serializing_if = "is_unsaid")]
    pub again: bool,
}

/// When each kind of care was last given, since the barrel was last emptied.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct CareGiven {
    // Barrels that are filled were given none, and there are ten thousand of them.
    last: Vec<(Care, Moment)>,
}

impl CareGiven {
    /// When a kind of care was last given.
    #[must_use]
    pub fn last(&self, care: Care) -> Option<Moment> {
        self.last.iter().find(|(given, _)| *given == care).map(|(_, at)| *at)
    }

    fn give(&mut self, care: Care, at: Moment) {
        self.last.retain(|(given, _)| *given != care);
        self.last.push((care, at));
    }
}

impl Vessel {
    /// When a kind of care was last given to its wood since it was last emptied.
    #[must_use]
    pub fn cared(&self, care: Care) -> Option<Moment> {
        self.care.last(care)
    }
}

/// An empty barrel and what its wood needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EmptyWood {
    /// Which barrel.
    pub vessel: VesselId,
    /// Since when it is empty; none where it never held wine here.
    pub since: Option<Moment>,
    /// When it is to be sulfured next: at once after it was emptied, then again at the house's interval (common practice).
    /// None for new wood, which is kept as it came.
    pub sulfuring_due: Option<Moment>,
    /// Whether its last soaking still holds the staves tight; none where it was not soaked.
    pub tight: Option<bool>,
}

/// A day in microseconds.
const DAY: i64 = 86_400_000_000;

impl State {
    /// The empty barrels in walking order, with what their wood needs at a moment.
    pub fn empties(&self, at: Moment) -> impl Iterator<Item = EmptyWood> + '_ {
        let empty = |id: &VesselId| self.vessels.get(*id).wine.is_empty();
        self.barrels_walked().filter(empty).map(move |id| self.empty_wood(id, at))
    }

    fn empty_wood(&self, id: VesselId, at: Moment) -> EmptyWood {
        let vessel = self.vessels.get(id);
        let after = |given: Moment, days: u32| given.at_instant(given.instant() + i64::from(days) * DAY);
        let sulfured = vessel.cared(Care::Sulfured).map(|given| after(given, self.practice.sulfuring_days));
        let soaked = vessel.cared(Care::Soaked).map(|given| after(given, self.practice.soaking_days));
        EmptyWood {
            vessel: id,
            since: vessel.emptied,
            // What came in used was wet once, whoever emptied it: until it is sulfured here it is due.
            sulfuring_due: sulfured.or(vessel.emptied).or((vessel.fills > 0).then_some(at)),
            tight: soaked.map(|until| at.instant() <= until.instant()),
        }
    }

    /// The empty barrels of a room, or of all, that are due for a care, in walking order: sulfuring at its interval, soaking
    /// where the staves are not tight, everything else once after a barrel was emptied.
    #[must_use]
    pub fn due_for(&self, care: Care, room: Option<RoomId>, at: Moment) -> Vec<VesselId> {
        let here = |id: VesselId| room.is_none() || self.vessels.get(id).slot.map(|slot| slot.room) == room;
        let is_due = |wood: &EmptyWood| match care {
            Care::Sulfured => wood.sulfuring_due.is_some_and(|due| due.instant() <= at.instant()),
            Care::Soaked => wood.tight != Some(true),
            Care::Rinsed | Care::Steamed | Care::Ozonated | Care::Dried => {
                wood.since.is_some() && self.vessels.get(wood.vessel).cared(care).is_none()
            }
        };
        self.empties(at).filter(is_due).map(|wood| wood.vessel).filter(|&id| here(id)).collect()
    }

    /// What the wood of an empty barrel wants by the book before wine comes in (common practice): to be rinsed where nothing
    /// washed it since it was emptied or sulfured, and to be soaked where it was wet for longer than a soaking holds.
    #[must_use]
    pub fn wants_before_wine(&self, id: VesselId, at: Moment) -> Vec<Care> {
        let vessel = self.vessels.get(id);
        if !vessel.wine.is_empty() {
            return Vec::new();
        }
        let last = |cares: &[Care]| cares.iter().filter_map(|&care| vessel.cared(care)).max_by_key(|at| at.instant());
        let later =
            |one: Option<Moment>, other: Option<Moment>| one.into_iter().chain(other).max_by_key(|at| at.instant());
        let washed = last(&[Care::Rinsed, Care::Steamed, Care::Ozonated]);
        let soiled = later(vessel.emptied, vessel.cared(Care::Sulfured));
        let clean = soiled.is_none_or(|soiled| washed.is_some_and(|washed| washed.instant() >= soiled.instant()));
        let wet = later(vessel.emptied, vessel.cared(Care::Soaked));
        let holds = i64::from(self.practice.soaking_days) * DAY;
        let tight = wet.is_some_and(|wet| at.instant() <= wet.instant() + holds);
        [(Care::Rinsed, clean), (Care::Soaked, tight)]
            .into_iter()
            .filter(|(_, done)| !done)
            .map(|(care, _)| care)
            .collect()
    }

    /// When an empty barrel was sulfured, where nothing washed it since: its gas comes out when it is filled or rinsed.
    #[must_use]
    pub fn still_sulfured(&self, id: VesselId) -> Option<Moment> {
        let vessel = self.vessels.get(id);
        let sulfured = vessel.cared(Care::Sulfured).filter(|_| vessel.wine.is_empty())?;
        let later = |care| vessel.cared(care).is_some_and(|at| at.instant() > sulfured.instant());
        let washed = [Care::Rinsed, Care::Steamed, Care::Ozonated].into_iter().any(later);
        (!washed).then_some(sulfured)
    }

    /// How many of some empty barrels want a care before wine comes in, in words: `4 not rinsed, 12 not soaked`; none where
    /// none does.
    #[must_use]
    pub fn care_wanted(&self, barrels: &[VesselId], at: Moment) -> Option<String> {
        let wanting = |care| barrels.iter().filter(|&&id| self.wants_before_wine(id, at).contains(&care)).count();
        let counted = [Care::Rinsed, Care::Soaked].map(|care| (care, wanting(care)));
        let told = counted.iter().filter(|(_, count)| *count > 0);
        let told: Vec<String> = told.map(|(care, count)| format!("{count} not {}", care.word())).collect();
        (!told.is_empty()).then(|| told.join(", "))
    }

    /// The fact that sets a caring work over the empty barrels that are due. Refused where none is.
    pub fn plan_care(&self, care: Care, room: Option<RoomId>, work: Label, at: Moment) -> Result<WorkSet, Refusal> {
        let due = self.due_for(care, room, at);
        if due.is_empty() {
            return Err(Refusal::NoCareDue(care.word()));
        }
        self.in_no_other_work(&due, |task| task.cares(care))?;
        let stops = due.iter().map(|&id| StopSet::of(self.vessels.get(id).label.clone())).collect();
        Ok(WorkSet { work, task: TaskSet::Caring { care }, stops })
    }
}

/// Cares in words, as what is not done yet: `not rinsed, not soaked`; none where there are none.
#[must_use]
pub fn not_done(cares: &[Care]) -> Option<String> {
    let words: Vec<String> = cares.iter().map(|care| format!("not {}", care.word())).collect();
    (!words.is_empty()).then(|| words.join(", "))
}

impl Job for BarrelCared {
    type Ready = VesselId;

    fn ready(&self, state: &State) -> Result<VesselId, Refusal> {
        let id = state.vessel(&self.vessel)?;
        if book::is_wood(state.vessels.get(id)) { Ok(id) } else { Err(Refusal::NoWood(self.vessel.clone())) }
    }

    fn doubt(&self, state: &State, &id: &VesselId) -> Option<Refusal> {
        let volume = state.vessels.get(id).volume();
        (!volume.is_zero()).then(|| Refusal::CaredWhileFull { vessel: self.vessel.clone(), volume })
    }

    fn twice(&self, state: &State, ready: Option<&VesselId>, stamp: &Stamp) -> Option<Box<Twice>> {
        let id = *ready.filter(|_| !self.again)?;
        let earlier = state.cared_elsewhere(id, self.care, stamp);
        twice_unmeasured(&self.vessel, self.care.word(), &earlier, stamp)
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: VesselId) {
        let vessel = state.vessels.get_mut(id);
        vessel.care.give(self.care, stamp.at);
        vessel.history.remember(stamp, Event::Cared(self.care));
        state.tick(id, |task| task.cares(self.care), Volume::ZERO);
        let (volume, amount) = (Volume::ZERO, Mass::ZERO);
        let (fact, within) = (stamp.id.clone(), Within::Care(self.care));
        state.did(id, Doing { id: fact, at: stamp.at, within, volume, amount, done: true });
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
