//! Gauging: what a vessel holds was measured.

use serde::{Deserialize, Serialize};

use super::label::Label;
use crate::units::Volume;

/// The fact `gauged`: what a vessel holds was measured, as a volume or as a dip.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Gauged {
    /// Which vessel.
    pub vessel: Label,
    /// What it holds.
    #[serde(default, rename = "volume_ul", skip_serializing_if = "Option::is_none")]
    pub volume: Option<Volume>,
    /// The depth of the headspace under the bung of a lying barrel, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dip_mm: Option<f64>,
}
