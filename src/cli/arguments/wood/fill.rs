//! What can be said of a barrel-down on the command line.

use clap::Args;

use crate::cellar::views::wood::fill::FillWish;
use crate::cli::arguments::core::volume::litres;
use crate::cli::arguments::topping::plan::Begin;
use crate::units::Volume;

/// What the plan of a barrel-down needs to know.
#[derive(Debug, Args)]
pub struct FillArguments {
    /// The label of the vessel that is emptied into barrels
    pub tank: String,
    /// Place only so many litres [default: all that it holds]
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub litres: Option<Volume>,
    /// Fill so many barrels
    #[arg(long, value_name = "NUMBER", conflicts_with = "litres")]
    pub barrels: Option<usize>,
    /// A wish, like new>=30%, forest:Allier=50%, cooper:NAME<=900L, seasoning:24+>=40%; may be given again and again
    #[arg(long = "wish", value_name = "WISH", value_parser = clap::value_parser!(FillWish))]
    pub wishes: Vec<FillWish>,
    /// Wish for the mix in which this lot lies: its shares of new wood, forests, toasts and coopers
    #[arg(long, value_name = "LOT")]
    pub like: Option<String>,
    /// Only empties of this room
    #[arg(long, value_name = "ROOM")]
    pub room: Option<String>,
    /// Show the best so far after so many seconds; Ctrl-C shows it at once
    #[arg(long, value_name = "SECONDS", default_value_t = 2, value_parser = clap::value_parser!(u32).range(1..=3600))]
    pub within: u32,
    /// The lot that the wine is in the barrels [default: the tank's own]
    #[arg(long, value_name = "LOT")]
    pub into_lot: Option<String>,
    /// Whether it begins.
    #[command(flatten)]
    pub begin: Begin,
}
