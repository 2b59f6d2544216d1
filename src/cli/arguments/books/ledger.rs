//! What can be said of a ledger on the command line.

use clap::{Args, ValueEnum};

use crate::cellar::core::moment::Moment;
use crate::cellar::views::books::ledger::Division;
use crate::cli::arguments::core::moment::{end, start};
use crate::cli::arguments::core::reading::Format;

/// What a ledger needs to know.
#[derive(Debug, Args)]
pub struct LedgerArguments {
    /// The first day, or a time
    #[arg(long, value_name = "DATE", value_parser = start)]
    pub from: Moment,
    /// The last day, which is included, or a time
    #[arg(long, value_name = "DATE", value_parser = end)]
    pub to: Moment,
    /// A row for each vessel, lot or room instead of one for the whole cellar
    #[arg(long, value_enum)]
    pub by: Option<By>,
    /// In which form: a table for people, CSV or JSON for programs
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// What a ledger is divided by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum By {
    /// A row a vessel.
    Vessel,
    /// A row a lot.
    Lot,
    /// A row a room.
    Room,
}

impl From<Option<By>> for Division {
    fn from(by: Option<By>) -> Division {
        match by {
            None => Division::Whole,
            Some(By::Vessel) => Division::Vessel,
            Some(By::Lot) => Division::Lot,
            Some(By::Room) => Division::Room,
        }
    }
}
