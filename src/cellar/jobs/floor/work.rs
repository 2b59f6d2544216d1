//! Work: a piece of work on many barrels that is laid out, walked and ticked: racking to a tank, barrel-down, sulfuring,
//! care of empty wood.
//!
//! A work is set once with its barrels in walking order. What is done is said by the facts of the work itself (a move of
//! wine, an addition, a care): a fact that fits an open work ticks its barrel off, as a topping ticks it off in the
//! round of its room. So a work can be left, resumed, undone and shared like everything else.
//!
//! **A work is ticked by what is done**: a move, an addition or a care that fits an open work ticks its barrel off, as a topping does in
//! the round of its room. So a work is left, resumed, undone and merged like all else, and no deed has to name it.
//!
//! **A barrel is to do in one open work of a kind only**: `plan racking` and `plan care` refuse it in a second, whose stops the first would
//! tick off.
//!
//! **What open works are still to take** of a vessel (`State::promised`) is what they lack for their barrels and what their blends have not
//! drawn. Every plan leaves it to them; a blend that is walked leaves them theirs too.

mod open;

use std::sync::Arc;

use rustc_hash::FxHashSet;
use serde::{Deserialize, Serialize};

use crate::cellar::core::book;
use crate::cellar::core::doing::{Doing, Within};
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, VesselId, Work, WorkId};
use crate::cellar::jobs::bench::assemblage::{self, Aim, AimSet};
use crate::cellar::jobs::tests::treating::Treated;
use crate::cellar::jobs::wood::care::Care;
use crate::reckon::material::Class;
use crate::reckon::scale_up::Tolerance;
use crate::units::{Mass, Shares, Volume};

/// The fact `work_set`: a piece of work was laid out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WorkSet {
    /// The work's label.
    pub work: Label,
    /// What is done.
    #[serde(flatten)]
    pub task: TaskSet,
    /// Where, in walking order.
    pub stops: Vec<StopSet>,
}

/// What a work does to each of its barrels, by labels.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "task", rename_all = "snake_case")]
pub enum TaskSet {
    /// The barrels are racked into a vessel.
    Racking {
        /// The vessel that the wine comes into.
        to: Label,
        /// The lot that it is there; the barrels' own where it is not said.
        #[serde(default)]
        lot: Option<Label>,
    },
    /// The barrels are filled from a vessel.
    BarrelDown {
        /// The vessel that the wine comes from.
        from: Label,
        /// The lot that it is in the barrels; the vessel's own where it is not said.
        #[serde(default)]
        lot: Option<Label>,
    },
    /// Something is added to each.
    Treating {
        /// What.
        material: Label,
    },
    /// The empty barrels are cared for.
    Caring {
        /// How.
        care: Care,
    },
    /// The wines of several vessels are blended in one; what it holds already is a stop of its own.
    Blending {
        /// The vessel that the wines come into.
        into: Label,
        /// The lot that the blend is.
        lot: Label,
        /// The ratio, a share a wine; that of the litres where it is not said.
        #[serde(default, rename = "shares_ppm", skip_serializing_if = "Option::is_none")]
        shares: Option<Shares>,
        /// By how much a share may differ at the end; the usual where it is not said.
        #[serde(default, rename = "tolerance_ppm", skip_serializing_if = "Option::is_none")]
        tolerance: Option<Tolerance>,
    },
}

/// A barrel of a work as it is set.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StopSet {
    /// Which barrel.
    pub vessel: Label,
    /// What is expected to move, or the volume of solution that is added.
    #[serde(default, rename = "volume_ul", skip_serializing_if = "none_of_it")]
    pub volume: Volume,
    /// How much of the material.
    #[serde(default, rename = "amount_ug", skip_serializing_if = "none_of_it")]
    pub amount: Mass,
    /// Lees and the wine lost with them, expected.
    #[serde(default, rename = "lees_ul", skip_serializing_if = "none_of_it")]
    pub lees: Volume,
    /// Which wine of a blend it holds, counted from 0; one of its own where it is not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub component: Option<u32>,
    /// What a blend must leave in it.
    #[serde(default, rename = "keep_ul", skip_serializing_if = "none_of_it")]
    pub keep: Volume,
    /// Whether nothing is left behind where it gives all that it can to a blend.
    #[serde(default, skip_serializing_if = "none_of_it")]
    pub empties: bool,
}

impl StopSet {
    /// A barrel of which nothing more need be said.
    #[must_use]
    pub fn of(vessel: Label) -> StopSet {
        StopSet {
            vessel,
            volume: Volume::ZERO,
            amount: Mass::default(),
            lees: Volume::ZERO,
            component: None,
            keep: Volume::ZERO,
            empties: false,
        }
    }
}

