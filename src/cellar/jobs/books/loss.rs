//! Loss: wine that is gone, and why.

use serde::{Deserialize, Serialize};

use crate::cellar::core::account::Entry;
use crate::cellar::core::book;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::plausible;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, VesselId};
use crate::units::Volume;

/// Why wine was lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LossCause {
    /// Poured where it should not be.
    Spill,
    /// Left with the lees.
    Lees,
    /// Seeped through the wood.
    Leak,
    /// Lost in pumps and hoses.
    Handling,
    /// Anything else.
    Other,
}

/// The fact `lost`: wine was lost.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lost {
    /// From which vessel.
    pub vessel: Label,
    /// How much.
    #[serde(rename = "volume_ul")]
    pub volume: Volume,
    /// Why.
    pub cause: LossCause,
}

impl LossCause {
    /// The cause in a word, as a ledger has it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        self.entry().word()
    }

    /// The line of the account that the cause is booked under.
    #[must_use]
    pub const fn entry(self) -> Entry {
        match self {
            LossCause::Spill => Entry::Spill,
            LossCause::Lees => Entry::Lees,
            LossCause::Leak => Entry::Leak,
            LossCause::Handling => Entry::Handling,
            LossCause::Other => Entry::Other,
        }
    }
}

/// The vessel that a volume is drawn from, if it holds anything by the book.
pub(in crate::cellar) fn drawable(state: &State, label: &Label, volume: Volume) -> Result<VesselId, Refusal> {
    let id = state.vessel(label)?;
    if volume.is_zero() {
        return Err(Refusal::NoVolume);
    }
    book::sane(volume)?;
    if state.vessels.get(id).wine.is_empty() {
        return Err(Refusal::SourceEmpty(label.clone()));
    }
    Ok(id)
}

impl Job for Lost {
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
        let is_much = volume.as_ul() > holds.as_ul() / plausible::MUCH_PART;
        is_much.then_some(Question::MuchGone { vessel, volume, holds, went: "lost" }).into_iter().collect()
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: VesselId) {
        if self.cause == LossCause::Lees {
            state.rack_off_fining(id, Volume::ZERO, self.volume, stamp.at);
        }
        let vessel = state.vessels.get_mut(id);
        vessel.draw(self.volume, self.cause.entry(), stamp.at);
        vessel.history.remember(stamp, Event::Lost(self.volume, self.cause));
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
