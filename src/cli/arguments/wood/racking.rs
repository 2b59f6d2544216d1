//! What can be said of a racking on the command line.

use clap::Args;

use crate::cellar::core::place::RackPlace;
use crate::cli::arguments::topping::plan::Begin;

/// What a racking needs to know.
#[derive(Debug, Args)]
pub struct RackingArguments {
    /// The lot's label
    pub lot: String,
    /// The tank
    #[arg(long, value_name = "TANK")]
    pub to: String,
    /// Only the barrels of this rack, like long/A-03-2; may be said again
    #[arg(long = "rack", value_name = "PLACE")]
    pub racks: Vec<RackPlace>,
    /// The lot that the wine is in the tank [default: its own]
    #[arg(long, value_name = "LOT")]
    pub into_lot: Option<String>,
    /// Whether it begins.
    #[command(flatten)]
    pub begin: Begin,
}
