//! Choosing the vessel to top from: when a round is begun, and when one runs out.

use crate::cellar::plan::Plan;
use crate::cellar::state::VesselId;
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
    /// Which of the plan's sources is chosen.
    pub chosen: usize,
    /// From which of its lines on the page is shown.
    pub line: usize,
}

impl SourceChoice {
    /// The choice for a room as it is now.
    #[must_use]
    pub fn new(model: &Model, purpose: For) -> Option<SourceChoice> {
        let plan = match (purpose, model.round()) {
            (For::Change, Some(round)) => model.state.plan_rest(round, model.now),
            _ => model.state.plan_round(model.room()?, model.now),
        };
        let chosen = planned(model, &plan).and_then(|from| plan.sources.iter().position(|&source| source == from));
        Some(SourceChoice { purpose, chosen: chosen.unwrap_or(0), line: 0, plan })
    }

    /// The same choice with a vessel chosen; with none, or where it is no longer offered, there is no choice to go on with.
    #[must_use]
    pub fn choosing(mut self, vessel: Option<VesselId>) -> Option<SourceChoice> {
        self.chosen = self.plan.sources.iter().position(|&source| Some(source) == vessel)?;
        Some(self)
    }

    /// The vessel that is chosen.
    #[must_use]
    pub fn vessel(&self) -> Option<VesselId> {
        self.plan.sources.get(self.chosen).copied()
    }
}

/// The vessel that a plan would take: for the barrel under the cursor while a round is under way, else for its first.
fn planned(model: &Model, plan: &Plan) -> Option<VesselId> {
    let here = model.round().and(model.chosen());
    let stop = plan.stops.iter().find(|stop| Some(stop.vessel) == here);
    stop.and_then(|stop| stop.from).or_else(|| plan.draws.first().map(|draw| draw.source))
}
