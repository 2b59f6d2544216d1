//! Moving: wine goes from one vessel to one other, barrel-down and racking included.

use serde::{Deserialize, Serialize};

use super::label::Label;
use crate::units::Volume;

/// Why wine is moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Purpose {
    /// Filling barrels from a tank.
    BarrelDown,
    /// Moving wine off its lees.
    Racking,
    /// Mixing wines on purpose.
    Blend,
    /// Through a filter.
    Filtration,
    /// Anything else.
    Other,
}

/// The fact `wine_moved`: wine goes from one vessel to one other.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WineMoved {
    /// The vessel it leaves.
    pub from: Label,
    /// The vessel it comes into.
    pub to: Label,
    /// How much, as it arrives.
    #[serde(rename = "volume_ul")]
    pub volume: Volume,
    /// Why.
    pub purpose: Purpose,
    /// Lees and the wine lost with them.
    #[serde(default, rename = "lees_ul")]
    pub lees: Volume,
    /// What was lost on the way.
    #[serde(default, rename = "loss_ul")]
    pub loss: Volume,
    /// Whether nothing is left behind.
    #[serde(default)]
    pub empties: bool,
    /// The lot that the wine is from now on, where it arrives.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<Label>,
}
