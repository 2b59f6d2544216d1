//! Finings that were done: an addition of a fining agent, and what racking off its lees cost.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::jobs::finish::filtration::share_of;
use crate::cellar::jobs::floor::lot::Colour;
use crate::reckon::fining;
use crate::reckon::material::{Class, WineColour};
use crate::units::{Mass, Volume};

/// A fining that was done, as the cellar remembers it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FiningDone {
    /// When.
    pub at: Moment,
    /// Which vessel.
    pub vessel: VesselId,
    /// The lot that it held.
    pub lot: Option<LotId>,
    /// The agent.
    pub material: Label,
    /// The batch of it.
    pub batch: Option<Label>,
    /// How much of it.
    pub amount: Mass,
    /// The stock that it came in.
    pub stock: Volume,
    /// The wine that it went into.
    pub wine: Volume,
    /// What was racked or filtered off its lees so far.
    pub racked: Option<RackedOff>,
}

/// What left a fining's lees, and what they kept.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct RackedOff {
    /// When it was racked last.
    pub at: Moment,
    /// What arrived elsewhere.
    pub moved: Volume,
    /// What the lees kept: what the fining cost.
    pub lost: Volume,
}

impl FiningDone {
    /// The dose, g/L.
    #[must_use]
    pub fn dose_g_l(&self) -> f64 {
        let litres = self.wine.as_litres();
        if litres > 0.0 { self.amount.as_grams() / litres } else { 0.0 }
    }
}

impl RackedOff {
    /// What the lees kept, as a share of what lay on them.
    #[must_use]
    pub fn lost_share(&self) -> Option<f64> {
        share_of(self.lost, self.moved)
    }
}

/// The colour of a wine by which doses are held against figures; white where it is not known, for which more are published.
#[must_use]
pub fn colour_of(colour: Option<Colour>) -> WineColour {
    match colour {
        Some(Colour::Red) => WineColour::Red,
        Some(Colour::Rose) => WineColour::Rose,
        Some(Colour::White) | None => WineColour::White,
    }
}

impl State {
    /// Whether a material is a fining agent: one of the trade's, or one that was tried in glasses here.
    #[must_use]
    pub fn is_fining_agent(&self, material: &Label) -> bool {
        self.material(material.as_str()).is_some_and(|meant| meant.class == Class::Fining)
            || self.finings.iter().any(|(_, trial)| trial.material == *material)
    }

    /// The materials that can be tried: those of this house's trials first, then the trade's agents, each once.
    #[must_use]
    pub fn fining_agents(&self) -> Vec<Label> {
        let mut agents: Vec<Label> = Vec::new();
        let houses = self.finings.iter().map(|(_, trial)| trial.material.clone());
        let trades = fining::agents().filter_map(|agent| Label::new(agent.name()).ok());
        for agent in houses.chain(trades) {
            if !agents.contains(&agent) {
                agents.push(agent);
            }
        }
        agents
    }

    /// The finings of a lot, in their order.
    pub fn finings_of(&self, lot: LotId) -> impl Iterator<Item = &FiningDone> {
        self.finings_done.iter().filter(move |done| done.lot == Some(lot))
    }

    /// The finings done to a vessel's present wine, in their order.
    fn finings_in(&self, vessel: VesselId) -> impl DoubleEndedIterator<Item = usize> + '_ {
        let filled = self.vessels.get(vessel).filled.map(Moment::instant);
        let done = &self.finings_done;
        let of_this_fill = done.iter().rev().take_while(|it| filled.is_some_and(|at| it.at.instant() >= at)).count();
        (done.len() - of_this_fill..done.len()).filter(move |&index| done[index].vessel == vessel)
    }

    /// Remembers an addition that is a fining.
    pub(in crate::cellar) fn remember_fining(&mut self, done: FiningDone) {
        if self.is_fining_agent(&done.material) {
            Arc::make_mut(&mut self.finings_done).push(done);
        }
    }

    /// Wine leaves a vessel that may have been fined: what the lees kept is what the last fining of its present wine cost.
    pub(in crate::cellar) fn rack_off_fining(&mut self, vessel: VesselId, moved: Volume, kept: Volume, at: Moment) {
        let Some(index) = self.finings_in(vessel).next_back() else { return };
        let racked = &mut Arc::make_mut(&mut self.finings_done)[index].racked;
        let before = racked.map_or((Volume::ZERO, Volume::ZERO), |before| (before.moved, before.lost));
        *racked = Some(RackedOff { at, moved: before.0 + moved, lost: before.1 + kept });
    }
}
