//! Sampling: a sample drawn from a vessel.

use serde::{Deserialize, Serialize};

use super::label::{Label, Text};
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
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sample: Option<Label>,
    /// What it is for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub purpose: Option<Text>,
}
