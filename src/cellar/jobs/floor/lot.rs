//! A lot: wine kept and named together; its colour and its stage.

use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::room::in_range;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{Lot, LotId, State};
use crate::reckon::limits::Kind;
use crate::reckon::material::plain;

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

/// What is said of colours in a cellar, in English, French, Spanish, Italian and German, without marks on letters.
const COLOURS: [(Colour, [&str; 7]); 3] = [
    (Colour::Red, ["red", "rouge", "tinto", "rosso", "rot", "rotwein", "negre"]),
    (Colour::White, ["white", "blanc", "blanco", "bianco", "weiss", "weisswein", "blanche"]),
    (Colour::Rose, ["rose", "rosado", "rosato", "roseewein", "rosewein", "clairet", "pink"]),
];

impl Colour {
    /// The colour that a word means; none where it means none.
    #[must_use]
    pub fn named(words: &str) -> Option<Colour> {
        let plainly = plain(words);
        COLOURS.iter().find(|(_, names)| names.contains(&plainly.as_str())).map(|(colour, _)| *colour)
    }
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

/// The only distinction that the limits of the law make.
impl From<Colour> for Kind {
    fn from(colour: Colour) -> Kind {
        match colour {
            Colour::Red => Kind::Red,
            Colour::White | Colour::Rose => Kind::WhiteOrRose,
        }
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
    #[serde(default)]
    pub round_days: Option<u32>,
}

impl Lot {
    /// A lot that is opened at a moment.
    pub(in crate::cellar) fn opened(label: Label, colour: Colour, at: Moment) -> Lot {
        Lot {
            label,
            colour,
            opened: at,
            stage: None,
            round_days: None,
            tests: Arc::default(),
            additions: Arc::default(),
            checks: Arc::default(),
        }
    }
}

impl Job for LotOpened {
    type Ready = ();

    fn ready(&self, state: &State) -> Result<(), Refusal> {
        match state.lots.find(self.lot.as_str()) {
            Some(_) => Err(Refusal::LabelTaken { what: "A lot", label: self.lot.clone() }),
            None => Ok(()),
        }
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, (): ()) {
        state.lots.add(Lot::opened(self.lot.clone(), self.colour, stamp.at));
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.lot)
    }
}

impl Job for StageSet {
    type Ready = LotId;

    fn ready(&self, state: &State) -> Result<LotId, Refusal> {
        in_range("An interval in days", self.round_days.map(f64::from), 1.0, 3650.0)?;
        state.lot(&self.lot)
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: LotId) {
        let lot = state.lots.get_mut(id);
        lot.stage = Some((self.stage, stamp.at));
        lot.round_days = self.round_days;
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.lot)
    }
}
