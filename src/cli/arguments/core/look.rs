//! What only looks at a cellar.

use std::path::PathBuf;

use clap::Subcommand;

use super::moment::start;
use super::reading::Reading;
use super::things::{Claimant, Listed, Shown, Traceable};
use crate::cellar::core::moment::Moment;
use crate::cli::arguments::books::journal::JournalArguments;
use crate::cli::arguments::books::ledger::LedgerArguments;
use crate::cli::arguments::books::rules::RulesWord;
use crate::cli::arguments::topping::plan::Work;

/// What only looks at a cellar.
#[derive(Debug, Subcommand)]
pub enum Look {
    /// Give out all facts in order, one JSON object a line; or spreadsheets
    Export {
        /// Only facts that happened at this time or later
        #[arg(long, value_name = "DATE-TIME", value_parser = start)]
        since: Option<Moment>,
        /// Spreadsheets instead, a file each into a folder that is not there yet: vessels, lots, bottles, toppings, tests, tastes, additions,
        /// moves; `import` takes them in again
        #[arg(long, value_name = "FOLDER", conflicts_with = "since")]
        csv: Option<PathBuf>,
        /// In place of a folder that holds such spreadsheets
        #[arg(long, requires = "csv")]
        overwrite: bool,
    },
    /// List things
    List {
        /// Which things
        #[command(subcommand)]
        things: Listed,
        /// In which form and as of when.
        #[command(flatten)]
        reading: Reading,
    },
    /// Show one thing
    Show {
        /// Which thing
        #[command(subcommand)]
        thing: Shown,
        /// In which form and as of when.
        #[command(flatten)]
        reading: Reading,
    },
    /// Trace where wine came from, or where it went
    Trace {
        /// Which thing
        #[command(subcommand)]
        thing: Traceable,
        /// Trace where it went instead
        #[arg(long, global = true)]
        forward: bool,
        /// Of a vessel: the wine of this fill, counted from 1 [default: the last]
        #[arg(long, global = true, value_name = "NUMBER")]
        fill: Option<u32>,
        /// In which form and as of when.
        #[command(flatten)]
        reading: Reading,
    },
    /// What a label could claim by the published least shares, and by how much; for information, not legal advice
    Claims {
        /// Whose claims
        #[command(subcommand)]
        thing: Claimant,
        /// The rules of the United States, of the European Union, or both [default: the house's, else both]
        #[arg(long, global = true, value_enum)]
        rules: Option<RulesWord>,
        /// In which form and as of when.
        #[command(flatten)]
        reading: Reading,
    },
    /// What was entered, by the day on which it happened: who did what, and what was taken back
    Journal(JournalArguments),
    /// Balance what came and went over a period
    Ledger(LedgerArguments),
    /// Plan work
    Plan {
        /// Which work
        #[command(subcommand)]
        work: Box<Work>,
        /// In which form and as of when.
        #[command(flatten)]
        reading: Reading,
    },
    /// Check the chain of facts, the file and the balance
    Verify,
}
