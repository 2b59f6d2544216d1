//! A lot: wine kept and named together; its colour and its stage.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::label::Label;

/// The colour of a wine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Colour {
    /// Red.
    Red,
    /// White.
    White,
    /// Rosé.
    Rose,
}

impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Colour::Red => "red",
            Colour::White => "white",
            Colour::Rose => "rosé",
        })
    }
}

/// How a lot's barrels are kept now.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// Just filled: the wood still drinks.
    Soaking,
    /// Malolactic fermentation runs.
    Malolactic,
    /// At rest, bung on top.
    BungUp,
    /// At rest, bung rolled to the side, opened only to be racked.
    Rolled,
}

/// The fact `lot_opened`: a lot's name.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LotOpened {
    /// The lot's label.
    pub lot: Label,
    /// Its colour.
    pub colour: Colour,
}

/// The fact `stage_set`: how a lot's barrels are kept now, and how often they are topped.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StageSet {
    /// Which lot.
    pub lot: Label,
    /// Its stage.
    pub stage: Stage,
    /// Days between two toppings; goes before the room's interval.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub round_days: Option<u32>,
}
