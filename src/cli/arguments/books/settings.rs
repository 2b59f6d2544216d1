//! What can be said of the settings of the house on the command line.

use clap::Args;

use crate::cli::arguments::core::entering::Entering;
use crate::cli::arguments::core::reading::Reading;

/// What the settings need to know.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  barrelwalk settings\n  barrelwalk settings sulfuring-days 42")]
pub struct SettingsArguments {
    /// The setting [default: all are listed]
    pub name: Option<String>,
    /// What it is from now on
    pub value: Vec<String>,
    /// Who sets it, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
    /// In which form and as of when they are listed.
    #[command(flatten)]
    pub reading: Reading,
}
