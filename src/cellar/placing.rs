//! Placing: a vessel lies somewhere, a forklift lifts a rack.

use serde::{Deserialize, Serialize};

use super::label::Label;
use super::place::{Place, RackPlace};

/// The fact `vessel_placed`: a vessel lies at a place now, or at none.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct VesselPlaced {
    /// Which vessel.
    pub vessel: Label,
    /// Where it lies; null where it lies at no known place.
    pub place: Option<Place>,
}

/// The fact `rack_moved`: every barrel of a rack lies in another rack's place now, same sides.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RackMoved {
    /// Where the rack was.
    pub from: RackPlace,
    /// Where it is.
    pub to: RackPlace,
}
