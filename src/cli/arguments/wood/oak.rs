//! What can be said of oak judged on the command line.

use clap::{Args, ValueEnum};

use crate::cellar::core::moment::Moment;
use crate::cli::arguments::core::moment::start;
use crate::reckon::oak::Factor;

/// By what oak is judged, and by which tastes.
#[derive(Clone, Debug, Default, Args)]
pub struct OakArguments {
    /// By what [default: by each in turn]
    #[arg(long, value_enum, value_name = "QUALITY")]
    pub by: Option<FactorWord>,
    /// Only what was tasted, tested and seen from this day or time on
    #[arg(long, value_name = "DATE-TIME", value_parser = start)]
    pub since: Option<Moment>,
    /// Only of this lot, as it was then; may be given again and again
    #[arg(long = "lot", value_name = "LABEL")]
    pub lots: Vec<String>,
}

/// By what oak is told apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FactorWord {
    /// Who made the barrel.
    Cooper,
    /// Where the oak grew.
    Forest,
    /// How long the fire was.
    Toast,
    /// How many months the staves dried.
    Seasoning,
    /// Which wine the barrel held: its first, second, third or a later one.
    Fill,
}

impl From<FactorWord> for Factor {
    fn from(word: FactorWord) -> Factor {
        match word {
            FactorWord::Cooper => Factor::Cooper,
            FactorWord::Forest => Factor::Forest,
            FactorWord::Toast => Factor::Toast,
            FactorWord::Seasoning => Factor::Seasoning,
            FactorWord::Fill => Factor::Fill,
        }
    }
}
