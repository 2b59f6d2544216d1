//! Lees stirring: the lees of a vessel are brought up into its wine, again and again while the wine lies on them.

use serde::{Deserialize, Serialize};

use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::wood::blanketing::Kept;

/// The fact `stirred`: the lees of a vessel were stirred.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stirred {
    /// Which vessel.
    pub vessel: Label,
}

impl State {
    /// When the lees under a vessel's present wine were stirred last, and when they are due again: after the days of the house. None where
    /// they never were.
    #[must_use]
    pub fn stirring(&self, vessel: VesselId) -> Option<Kept> {
        Kept::of(vessel, self.vessels.get(vessel).stirred, self.practice.stirring_days)
    }
}

impl Job for Stirred {
    type Ready = VesselId;

    fn ready(&self, state: &State) -> Result<VesselId, Refusal> {
        state.vessel(&self.vessel)
    }

    fn doubt(&self, state: &State, &id: &VesselId) -> Option<Refusal> {
        state.vessels.get(id).wine.is_empty().then(|| Refusal::SourceEmpty(self.vessel.clone()))
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: VesselId) {
        let vessel = state.vessels.get_mut(id);
        if !vessel.wine.is_empty() {
            vessel.stirred = Some(stamp.at);
        }
        vessel.history.remember(stamp, Event::Stirred);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
