//! Holding: a vessel is kept out of the work until it is freed.

use serde::{Deserialize, Serialize};

use super::label::{Label, Text};

/// The fact `held`: a vessel is kept out of the work.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Held {
    /// Which vessel.
    pub vessel: Label,
    /// Why.
    pub why: Text,
}

/// The fact `freed`: a held vessel is back in the work.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Freed {
    /// Which vessel.
    pub vessel: Label,
    /// Why.
    pub why: Text,
}
