//! What can be said of lists of what was done.

use clap::Args;

use crate::cellar::core::moment::Moment;
use crate::cli::arguments::core::moment::{end, start};

/// Of what, and from when to when.
#[derive(Clone, Debug, Default, Args)]
pub struct DoneArguments {
    /// Only of this vessel
    #[arg(long, value_name = "LABEL")]
    pub vessel: Option<String>,
    /// Only of this lot, as it was then
    #[arg(long, value_name = "LABEL")]
    pub lot: Option<String>,
    /// From this day or time on
    #[arg(long, value_name = "DATE-TIME", value_parser = start)]
    pub from: Option<Moment>,
    /// Up to this day, which is included, or time
    #[arg(long, value_name = "DATE-TIME", value_parser = end)]
    pub to: Option<Moment>,
}

/// What was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DoneKind {
    /// Tests of wine.
    Tests,
    /// Tastes.
    Tastes,
    /// Toppings.
    Toppings,
    /// Additions.
    Additions,
    /// Moves of wine from one vessel to another.
    Moves,
}

impl DoneKind {
    /// All of them.
    pub const ALL: [DoneKind; 5] =
        [DoneKind::Tests, DoneKind::Tastes, DoneKind::Toppings, DoneKind::Additions, DoneKind::Moves];

    /// What people are told of an empty list.
    #[must_use]
    pub const fn none(self) -> &'static str {
        match self {
            DoneKind::Tests => "No test was entered there.",
            DoneKind::Tastes => "No taste was entered there.",
            DoneKind::Toppings => "No topping was entered there.",
            DoneKind::Additions => "No addition was entered there.",
            DoneKind::Moves => "No wine was moved there.",
        }
    }

    /// The name of its spreadsheet.
    #[must_use]
    pub const fn file(self) -> &'static str {
        match self {
            DoneKind::Tests => "tests.csv",
            DoneKind::Tastes => "tastes.csv",
            DoneKind::Toppings => "toppings.csv",
            DoneKind::Additions => "additions.csv",
            DoneKind::Moves => "moves.csv",
        }
    }
}
