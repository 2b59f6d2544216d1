//! Loss: wine that is gone, and why.

use serde::{Deserialize, Serialize};

use super::label::Label;
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
