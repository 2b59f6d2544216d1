//! What can be said of a new cellar.

use std::path::PathBuf;

use clap::Args;

use crate::cli::arguments::RulesWord;
use crate::cli::core::looks::{DATES, VOLUMES};

/// A new cellar.
#[derive(Debug, Args)]
#[command(
    after_help = "At a terminal it asks what is not said; elsewhere it asks nothing. Folders that are not there are made. The unit of volumes and the form of dates are yours, not the cellar's: they are kept in your file of looks."
)]
pub struct NewArguments {
    /// The file to make [default: the file of --cellar, else of `BARRELWALK_CELLAR`, else one in your data folder]
    pub file: Option<PathBuf>,
    /// Whose rules labels and limits are held against
    #[arg(long, value_enum)]
    pub rules: Option<RulesWord>,
    /// What volumes are told in on your screen, your lists and your paper
    #[arg(long, value_name = "UNIT", value_parser = VOLUMES.map(|(word, _)| word))]
    pub volume: Option<String>,
    /// How dates are written there
    #[arg(long, value_name = "FORM", value_parser = DATES.map(|(word, _)| word))]
    pub dates: Option<String>,
    /// Who enters it
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// Ask nothing, at a terminal either
    #[arg(long)]
    pub no_questions: bool,
}
