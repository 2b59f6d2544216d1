//! What can be said of a return of a racking on the command line.

use clap::Args;

use crate::cli::arguments::topping::plan::Begin;

/// What a return of a racking needs to know.
#[derive(Debug, Args)]
pub struct ReturnArguments {
    /// The label of the tank that the wine was racked into
    pub tank: String,
    /// Whether it begins.
    #[command(flatten)]
    pub begin: Begin,
}
