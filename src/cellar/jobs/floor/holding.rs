//! Holding: a vessel is kept out of the work until it is freed.
//!
//! **A hold bars wine, not judgement and not a cure** (`State::barred`, `Job::bar`): what moves wine asks for a reason, a dose is a
//! question, samples, tests and gaugings are free. A plan is not barred, only what is entered: `plan_move` names the hold beside the plan.
//! On the screen `tui/floor/despite.rs` keeps the act until the line of its reason is written.

use serde::{Deserialize, Serialize};

use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{Hold, State, VesselId};
use std::sync::Arc;

/// The fact `held`: a vessel is kept out of the work.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Held {
    /// Which vessel.
    pub vessel: Label,
    /// Why.
    pub why: Text,
}

/// The fact `freed`: a held vessel is back in the work.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Freed {
    /// Which vessel.
    pub vessel: Label,
    /// Why.
    pub why: Text,
}

impl Hold {
    /// Why, without the stop at its end, so that a sentence can go on behind it.
    #[must_use]
    pub fn reason(&self) -> &str {
        self.why.as_str().trim_end_matches(['.', '!', ' '])
    }
}

impl State {
    /// What bars wine from leaving or entering some vessels: that one of them is held.
    pub(in crate::cellar) fn barred(&self, vessels: &[VesselId]) -> Option<Refusal> {
        let vessel = vessels.iter().map(|&id| self.vessels.get(id)).find(|vessel| vessel.held.is_some())?;
        let why = vessel.held.as_deref()?.reason().to_owned();
        Some(Refusal::HeldBack { vessel: vessel.label.clone(), why })
    }
}

impl Job for Held {
    type Ready = VesselId;

    fn ready(&self, state: &State) -> Result<VesselId, Refusal> {
        state.vessel(&self.vessel)
    }

    fn slip(&self, state: &State, &id: &VesselId) -> Option<Refusal> {
        state.vessels.get(id).held.is_some().then(|| Refusal::AlreadyHeld(self.vessel.clone()))
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: VesselId) {
        let vessel = state.vessels.get_mut(id);
        vessel.held = Some(Arc::new(Hold { why: self.why.clone(), since: stamp.at }));
        vessel.history.remember(stamp, Event::Held);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}

impl Job for Freed {
    type Ready = VesselId;

    fn ready(&self, state: &State) -> Result<VesselId, Refusal> {
        state.vessel(&self.vessel)
    }

    fn doubt(&self, state: &State, &id: &VesselId) -> Option<Refusal> {
        state.vessels.get(id).held.is_none().then(|| Refusal::NotHeld(self.vessel.clone()))
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: VesselId) {
        let vessel = state.vessels.get_mut(id);
        vessel.held = None;
        vessel.history.remember(stamp, Event::Freed);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
