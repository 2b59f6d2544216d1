//! A room laid out: its rows, stacks, tiers and sides, its climate, and how often it is walked.

use serde::{Deserialize, Serialize};

use super::label::Label;
use crate::units::Volume;

/// The fact `room_laid_out`: a room and its places.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoomLaidOut {
    /// The room's label.
    pub room: Label,
    /// Its rows, in the order in which they stand.
    pub rows: Vec<RowLaidOut>,
    /// Mean temperature, °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature_c: Option<f64>,
    /// Mean relative humidity, %.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub humidity_pct: Option<f64>,
    /// Days between two rounds of this room; the house's where it is not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub round_days: Option<u32>,
    /// The headspace that makes a barrel due at once.
    #[serde(default, rename = "tolerated_ul", skip_serializing_if = "Option::is_none")]
    pub tolerated: Option<Volume>,
}

/// A row of a room: a run of stacks.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RowLaidOut {
    /// The row's label.
    pub row: Label,
    /// How many stacks stand in it.
    pub stacks: u16,
    /// How many tiers a stack has.
    pub tiers: u16,
    /// How many barrels a rack cradles: 2 or 4.
    pub sides: u8,
}
