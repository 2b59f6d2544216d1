//! Choosing the vessel to top from: when a round is begun, and when one runs out.

use crate::cellar::label::Label;
use crate::cellar::plan::Plan;
use crate::cellar::state::VesselId;
use crate::cellar::vessel::VesselType;
use crate::cellar::walk::Hose;
use crate::tui::model::Model;

/// Why a vessel is chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum For {
    /// A round begins.
    Begin,
    /// The round that is under way goes on from another one.
    Change,
}

/// The choice.
#[derive(Clone, Debug, PartialEq)]
pub struct SourceChoice {
    /// What it is for.
    pub purpose: For,
    /// What the round is expected to need.
    pub plan: Plan,
    /// The vessels that are offered: those of the plan, then the barrel under the cursor, which would become a topping
    /// vessel, and last those whose wine is suspect.
    pub sources: Vec<VesselId>,
    /// Which of them is chosen.
    pub chosen: usize,
    /// From which of its lines on the page is shown.
    pub line: usize,
}

impl SourceChoice {
    /// The choice for a room as it is now.
    #[must_use]
    pub fn new(model: &Model, purpose: For) -> Option<SourceChoice> {
        let plan = plan(model, purpose, None)?;
        let planned = planned(model, &plan);
        let here = declarable(model).filter(|id| !plan.sources.contains(id));
        let own = plan.sources.iter().copied().chain(here);
        let offered = own.chain(plan.suspect_sources.iter().copied());
        let sources: Vec<VesselId> = offered.collect();
        let chosen = planned.and_then(|from| sources.iter().position(|&source| source == from)).unwrap_or(0);
        Some(SourceChoice { purpose, sources, chosen: 0, line: 0, plan }.at(model, chosen))
    }

    /// The same choice with another line chosen: the plan is that of a walk with the vessel there in hand.
    #[must_use]
    pub fn at(mut self, model: &Model, chosen: usize) -> SourceChoice {
        self.chosen = chosen.min(self.sources.len().saturating_sub(1));
        self.line = 0;
        if let Some(plan) = plan(model, self.purpose, self.vessel()) {
            self.plan = plan;
        }
        self
    }

    /// Whether what is chosen is a barrel that is topped itself, and becomes a topping vessel by that.
    #[must_use]
    pub fn declares(&self, model: &Model) -> bool {
        self.vessel().is_some_and(|id| is_kept_full(model, id))
    }

    /// The lot of the barrel under the cursor where it is not the chosen vessel's and the plan would still top it from another:
    /// whoever chooses that vessel there says that it tops that lot all the same.
    #[must_use]
    pub fn against_the_plan(&self, model: &Model) -> Option<Label> {
        let (here, source) = (model.round().and(model.chosen())?, self.vessel()?);
        let lot = model.state.vessels.get(here).lot?;
        let stop = self.plan.stops.iter().find(|stop| stop.vessel == here)?;
        let is_other = model.state.vessels.get(source).lot != Some(lot) && stop.from != Some(source);
        let same_colour =
            model.state.colour_in(model.state.vessels.get(source)) == Some(model.state.lots.get(lot).colour);
        (is_other && same_colour).then(|| model.state.lots.get(lot).label.clone())
    }

    /// The same choice with a vessel chosen; with none, or where it is no longer offered, there is no choice to go on with.
    #[must_use]
    pub fn choosing(self, model: &Model, vessel: Option<VesselId>) -> Option<SourceChoice> {
        let chosen = self.sources.iter().position(|&source| Some(source) == vessel)?;
        Some(self.at(model, chosen))
    }

    /// The vessel that is chosen.
    #[must_use]
    pub fn vessel(&self) -> Option<VesselId> {
        self.sources.get(self.chosen).copied()
    }
}

/// Whether a vessel is a barrel that is topped itself.
fn is_kept_full(model: &Model, id: VesselId) -> bool {
    let vessel = model.state.vessels.get(id);
    vessel.vessel_type == VesselType::Barrel && vessel.kept_full
}

/// The barrel under the cursor, where it holds wine and is topped: broken for topping it can be declared a
/// topping vessel.
fn declarable(model: &Model) -> Option<VesselId> {
    let id = model.chosen()?;
    let vessel = model.state.vessels.get(id);
    (is_kept_full(model, id) && model.state.is_to_be_topped(vessel) && vessel.held.is_none()).then_some(id)
}

/// What the round is expected to need: of the one under way what is left of it, from a vessel in hand or the one that it is
/// topped from now.
fn plan(model: &Model, purpose: For, in_hand: Option<VesselId>) -> Option<Plan> {
    Some(match (purpose, model.round()) {
        (For::Change, Some(round)) => {
            let in_hand = in_hand.or(model.state.rounds.get(round).source);
            model.state.plan_rest_from(round, in_hand, model.now)
        }
        _ => model.state.plan_round_from(model.room()?, in_hand, model.now),
    })
}

/// The vessel that a plan would take: for the barrel under the cursor while a round is under way, else for its first.
fn planned(model: &Model, plan: &Plan) -> Option<VesselId> {
    let here =
        model.round().zip(model.chosen()).and_then(|(round, here)| match model.state.hose(round, here, model.now) {
            Hose::Other(from) => Some(from),
            Hose::InHand => model.source(),
            Hose::None => None,
        });
    here.or_else(|| plan.draws.first().map(|draw| draw.source))
}
