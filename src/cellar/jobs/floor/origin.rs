//! An origin: the source that a litre came from.

use serde::{Deserialize, Serialize};

use super::lot::Colour;
use super::room::in_range;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{Origin, State};

/// The fact `origin_declared`: a source of wine.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OriginDeclared {
    /// The origin's label.
    pub origin: Label,
    /// The vineyard block.
    pub block: Label,
    /// The grape variety.
    pub variety: Label,
    /// The year of the harvest.
    pub vintage: u16,
    /// The place that may stand on a label.
    pub appellation: Label,
    /// The wine's colour.
    pub colour: Colour,
    /// Whether it grew on the estate.
    #[serde(default)]
    pub estate: Option<bool>,
    /// Whether it is certified organic.
    #[serde(default)]
    pub organic: Option<bool>,
    /// Whose wine it is, where it is not the house's.
    #[serde(default)]
    pub owner: Option<Label>,
}

impl Job for OriginDeclared {
    type Ready = ();

    fn questions(&self, state: &State, (): &(), _at: Moment) -> Vec<Question> {
        state.variety_questions(&self.variety)
    }

    fn ready(&self, state: &State) -> Result<(), Refusal> {
        if state.origins.find(self.origin.as_str()).is_some() {
            return Err(Refusal::LabelTaken { what: "An origin", label: self.origin.clone() });
        }
        in_range("A vintage", Some(f64::from(self.vintage)), 1800.0, 2999.0)
    }

    fn apply(&self, state: &mut State, _stamp: &Stamp, (): ()) {
        state.origins.add(Origin(self.clone()));
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.origin)
    }
}
