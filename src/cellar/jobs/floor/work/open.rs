//! What open works are still to bring: which vessels they are at, what is still to be filled, and what is promised.

use std::cmp::Reverse;

use rustc_hash::FxHashSet;

use super::{Stop, Task, Tick};
use crate::cellar::core::history::{Event, HistoryLine};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::{LotId, State, VesselId, Work, WorkId};
use crate::units::Volume;

impl State {
    /// The open works, the last touched first: one that was set aside a moment ago is the one to take up.
    #[must_use]
    pub fn open_works_by_touch(&self) -> Vec<WorkId> {
        let mut open = self.open_works.clone();
        open.sort_by_key(|&id| Reverse(self.touched(self.works.get(id))));
        open
    }

    /// When something was last done in a work: the last that its vessels remember of what is done in works, else when it was set.
    fn touched(&self, work: &Work) -> i64 {
        let of_work = |line: &&HistoryLine| {
            matches!(
                line.event,
                Event::MovedIn(_) | Event::MovedOut(_) | Event::Treated(_) | Event::Cared(_) | Event::Skipped
            )
        };
        let ticked = work.stops.iter().filter(|stop| stop.tick.is_some());
        let last = |stop: &Stop| {
            self.vessels.get(stop.vessel).history.lines().rev().find(of_work).map(|line| line.at.instant())
        };
        ticked.filter_map(last).fold(work.begun.instant(), i64::max)
    }

    /// The vessels between which open works still move wine: what they fill, rack from and into, and blend. What lies in them
    /// is on its way, so nothing is topped from it.
    pub(in crate::cellar) fn in_transfer(&self) -> FxHashSet<VesselId> {
        let mut moving = FxHashSet::default();
        for work in self.open_works.iter().map(|&id| self.works.get(id)) {
            let end = match work.task {
                Task::Racking { to: end, .. }
                | Task::BarrelDown { from: end, .. }
                | Task::Blending { into: end, .. } => end,
                Task::Treating { .. } | Task::Caring { .. } => continue,
            };
            moving.insert(end);
            let to_do = work.stops.iter().filter(|stop| !matches!(stop.tick, Some(Tick::Done(_))));
            moving.extend(to_do.map(|stop| stop.vessel));
        }
        moving
    }

    /// The barrels that are still to be filled in open works.
    pub(in crate::cellar) fn still_to_fill(&self) -> FxHashSet<VesselId> {
        let works = self.open_works.iter().map(|&id| self.works.get(id));
        let downs = works.filter(|work| matches!(work.task, Task::BarrelDown { .. }));
        let stops = downs.flat_map(|work| work.stops.iter());
        stops.filter(|stop| stop.tick.is_none()).map(|stop| stop.vessel).collect()
    }

    /// The lot that an open work is still to fill a barrel with; none where none is.
    pub(in crate::cellar) fn to_be_filled_with(&self, barrel: VesselId) -> Option<LotId> {
        let is_open = |work: &&Work| work.stops.iter().any(|stop| stop.vessel == barrel && stop.tick.is_none());
        let mut works = self.open_works.iter().map(|&id| self.works.get(id)).filter(is_open);
        works.find_map(|work| match &work.task {
            Task::BarrelDown { from, lot } => lot.or(self.vessels.get(*from).lot),
            _ => None,
        })
    }

    /// What open works are still to take from a vessel: to fill barrels from it, and into blends.
    pub(in crate::cellar) fn promised(&self, vessel: VesselId) -> Volume {
        self.promised_beside(vessel, None)
    }

    /// What open works but one are still to take from a vessel.
    pub(in crate::cellar) fn promised_beside(&self, vessel: VesselId, but: Option<WorkId>) -> Volume {
        let works = self.open_works.iter().filter(|&&id| Some(id) != but).map(|&id| self.works.get(id));
        works.map(|work| self.still_takes(work, vessel)).sum()
    }

    /// What a work is still to take from a vessel.
    fn still_takes(&self, work: &Work, vessel: VesselId) -> Volume {
        let to_do = work.stops.iter().filter(|stop| stop.tick.is_none());
        match work.task {
            Task::BarrelDown { from, .. } if from == vessel => {
                to_do.map(|stop| self.vessels.get(stop.vessel).book_headspace()).sum()
            }
            Task::Blending { into, .. } if into != vessel => {
                to_do.filter(|stop| stop.vessel == vessel).map(|stop| stop.volume).sum()
            }
            _ => Volume::ZERO,
        }
    }

    /// The words for a material by which open works are to add it: a work of potassium metabisulfite is done with KMBS.
    pub(in crate::cellar) fn materials_to_add_like(&self, added: &Label) -> Vec<Label> {
        let to_add = self.open_works.iter().filter_map(|&id| match &self.works.get(id).task {
            Task::Treating { material } => Some(material),
            _ => None,
        });
        to_add.filter(|material| self.is_same_material(material, added)).cloned().collect()
    }

    /// Whether wine that goes from a vessel into another is racked or blended in an open work.
    pub(in crate::cellar) fn is_planned_move(&self, from: VesselId, to: VesselId) -> bool {
        let plans = |work: &Work| {
            (work.task.racks_into(to) || work.task.blends_into(to)) && work.stops.iter().any(|stop| stop.vessel == from)
        };
        self.open_works.iter().any(|&id| plans(self.works.get(id)))
    }
}
