//! The round: one walk through a room, topping as one goes.

use serde::{Deserialize, Serialize};

use super::label::{Label, Text};

/// The fact `round_begun`: a walk through a room began.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoundBegun {
    /// The round's label.
    pub round: Label,
    /// The room that is walked.
    pub room: Label,
    /// The vessel that is topped from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<Label>,
}

/// The fact `round_ended`: a walk through a room ended.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoundEnded {
    /// The round's label.
    pub round: Label,
    /// The room that was walked.
    pub room: Label,
    /// The vessel that was topped from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<Label>,
}

/// The fact `skipped`: a barrel was left out of a round on purpose, to be come back to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Skipped {
    /// Which vessel.
    pub vessel: Label,
    /// Of which round.
    pub round: Label,
    /// Why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<Text>,
}

/// The fact `source_changed`: a round tops from another vessel from here on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SourceChanged {
    /// Which round.
    pub round: Label,
    /// The vessel that is topped from now.
    pub from: Label,
}