/// Whether a quantity need not be written.
fn none_of_it<T: Default + PartialEq>(quantity: &T) -> bool {
    *quantity == T::default()
}

/// The fact `work_ended`: a work is closed, done or not.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WorkEnded {
    /// Which work.
    pub work: Label,
    /// Why, where it was not finished.
    #[serde(default)]
    pub why: Option<Text>,
}

/// What a work does to each of its barrels.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Task {
    /// The barrels are racked into a vessel.
    Racking {
        /// The vessel that the wine comes into.
        to: VesselId,
        /// The lot that it is there.
        lot: Option<LotId>,
    },
    /// The barrels are filled from a vessel.
    BarrelDown {
        /// The vessel that the wine comes from.
        from: VesselId,
        /// The lot that it is in the barrels.
        lot: Option<LotId>,
    },
    /// Something is added to each.
    Treating {
        /// What.
        material: Label,
    },
    /// The empty barrels are cared for.
    Caring {
        /// How.
        care: Care,
    },
    /// The wines of several vessels are blended in one.
    Blending {
        /// The vessel that the wines come into.
        into: VesselId,
        /// The lot that the blend is.
        lot: LotId,
        /// What it is to come to.
        aim: Arc<Aim>,
    },
}

impl Task {
    /// Whether an addition of one of some materials is this work.
    pub(in crate::cellar) fn adds_one_of(&self, added: &[Label]) -> bool {
        matches!(self, Task::Treating { material } if added.contains(material))
    }

    /// Whether a care is this work.
    pub(in crate::cellar) fn cares(&self, given: Care) -> bool {
        matches!(self, Task::Caring { care } if *care == given)
    }

    /// Whether wine that comes into a vessel is this work.
    pub(in crate::cellar) fn racks_into(&self, vessel: VesselId) -> bool {
        matches!(self, Task::Racking { to, .. } if *to == vessel)
    }

    /// Whether wine that comes into a vessel to be blended there is this work.
    pub(in crate::cellar) fn blends_into(&self, vessel: VesselId) -> bool {
        matches!(self, Task::Blending { into, .. } if *into == vessel)
    }

    /// Whether wine that comes from a vessel is this work.
    pub(in crate::cellar) fn fills_from(&self, vessel: VesselId) -> bool {
        matches!(self, Task::BarrelDown { from, .. } if *from == vessel)
    }
}

/// A barrel of a work.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stop {
    /// Which barrel.
    pub vessel: VesselId,
    /// What is expected to move, or the volume of solution that is added.
    pub volume: Volume,
    /// How much of the material.
    pub amount: Mass,
    /// Lees and the wine lost with them, expected.
    pub lees: Volume,
    /// What was done there; nothing yet where none.
    pub tick: Option<Tick>,
}

/// What was done at a barrel of a work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Tick {
    /// It is done; so much moved in all, or was added.
    Done(Volume),
    /// It was left out on purpose.
    Skipped,
}

/// How far a work has come.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct WorkProgress {
    /// Barrels that are done.
    pub done: usize,
    /// Barrels in all.
    pub of: usize,
    /// Barrels that were left out on purpose.
    pub skipped: usize,
    /// What moved, or was added, so far.
    pub moved: Volume,
    /// What is expected of the barrels that are not done.
    pub to_come: Volume,
}

impl Work {
    /// How far it has come.
    #[must_use]
    pub fn progress(&self) -> WorkProgress {
        let mut progress = WorkProgress { of: self.stops.len(), ..WorkProgress::default() };
        for stop in self.stops.iter() {
            match stop.tick {
                Some(Tick::Done(moved)) => {
                    progress.done += 1;
                    progress.moved += moved;
                }
                Some(Tick::Skipped) => progress.skipped += 1,
                None => progress.to_come += stop.volume,
            }
        }
        progress
    }

    /// The stop of a barrel.
    #[must_use]
    pub fn stop(&self, vessel: VesselId) -> Option<&Stop> {
        self.stops.iter().find(|stop| stop.vessel == vessel)
    }

    /// The next barrel to do after one, in walking order and round again; when none is left, the next that was skipped.
    #[must_use]
    pub fn next_after(&self, vessel: Option<VesselId>) -> Option<VesselId> {
        let start = self.stops.iter().position(|stop| Some(stop.vessel) == vessel).map_or(0, |at| at + 1);
        let ahead = || self.stops[start..].iter().chain(&self.stops[..start]);
        let left = |stop: &&Stop| stop.tick.is_none();
        let skipped = |stop: &&Stop| stop.tick == Some(Tick::Skipped) && Some(stop.vessel) != vessel;
        ahead().find(left).or_else(|| ahead().find(skipped)).map(|stop| stop.vessel)
    }
}

