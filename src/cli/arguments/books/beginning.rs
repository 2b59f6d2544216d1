//! What can be said of a new cellar.

use std::path::PathBuf;

use clap::Args;

use crate::cli::arguments::RulesWord;

/// A new cellar.
#[derive(Debug, Args)]
#[command(
    after_help = "At a terminal it asks what is not said; elsewhere it asks nothing. Folders that are not there are made."
)]
pub struct NewArguments {
    /// The file to make [default: the file of --cellar, else of `BARRELWALK_CELLAR`, else one in your data folder]
    pub file: Option<PathBuf>,
    /// Whose rules labels and limits are held against
    #[arg(long, value_enum)]
    pub rules: Option<RulesWord>,
    /// Who enters it
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// Ask nothing, at a terminal either
    #[arg(long)]
    pub no_questions: bool,
}
