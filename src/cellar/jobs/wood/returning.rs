//! Rack and return: wine that was racked off its lees into a tank goes back into the barrels that it came from.
//!
//! **Rack and return** (`cellar/jobs/wood/returning.rs`) fills the same barrels full in walking order, as the walk does: what lees took is
//! missing in the last, and a barrel that would be filled to less than half stays empty. A vessel remembers the barrels that were racked
//! into it until it is emptied or they get wine of it back; how much each gave is no matter.

use rustc_hash::FxHashSet;

use crate::cellar::core::book;
use crate::cellar::core::label::Label;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::floor::work::{StopSet, TaskSet, WorkSet};
use crate::cellar::jobs::wood::moving::Purpose;
use crate::units::{Volume, counted, litres};

/// A barrel that would be filled to less than this part stays empty (our choice).
const LEAST_SHARE: u64 = 2;

/// The barrels that a tank's wine goes back into.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Return {
    /// The tank.
    pub tank: VesselId,
    /// The barrels in walking order, each with what fills it, the last with what is left.
    pub stops: Vec<(VesselId, Volume)>,
    /// Barrels that were racked into the tank and take nothing back: they hold wine, are held or retired, or are to be filled in an open work.
    pub left_out: Vec<VesselId>,
    /// Empty barrels for which not enough wine is left.
    pub without: Vec<VesselId>,
    /// What the last barrel lacks then.
    pub short: Volume,
    /// What stays in the tank.
    pub stays: Volume,
}

impl Return {
    /// The fact that begins it.
    #[must_use]
    pub fn begin(&self, state: &State, work: Label) -> WorkSet {
        let label = |id: VesselId| state.vessels.get(id).label.clone();
        let stops = self.stops.iter().map(|&(id, volume)| StopSet { volume, ..StopSet::of(label(id)) }).collect();
        WorkSet { work, task: TaskSet::BarrelDown { from: label(self.tank), lot: None }, stops }
    }

    /// What goes back into how many barrels, and what stays.
    #[must_use]
    pub fn words(&self) -> String {
        let (barrels, all) = (counted(self.stops.len(), "barrel"), self.stops.iter().map(|(_, volume)| *volume).sum());
        let stays = if self.stays.is_zero() { "nothing".to_owned() } else { litres(self.stays) };
        format!("Back into the same {barrels}: {}; {stays} stays in the tank.", litres(all))
    }

    /// The barrels that take nothing back, with why in a few words.
    pub fn not_filled(&self) -> impl Iterator<Item = (&'static str, &[VesselId])> {
        let reasons = [
            ("Left out, with wine in them, held, retired or in an open work order", &self.left_out),
            ("Not enough wine is left for", &self.without),
        ];
        reasons.into_iter().map(|(why, barrels)| (why, barrels.as_slice())).filter(|(_, barrels)| !barrels.is_empty())
    }

    /// What the last barrel lacks, where it lacks anything. Lees and losses are missing at the end.
    #[must_use]
    pub fn short_words(&self, state: &State) -> Option<String> {
        let (last, volume) = self.stops.last().filter(|_| !self.short.is_zero())?;
        let (last, volume, short) = (&state.vessels.get(*last).label, litres(*volume), litres(self.short));
        Some(format!("The last, {last}, gets {volume} and lacks {short}: top it from elsewhere."))
    }
}

impl State {
    /// Whether a vessel holds wine of which a barrel that was racked into it stands empty.
    #[must_use]
    pub fn can_return(&self, tank: VesselId) -> bool {
        let there = self.vessels.get(tank);
        !there.wine.is_empty() && there.racked_from.iter().any(|&id| self.vessels.get(id).wine.is_empty())
    }

    /// Plans the return of what was racked into a tank since it was last empty: the same barrels are filled in walking order, as long as
    /// there is wine that no open work is still to take. Refused where no barrel can take anything back.
    pub fn plan_return(&self, tank: VesselId) -> Result<Return, Refusal> {
        let there = self.vessels.get(tank);
        if there.wine.is_empty() {
            return Err(Refusal::SourceEmpty(there.label.clone()));
        }
        let to_fill = self.still_to_fill();
        let can = |id: &VesselId| {
            let vessel = self.vessels.get(*id);
            vessel.wine.is_empty() && vessel.held.is_none() && vessel.retired.is_none() && !to_fill.contains(id)
        };
        let (back, left_out): (Vec<VesselId>, Vec<VesselId>) = there.racked_from.iter().copied().partition(can);
        let back: FxHashSet<VesselId> = back.into_iter().collect();
        let mut left = there.volume().saturating_sub(self.promised(tank));
        let (mut stops, mut without, mut short) = (Vec::new(), Vec::new(), Volume::ZERO);
        for id in self.in_walking_order().filter(|id| back.contains(id)) {
            let capacity = self.vessels.get(id).capacity;
            let volume = capacity.min(left);
            // A barrel that wine only covers the bottom of spoils it: what is left stays in the tank then.
            if volume.as_ul() < capacity.as_ul() / LEAST_SHARE {
                without.push(id);
            } else {
                left = left.saturating_sub(volume);
                short = capacity.saturating_sub(volume);
                stops.push((id, volume));
            }
        }
        if stops.is_empty() {
            return Err(Refusal::NothingToReturn(there.label.clone()));
        }
        Ok(Return { tank, stops, left_out, without, short, stays: left })
    }

    /// Remembers which barrel was racked into a vessel, until that is emptied or the barrel gets wine of it back.
    pub(in crate::cellar) fn remember_racked_from(&mut self, purpose: Purpose, from: VesselId, into: VesselId) {
        if self.vessels.get(from).racked_from.contains(&into) {
            self.vessels.get_mut(from).racked_from.retain(|&barrel| barrel != into);
        }
        let racked = purpose == Purpose::Racking && book::is_wood(self.vessels.get(from));
        if racked && !self.vessels.get(into).racked_from.contains(&from) {
            self.vessels.get_mut(into).racked_from.push(from);
        }
    }
}
