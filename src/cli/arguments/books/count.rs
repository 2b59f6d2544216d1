//! What can be said of a physical count on the command line.

use std::path::PathBuf;

use clap::Args;

use crate::cellar::core::label::Text;
use crate::cli::arguments::core::entering::Entering;
use crate::cli::arguments::core::reading::Format;

/// What a count needs to know.
#[derive(Debug, Args)]
pub struct CountArguments {
    /// The CSV file: `vessel`, and `litres` (a number, `full` or `empty`) or `dip_mm`
    pub file: PathBuf,
    /// Only this room was counted
    #[arg(long, value_name = "ROOM", conflicts_with = "lot")]
    pub room: Option<String>,
    /// Only the vessels of this lot were counted
    #[arg(long, value_name = "LOT")]
    pub lot: Option<String>,
    /// Book what was measured as a gauging of each vessel; without it the count is only compared
    #[arg(long, requires = "why")]
    pub book: bool,
    /// Why the book is put right; it is kept with every gauging
    #[arg(long, value_name = "REASON", value_parser = |text: &str| Text::new(text))]
    pub why: Option<Text>,
    /// Which lot it is that was found where the book has no wine [default: one called found]
    #[arg(long, value_name = "LOT", requires = "book")]
    pub found: Option<String>,
    /// In which form
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
    /// Who enters it, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
}