impl State {
    /// A label for a work that is set at a moment: what it is, and the date.
    #[must_use]
    pub fn new_work_label(&self, what: &str, at: Moment) -> Option<Label> {
        Label::dated(what, at, |label| self.works.find(label).is_some())
    }

    /// The work of a label.
    pub fn work(&self, label: &Label) -> Result<WorkId, Refusal> {
        self.works.find(label.as_str()).ok_or_else(|| Refusal::UnknownWork(label.clone()))
    }

    /// The work of a label, if it is open.
    pub(in crate::cellar) fn running_work(&self, label: &Label) -> Result<WorkId, Refusal> {
        let id = self.work(label)?;
        match self.works.get(id).ended {
            Some(_) => Err(Refusal::WorkEnded(label.clone())),
            None => Ok(id),
        }
    }

    /// Ticks a barrel off in the first open work that a fact fits, and says which it is. Where the barrel is done in all of
    /// them it is the first of those; what is done there again adds up.
    pub(in crate::cellar) fn tick(
        &mut self,
        vessel: VesselId,
        fits: impl Fn(&Task) -> bool,
        done: Volume,
    ) -> Option<WorkId> {
        // Nearly always nothing is open.
        let mut found: Option<(WorkId, usize, Volume)> = None;
        for &id in &self.open_works {
            let work = self.works.get(id);
            if !fits(&work.task) {
                continue;
            }
            let Some(index) = work.stops.iter().position(|stop| stop.vessel == vessel) else { continue };
            match work.stops[index].tick {
                Some(Tick::Done(before)) => found = found.or(Some((id, index, before))),
                None | Some(Tick::Skipped) => {
                    found = Some((id, index, Volume::ZERO));
                    break;
                }
            }
        }
        let (id, index, before) = found?;
        Arc::make_mut(&mut self.works.get_mut(id).stops)[index].tick = Some(Tick::Done(before + done));
        Some(id)
    }

    /// The open work in which a vessel is done by what a fact fits; none where some open work has that still to be done, or none is
    /// open.
    pub(in crate::cellar) fn done_already(&self, vessel: VesselId, fits: impl Fn(&Task) -> bool) -> Option<&Work> {
        let works = self.open_works.iter().map(|&id| self.works.get(id)).filter(|work| fits(&work.task));
        let mut found = None;
        for work in works {
            match work.stop(vessel).map(|stop| stop.tick) {
                Some(Some(Tick::Done(_))) => found = found.or(Some(work)),
                Some(None | Some(Tick::Skipped)) => return None,
                None => {}
            }
        }
        found
    }

    /// Remembers what a fact did at a vessel as a step of a work.
    pub(in crate::cellar) fn did_step(
        &mut self,
        work: Option<WorkId>,
        vessel: VesselId,
        stamp: &Stamp,
        (volume, amount): (Volume, Mass),
    ) {
        if let Some(work) = work {
            let (id, at, within) = (stamp.id.clone(), stamp.at, Within::Work(work));
            self.did(vessel, Doing { id, at, within, volume, amount, done: true });
        }
    }

    /// Leaves a barrel of a work out on purpose.
    pub(in crate::cellar) fn skip_in_work(&mut self, work: WorkId, vessel: VesselId) {
        let work = self.works.get_mut(work);
        let open = |stop: &&mut Stop| stop.vessel == vessel && stop.tick.is_none();
        if let Some(stop) = Arc::make_mut(&mut work.stops).iter_mut().find(open) {
            stop.tick = Some(Tick::Skipped);
        }
    }
}

impl TaskSet {
    fn looked_up(&self, state: &State, stops: &[StopSet]) -> Result<Task, Refusal> {
        let lot = |lot: &Option<Label>| lot.as_ref().map(|label| state.lot(label)).transpose();
        Ok(match self {
            TaskSet::Racking { to, lot: named } => Task::Racking { to: state.vessel(to)?, lot: lot(named)? },
            TaskSet::BarrelDown { from, lot: named } => {
                Task::BarrelDown { from: state.vessel(from)?, lot: lot(named)? }
            }
            TaskSet::Treating { material } => Task::Treating { material: material.clone() },
            TaskSet::Caring { care } => Task::Caring { care: *care },
            TaskSet::Blending { into, lot, shares, tolerance } => {
                AimSet { into, lot, shares: shares.as_ref(), tolerance: *tolerance }.task(state, stops)?
            }
        })
    }
}

