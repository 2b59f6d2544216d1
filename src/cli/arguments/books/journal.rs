//! What can be said of the journal on the command line.

use clap::Args;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cli::arguments::core::moment::{end, start, whole_day};
use crate::cli::arguments::core::reading::Format;
use crate::forms;

/// Which lines of the journal are wanted.
#[derive(Debug, Args)]
pub struct JournalArguments {
    /// Only this day, like yesterday or 27 Nov
    #[arg(value_name = "DAY", value_parser = whole_day, conflicts_with_all = ["from", "to"])]
    pub day: Option<(Moment, Moment)>,
    /// From this day on, or this time [default: the first]
    #[arg(long, value_name = "DATE", value_parser = start)]
    pub from: Option<Moment>,
    /// To this day, which is included, or this time [default: the last]
    #[arg(long, value_name = "DATE", value_parser = end)]
    pub to: Option<Moment>,
    /// Only what this person did
    #[arg(long, value_name = "NAME", value_parser = |text: &str| Label::new(text))]
    pub by: Option<Label>,
    /// Only what names this vessel, lot, room or whatever else has a label; of a lot also what was done at the vessels that hold it
    #[arg(long, value_name = "LABEL", value_parser = |text: &str| Label::new(text))]
    pub about: Option<Label>,
    /// Only this kind of fact: topped, tested, lost, or the command that enters it
    #[arg(long, value_name = "KIND", value_parser = kind)]
    pub kind: Option<&'static str>,
    /// By the day on which it was entered, and not by that on which it happened
    #[arg(long)]
    pub written: bool,
    /// In which form: a table for people, CSV or JSON for programs
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

fn kind(text: &str) -> Result<&'static str, String> {
    forms::kind_called(text)
        .ok_or_else(|| "no kind of fact is called so. Write it like topped, tested, treated, lost or noted.".to_owned())
}
