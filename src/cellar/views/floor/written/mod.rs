//! What a person writes in one line to begin with: a room, a number of vessels, a lot and where it lies.
//!
//! ```text
//! long: A-D, 5 stacks, 4 high, pairs
//! 181-210, Allier, medium, 2026
//! M26, red, Syrah, 2026, Varrow Valley, block Upper Terrace: 181-210 full
//! ```
//!
//! Parts stand between commas and are told apart by what they are, in any order; what cannot be told apart is said, and nothing is
//! guessed. Each line comes to facts that stand or fall together.
//!
//! **A cellar is begun in lines** (`cellar/views/floor/written/`): a room, a series of vessels, a lot and where it lies are each read from
//! a line that is tried while it is written (`tui/floor/begin.rs`) and taken whole by a command (`cli/books/beginning.rs`). `House::begins`
//! says which page an empty cellar opens on.

pub mod bins;
pub mod laying_in;
pub mod laying_out;
pub mod numbering;
pub mod series;

use thiserror::Error;

use crate::cellar::core::label::{Label, TextError};
use crate::cellar::core::place::PlaceError;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::when::WhenError;
use crate::units::{ParseVolumeError, counted, litres};

/// Why a line that is written comes to nothing yet.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation, the fields are the things it names
pub enum LineError {
    #[error(transparent)]
    Name(#[from] TextError),
    #[error(transparent)]
    Place(#[from] PlaceError),
    #[error(transparent)]
    Volume(#[from] ParseVolumeError),
    #[error(transparent)]
    Day(#[from] WhenError),
    #[error(transparent)]
    Refused(Box<Refusal>),
    #[error("'{0}' counts down. Write the lower first.")]
    CountsDown(String),
    #[error("'{0}' is too many at once. Write at most {most} in a line.", most = series::MOST)]
    TooMany(String),
    #[error("'{0}' stands there twice.")]
    Twice(Label),
    #[error("'{word}' is not understood. Write {like}.")]
    Unknown { word: String, like: &'static str },
    #[error("{known} for '{word}'? Else say what it is: forest {word}, or of {word}.")]
    Near { word: String, known: String },
    #[error("{what} is said twice: '{first}' and '{second}'.")]
    SaidTwice { what: &'static str, first: String, second: String },
    #[error("Which room? Write its name first, like {like}: A-D, 5 stacks, 4 high.")]
    WhichRoom { like: Label },
    #[error("Which rows? Write A-D, or A, B, C.")]
    WhichRows,
    #[error("How many stacks does row {0} have? Write 5 stacks.")]
    HowManyStacks(Label),
    #[error("How many bins does row {0} have? Write 12 bins.")]
    HowManyBins(Label),
    #[error("How high are the stacks of row {0}? Write 4 high.")]
    HowHigh(Label),
    #[error("Which numbers? Write 181-210, or F-01 to F-30.")]
    WhichNumbers,
    #[error("How much does {0} hold? Write 2000 L.")]
    HowLarge(Label),
    #[error("{} for {}. Lay out more places, or say where the first is to lie: at A-01-1-a.", counted(*.free, "free place"), counted(*.vessels, "barrel"))]
    TooFewPlaces { vessels: usize, free: usize },
    #[error("Which lot? Write its name, like M26.")]
    WhichLot,
    #[error("Where does it lie? Write behind a colon: 181-210 full, or T1 1200 L.")]
    WhereItLies,
    #[error("Lot {lot} is new here: which {lacks}? Write {like}.")]
    LotLacks { lot: Label, lacks: &'static str, like: &'static str },
    #[error("The lot {lot} has an origin already: {said} is not of it. Write only where it lies.")]
    LotSaid { lot: Label, said: String },
    #[error("Nothing here is called '{0}'. Number it first.")]
    NoVessel(String),
    #[error("No barrel lies in {0}.")]
    NoneThere(String),
    #[error("No barrel is empty.")]
    NoneEmpty,
    #[error("{vessel} holds {} of {lot} already.", litres(*.holds))]
    Holds { vessel: Label, lot: Label, holds: crate::units::Volume },
}

impl From<Refusal> for LineError {
    fn from(refusal: Refusal) -> LineError {
        LineError::Refused(Box::new(refusal))
    }
}

/// The parts of a line, between commas or semicolons.
fn parts(line: &str) -> impl Iterator<Item = &str> {
    line.split([',', ';']).map(str::trim).filter(|part| !part.is_empty())
}

/// A count and the words behind it: `5 stacks`. None where no count stands first.
fn count_of(part: &str) -> Option<(u16, &str)> {
    let end = part.find(|sign: char| !sign.is_ascii_digit()).unwrap_or(part.len());
    Some((part[..end].parse().ok()?, part[end..].trim()))
}

/// What is said once in a line.
fn say<T: ToString>(slot: &mut Option<T>, what: &'static str, value: T) -> Result<(), LineError> {
    if let Some(first) = slot {
        return Err(LineError::SaidTwice { what, first: first.to_string(), second: value.to_string() });
    }
    *slot = Some(value);
    Ok(())
}

/// What stands behind one of some words: `block Upper Terrace`. Words are compared without regard to case.
fn behind<'a>(part: &'a str, words: &[&str]) -> Option<&'a str> {
    words.iter().find_map(|word| {
        let (first, rest) = part.split_once(' ')?;
        first.eq_ignore_ascii_case(word).then(|| rest.trim())
    })
}
