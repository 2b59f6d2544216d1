//! Receiving: wine comes into the book.

use serde::{Deserialize, Serialize};

use super::label::Label;
use crate::units::Volume;

/// The fact `wine_received`: wine comes into the book.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WineReceived {
    /// The vessel it comes into.
    pub vessel: Label,
    /// The lot it is from now on.
    pub lot: Label,
    /// What it is made of.
    pub parts: Vec<ReceivedPart>,
}

/// So much of one origin.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReceivedPart {
    /// Which origin.
    pub origin: Label,
    /// How much of it.
    #[serde(rename = "volume_ul")]
    pub volume: Volume,
}
