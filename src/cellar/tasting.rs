//! Tasting: a vessel's wine was tasted.

use serde::{Deserialize, Serialize};

use super::fact::Stamp;
use super::history::Event;
use super::job::Job;
use super::label::{Label, Text};
use super::refusal::Refusal;
use super::state::{State, Taste, VesselId};
use std::sync::Arc;

/// The fact `tasted`: a vessel's wine was tasted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tasted {
    /// Which vessel.
    pub vessel: Label,
    /// A score from 0 to 20.
    #[serde(default)]
    pub score: Option<f64>,
    /// Words from the house's list.
    #[serde(default)]
    pub marks: Option<Vec<Label>>,
    /// Words of one's own.
    #[serde(default)]
    pub text: Option<Text>,
}

/// Words that name a fault, as cellars write them: Brettanomyces, volatile acidity, reduction, mousiness, cork taint,
/// oxidation, mould (the house's own list may have more; these are common practice).
const FAULTS: [&str; 27] = [
    "brett",
    "brettanomyces",
    "4-ep",
    "va",
    "volatile",
    "volatile acidity",
    "acetic",
    "ethyl acetate",
    "reduction",
    "reduced",
    "reductive",
    "h2s",
    "sulfide",
    "mousy",
    "mousiness",
    "mouse",
    "tca",
    "cork",
    "corked",
    "cork taint",
    "musty",
    "mould",
    "mouldy",
    "oxidised",
    "oxidized",
    "oxidation",
    "fault",
];

impl Taste {
    /// Whether one of its marks names a fault.
    #[must_use]
    pub fn has_fault(&self) -> bool {
        let names_fault = |mark: &Label| {
            let word = mark.as_str().to_lowercase().replace('_', " ");
            FAULTS.contains(&word.as_str())
        };
        self.marks.iter().any(names_fault)
    }
}

impl Job for Tasted {
    type Ready = VesselId;

    fn ready(&self, state: &State) -> Result<VesselId, Refusal> {
        let id = state.vessel(&self.vessel)?;
        if let Some(score) = self.score.filter(|score| !(0.0..=20.0).contains(score)) {
            return Err(Refusal::ScoreOutOfRange(score));
        }
        if self.score.is_none() && self.marks.as_ref().is_none_or(Vec::is_empty) && self.text.is_none() {
            return Err(Refusal::NothingTasted(self.vessel.clone()));
        }
        Ok(id)
    }

    fn doubt(&self, state: &State, &id: &VesselId) -> Option<Refusal> {
        state.vessels.get(id).wine.is_empty().then(|| Refusal::SourceEmpty(self.vessel.clone()))
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: VesselId) {
        let vessel = state.vessels.get_mut(id);
        vessel.taste = Some(Arc::new(Taste {
            at: stamp.at,
            score: self.score,
            marks: self.marks.clone().unwrap_or_default(),
            text: self.text.clone(),
        }));
        vessel.history.remember(stamp, Event::Tasted(self.score));
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
