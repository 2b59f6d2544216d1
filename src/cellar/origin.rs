//! An origin: the source that a litre came from.

use serde::{Deserialize, Serialize};

use super::label::Label;
use super::lot::Colour;

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
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub estate: Option<bool>,
    /// Whether it is certified organic.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub organic: Option<bool>,
    /// Whose wine it is, where it is not the house's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub owner: Option<Label>,
}
