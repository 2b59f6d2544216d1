//! What can be said of a printable page on the command line.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use crate::cellar::core::label::Label;
use crate::cli::arguments::bottles::bottling::BottlingPlanArguments;
use crate::cli::arguments::core::things::Traceable;
use crate::cli::arguments::core::volume::millilitres;
use crate::cli::arguments::topping::gauging::DipSheetArguments;
use crate::cli::arguments::wood::oak::OakArguments;
use crate::told::usual;
use crate::units::Volume;

/// What pages can be printed.
#[derive(Debug, Subcommand)]
pub enum Sheet {
    /// A dip table of a lying barrel: litres missing and held, by millimetres under the bung
    Dip(DipSheetArguments),
    /// The round of a room in walking order, with room for what each barrel took
    Round {
        /// Which room
        room: String,
        /// How it is printed.
        #[command(flatten)]
        print: Print,
    },
    /// An open work in walking order: racking, barrel-down, additions, care
    Work {
        /// Which work
        work: String,
        /// How it is printed.
        #[command(flatten)]
        print: Print,
    },
    /// The pouring page of a trial, FOR WHOEVER POURS ONLY
    Pouring {
        /// Which trial
        trial: String,
        /// What the cylinder or pipette can read
        #[arg(long, alias = "step", value_name = "VOLUME", default_value = usual::READING, value_parser = millilitres)]
        read: Volume,
        /// How it is printed.
        #[command(flatten)]
        print: Print,
    },
    /// A score sheet for each taster of a trial
    Scores {
        /// Which trial
        trial: String,
        /// How it is printed.
        #[command(flatten)]
        print: Print,
    },
    /// The order of a bottling: bottles and dry goods, what stands in the way, and a line for every hour's checks
    Bottling {
        /// Which vessel, and into what.
        #[command(flatten)]
        plan: BottlingPlanArguments,
        /// What stands on the bottles [default: L, the year and the day of the year]
        #[arg(long, value_name = "LOT_CODE", value_parser = |text: &str| Label::new(text))]
        code: Option<Label>,
        /// How many hours there is room for
        #[arg(long, value_name = "HOURS", default_value_t = 8, value_parser = clap::value_parser!(u8).range(1..=24))]
        hours: u8,
        /// How it is printed.
        #[command(flatten)]
        print: Print,
    },
    /// What to draw of each vessel of a lot for a sample, with a box to tick
    Sample {
        /// Which lot
        lot: String,
        /// How much sample there is to be, in mL unless a unit is said
        #[arg(long, value_name = "SIZE", value_parser = millilitres, default_value = "750 mL")]
        of: Volume,
        /// How it is printed.
        #[command(flatten)]
        print: Print,
    },
    /// The sheet of a physical count, which hides what the book says
    Count {
        /// Which room; the whole cellar where none is named
        room: Option<String>,
        /// How it is printed.
        #[command(flatten)]
        print: Print,
    },
    /// What a revealed trial says: what the codes were, how they stood, and how the seal is checked
    Trial {
        /// Which trial
        trial: String,
        /// How it is printed.
        #[command(flatten)]
        print: Print,
    },
    /// A trace: back from the bottles of a run, or forward to every bottle from a vessel, a lot, a material or a block
    Trace {
        /// Whose
        #[command(subcommand)]
        thing: Traceable,
        /// Of a vessel: the wine of this fill, counted from 1 [default: the last]
        #[arg(long, global = true, value_name = "NUMBER")]
        fill: Option<u32>,
        /// How it is printed.
        #[command(flatten)]
        print: Print,
    },
    /// What was added to a wine: each material in all, beside the published figures, and every addition by its day
    Additions {
        /// To whose wine
        #[command(subcommand)]
        to: AddedToWords,
        /// How it is printed.
        #[command(flatten)]
        print: Print,
    },
    /// What the oak did, on a page to order next year's wood by: scores within lots, evaporation, leaks and prices
    Oak {
        /// By what, and by which tastes.
        #[command(flatten)]
        asked: OakArguments,
        /// How it is printed.
        #[command(flatten)]
        print: Print,
    },
    /// The map of a room for the wall
    Map {
        /// Which room
        room: String,
        /// What stands in a place
        #[arg(long, value_enum, default_value_t = ShownWord::Barrels)]
        show: ShownWord,
        /// How it is printed.
        #[command(flatten)]
        print: Print,
    },
    /// Cards of vessels with a code that a scanner reads
    Cards {
        /// Which vessels; all of a lot or a room with --lot or --room
        #[arg(required_unless_present_any = ["lot", "room"])]
        vessels: Vec<String>,
        /// All vessels of a lot
        #[arg(long, value_name = "LOT")]
        lot: Option<String>,
        /// All barrels of a room
        #[arg(long, value_name = "ROOM")]
        room: Option<String>,
        /// How it is printed.
        #[command(flatten)]
        print: Print,
    },
}

/// Whose additions are told.
#[derive(Debug, Subcommand)]
pub enum AddedToWords {
    /// The wine that lies in a vessel
    Vessel {
        /// Its label
        label: String,
    },
    /// The wine of a lot, wherever it lies
    Lot {
        /// Its label
        label: String,
    },
    /// The wine in the bottles of a run
    Run {
        /// Its label
        label: String,
    },
}

/// How a page is printed.
#[derive(Clone, Debug, Args)]
pub struct Print {
    /// As one HTML page, ready for A4 or Letter, in place of plain text
    #[arg(long, global = true)]
    pub html: bool,
    /// Into a file that does not exist yet, in place of the screen; an ending of .html asks for HTML
    #[arg(long, global = true, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Over a file that is there
    #[arg(long, global = true, requires = "out")]
    pub overwrite: bool,
}

/// What stands in a place of a map.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ShownWord {
    /// The barrel's label
    Barrels,
    /// Its lot's label
    Lots,
}
