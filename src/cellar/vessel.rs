//! A vessel: barrel, tank or keg, its wood, and its end.

use serde::{Deserialize, Serialize};

use super::label::{Label, Text};
use super::lot::Colour;
use crate::units::Volume;

/// What kind of vessel it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum VesselType {
    /// Oak; lies in a rack; is topped.
    Barrel,
    /// Stands by itself; not topped unless that is said.
    Tank,
    /// Small; topping wine is kept in it.
    Keg,
}

/// The fact `vessel_registered`: a vessel exists.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct VesselRegistered {
    /// The vessel's label, for life.
    pub vessel: Label,
    /// What kind of vessel it is.
    #[serde(rename = "type")]
    pub vessel_type: VesselType,
    /// What it holds when brimful.
    #[serde(rename = "capacity_ul")]
    pub capacity: Volume,
    /// Whether it is to be kept full; where it is not said, a barrel is and others are not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub topped: Option<bool>,
    /// The wood, for a barrel.
    #[serde(flatten)]
    pub wood: Wood,
    /// How often it was filled before it came into this book.
    #[serde(default)]
    pub fills: u32,
    /// The colour of the wine that is in its wood already.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stained: Option<Colour>,
}

/// What is known of a barrel's wood and making.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Wood {
    /// Its shape, for example `bordeaux`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shape: Option<Label>,
    /// Who made it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cooper: Option<Label>,
    /// The forest its oak grew in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub forest: Option<Label>,
    /// How close the rings stand: fine, medium, coarse.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grain: Option<Label>,
    /// Months that the staves dried outdoors.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seasoning_months: Option<u32>,
    /// How long the fire was: light, medium, heavy.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub toast: Option<Label>,
    /// Whether the heads are toasted too.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heads_toasted: Option<bool>,
    /// The year it was made.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub made: Option<u16>,
    /// What it cost, in the house's currency.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
}

/// The fact `vessel_retired`: a vessel is gone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct VesselRetired {
    /// Which vessel.
    pub vessel: Label,
    /// Why.
    pub why: Text,
}
