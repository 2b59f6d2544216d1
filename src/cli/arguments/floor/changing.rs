//! What can be said of a vessel that is changed, on the command line.

use clap::Args;

use crate::cli::arguments::Entering;

/// What is to be said of a vessel.
#[derive(Debug, Args)]
pub struct ChangeArguments {
    /// The vessels, like 0417, 0420-0425 or 'rack A-03-1'
    pub vessel: String,
    /// What is so from now on, as `topped=no`, `forest=Vosges`, `capacity="226 L"`; nothing behind the sign: not known
    #[arg(required = true, value_name = "FIELD=VALUE")]
    pub fields: Vec<String>,
    /// Who enters it, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
}