/// What the stops of a work are to be given, as it will be entered; nothing where it adds nothing.
fn additions<'a>(
    state: &'a State,
    task: &'a Task,
    stops: &'a [Stop],
) -> impl Iterator<Item = (VesselId, Treated)> + 'a {
    let material = match task {
        Task::Treating { material } => Some(material),
        _ => None,
    };
    material.into_iter().flat_map(move |material| {
        let planned = move |stop: &Stop| {
            let label = state.vessels.get(stop.vessel).label.clone();
            (stop.vessel, Treated::planned(label, material.clone(), stop.amount, stop.volume))
        };
        stops.iter().map(planned)
    })
}

impl Job for WorkSet {
    type Ready = (Task, Vec<Stop>);

    fn ready(&self, state: &State) -> Result<Self::Ready, Refusal> {
        if state.works.find(self.work.as_str()).is_some() {
            return Err(Refusal::LabelTaken { what: "A work", label: self.work.clone() });
        }
        if self.stops.is_empty() {
            return Err(Refusal::NoStops(self.work.clone()));
        }
        let stop = |set: &StopSet| {
            Ok(Stop {
                vessel: state.vessel(&set.vessel)?,
                volume: set.volume,
                amount: set.amount,
                lees: set.lees,
                tick: None,
            })
        };
        Ok((self.task.looked_up(state, &self.stops)?, self.stops.iter().map(stop).collect::<Result<_, Refusal>>()?))
    }

    fn doubt(&self, state: &State, (task, stops): &Self::Ready) -> Option<Refusal> {
        let mut seen = FxHashSet::default();
        let twice = stops.iter().zip(&self.stops).find(|(stop, _)| !seen.insert(stop.vessel));
        let twice = twice.map(|(_, set)| Refusal::StopTwice { work: self.work.clone(), vessel: set.vessel.clone() });
        twice.or_else(|| assemblage::doubt(state, task, stops))
    }

    fn slip(&self, state: &State, (task, stops): &Self::Ready) -> Option<Refusal> {
        let beyond = stops.iter().find_map(|stop| book::doubt_volume(state.vessels.get(stop.vessel), stop.volume));
        let slip = |(id, addition): (VesselId, Treated)| addition.slip(state, &id);
        let beyond = beyond.or_else(|| additions(state, task, stops).find_map(slip));
        if beyond.is_some() {
            return beyond;
        }
        let Task::Blending { into, lot, .. } = task else { return None };
        state.why_not_blend_into(*into, Some(*lot), stops.iter().any(|stop| stop.vessel == *into))
    }

    fn questions(&self, state: &State, (task, stops): &Self::Ready, at: Moment) -> Vec<Question> {
        let Task::Treating { material } = task else { return Vec::new() };
        let much = additions(state, task, stops).flat_map(|(id, it)| {
            let figures = it.asks_of_figures(state, id, at);
            it.asks_of_much(state.vessels.get(id)).into_iter().chain(figures)
        });
        let vessels: Vec<VesselId> = stops.iter().map(|stop| stop.vessel).collect();
        let organic = state.asks_of_organic(&vessels, material);
        let asked = state.material_questions(material).into_iter().chain(organic).chain(much).collect();
        Question::of_the_highest_total(asked)
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, (task, mut stops): Self::Ready) {
        if let Task::Treating { material } = &task {
            state.remember_material(material, Class::Other);
        }
        if let Task::Blending { into, .. } = task {
            assemblage::in_place(state, into, &mut stops);
        }
        let id = state.works.add(Work {
            label: self.work.clone(),
            task,
            stops: Arc::new(stops),
            begun: stamp.at,
            ended: None,
            done: 0,
        });
        state.open_works.push(id);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.work)
    }
}

impl Job for WorkEnded {
    type Ready = WorkId;

    fn ready(&self, state: &State) -> Result<WorkId, Refusal> {
        state.running_work(&self.work)
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: WorkId) {
        state.open_works.retain(|&open| open != id);
        let work = state.works.get_mut(id);
        work.done = u32::try_from(work.progress().done).unwrap_or(u32::MAX);
        // Of a closed work only what was not done is kept, or ten years of work would outweigh the cellar. A blend is of few
        // vessels, and what each gave is looked up later.
        let keeps_all = matches!(work.task, Task::Blending { .. });
        let left = |stop: &Stop| keeps_all || !matches!(stop.tick, Some(Tick::Done(_)));
        work.stops = Arc::new(work.stops.iter().copied().filter(left).collect());
        work.ended = Some(stamp.at);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.work)
    }
}
