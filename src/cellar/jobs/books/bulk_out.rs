//! Bulk out: wine leaves the house unbottled, sold to another house, given to a distillery, sent to a co-operative.

use serde::{Deserialize, Serialize};

use crate::cellar::core::account::Entry;
use crate::cellar::core::book;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::plausible;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::books::loss::drawable;
use crate::units::Volume;

/// The fact `wine_out`: wine left the house in bulk. It is no loss.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WineOut {
    /// From which vessel.
    pub vessel: Label,
    /// How much.
    #[serde(rename = "volume_ul")]
    pub volume: Volume,
    /// To whom.
    pub to: Text,
    /// Why: sold, distilled, given.
    #[serde(default)]
    pub why: Option<Text>,
}

impl Job for WineOut {
    type Ready = VesselId;

    fn ready(&self, state: &State) -> Result<VesselId, Refusal> {
        drawable(state, &self.vessel, self.volume)
    }

    fn doubt(&self, state: &State, &id: &VesselId) -> Option<Refusal> {
        book::doubt_draw(state.vessels.get(id), self.volume)
    }

    fn slip(&self, _state: &State, _id: &VesselId) -> Option<Refusal> {
        plausible::doubt_litres(&self.vessel, self.volume, plausible::RECEIVED)
    }

    /// A held vessel gives no wine away either.
    fn bar(&self, state: &State, &id: &VesselId) -> Option<Refusal> {
        state.barred(&[id])
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: VesselId) {
        let vessel = state.vessels.get_mut(id);
        vessel.draw(self.volume, Entry::Removed, stamp.at);
        vessel.history.remember(stamp, Event::WineOut(self.volume));
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
