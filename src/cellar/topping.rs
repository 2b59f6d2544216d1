//! Topping: filling the headspace of a vessel that is to be kept full.

use serde::{Deserialize, Serialize};

use super::label::Label;
use crate::units::Volume;

/// The fact `topped`: wine was poured into a vessel's headspace.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Topped {
    /// The vessel that was topped.
    pub vessel: Label,
    /// The vessel that the wine came from.
    pub from: Label,
    /// How much was poured.
    #[serde(rename = "volume_ul")]
    pub volume: Volume,
    /// Whether the vessel is brimful now.
    #[serde(default = "yes")]
    pub full: bool,
}

const fn yes() -> bool {
    true
}
