//! What can be said of a move of wine on the command line.

use clap::{Args, ValueEnum};

use crate::cellar::core::label::Text;
use crate::cellar::jobs::wood::moving::Purpose;
use crate::cli::arguments::Entering;
use crate::cli::arguments::core::volume::litres;
use crate::units::Volume;

/// What a move needs to know.
#[derive(Debug, Args)]
pub struct MoveArguments {
    /// The vessel that the wine leaves
    pub from: String,
    /// The vessel that it comes into
    pub to: String,
    /// What arrives [default: all that the book has, less what is lost, and nothing is left behind; of a barrel-down what fills the barrel]
    #[arg(value_parser = litres, allow_negative_numbers = true)]
    pub litres: Option<Volume>,
    /// Why
    #[arg(long = "as", value_enum, value_name = "PURPOSE", default_value_t = PurposeWord::Racking)]
    pub purpose: PurposeWord,
    /// Lees and the wine lost with them
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub lees: Option<Volume>,
    /// What was lost in pumps, hoses and filter
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub loss: Option<Volume>,
    /// Nothing is left behind: what the book still has is lost
    #[arg(long)]
    pub empties: bool,
    /// The lot that all of it is then where it arrives [default: the lot there, else its own]
    #[arg(long, value_name = "LOT")]
    pub lot: Option<String>,
    /// What it was filtered through: the medium and its grade
    #[arg(long, value_name = "WORDS", value_parser = |text: &str| Text::new(text))]
    pub filter: Option<Text>,
    /// Say what it would be, and enter nothing
    #[arg(long)]
    pub dry_run: bool,
    /// Who enters it, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
}

/// Why wine is moved from one vessel to one other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PurposeWord {
    /// Off its lees.
    Racking,
    /// From a tank into a barrel.
    BarrelDown,
    /// With other wine, on purpose.
    Blend,
    /// Through a filter.
    Filtration,
    /// Anything else.
    Other,
}

impl From<PurposeWord> for Purpose {
    fn from(word: PurposeWord) -> Purpose {
        match word {
            PurposeWord::Racking => Purpose::Racking,
            PurposeWord::BarrelDown => Purpose::BarrelDown,
            PurposeWord::Blend => Purpose::Blend,
            PurposeWord::Filtration => Purpose::Filtration,
            PurposeWord::Other => Purpose::Other,
        }
    }
}
