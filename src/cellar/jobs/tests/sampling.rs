//! Sampling: a sample drawn from a vessel.

use serde::{Deserialize, Serialize};

use crate::cellar::core::account::Entry;
use crate::cellar::core::book;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::plausible;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::books::loss::drawable;
use crate::units::Volume;

/// The fact `sampled`: a sample was drawn. The same sample label from several vessels is a composite.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sampled {
    /// From which vessel.
    pub vessel: Label,
    /// How much.
    #[serde(rename = "volume_ul")]
    pub volume: Volume,
    /// What stands on the sample's bottle.
    #[serde(default)]
    pub sample: Option<Label>,
    /// What it is for.
    #[serde(default)]
    pub purpose: Option<Text>,
}

impl Job for Sampled {
    type Ready = VesselId;

    fn ready(&self, state: &State) -> Result<VesselId, Refusal> {
        drawable(state, &self.vessel, self.volume)
    }

    fn doubt(&self, state: &State, &id: &VesselId) -> Option<Refusal> {
        book::doubt_draw(state.vessels.get(id), self.volume)
    }

    fn slip(&self, _state: &State, _id: &VesselId) -> Option<Refusal> {
        plausible::doubt_litres(&self.vessel, self.volume, plausible::DRAWN)
    }

    fn questions(&self, state: &State, &id: &VesselId, _at: Moment) -> Vec<Question> {
        let (vessel, volume, holds) = (self.vessel.clone(), self.volume, state.vessels.get(id).volume());
        let went = "drawn as a sample";
        let is_large = volume > plausible::LARGE_SAMPLE;
        is_large.then_some(Question::MuchGone { vessel, volume, holds, went }).into_iter().collect()
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: VesselId) {
        // Before the draw: what is emptied by it was sampled all the same.
        if let Some(label) = &self.sample {
            state.keep_sample(label, id, stamp.at);
        }
        let vessel = state.vessels.get_mut(id);
        vessel.draw(self.volume, Entry::Sample, stamp.at);
        vessel.history.remember(stamp, Event::Sampled(self.volume));
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
