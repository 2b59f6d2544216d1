//! What reading commands have in common.

use clap::{Args, ValueEnum};

use super::moment::end;
use crate::cellar::core::moment::Moment;

/// What reading commands have in common.
#[derive(Clone, Copy, Debug, Args)]
pub struct Reading {
    /// In which form: a table for people, CSV or JSON for programs
    #[arg(long, global = true, value_enum, default_value_t = Format::Table)]
    pub format: Format,
    /// As of when, a day (its end) or a time, like 27 Nov, 2026-11-27 14:30 or yesterday [default: now]
    #[arg(long, global = true, value_name = "DATE-TIME", value_parser = end)]
    pub on: Option<Moment>,
}

impl Reading {
    /// In a form, as of now.
    #[must_use]
    pub const fn now(format: Format) -> Reading {
        Reading { format, on: None }
    }
}

/// The form of what is given out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people.
    Table,
    /// For spreadsheets.
    Csv,
    /// For programs.
    Json,
}
