//! Tasting: a vessel's wine was tasted.

use serde::{Deserialize, Serialize};

use super::label::{Label, Text};

/// The fact `tasted`: a vessel's wine was tasted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tasted {
    /// Which vessel.
    pub vessel: Label,
    /// A score from 0 to 20.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub score: Option<f64>,
    /// Words from the house's list.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub marks: Option<Vec<Label>>,
    /// Words of one's own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<Text>,
}
