//! What can be said in a line of what a cellar begins with.

use clap::Args;

use crate::cellar::core::label::Label;
use crate::cli::arguments::Entering;

/// A room in a line.
#[derive(Debug, Args)]
#[command(after_help = "Rows that it has and the line does not name stay as they are.\n\nExamples:\n  \
                        barrelwalk room long 'A-D, 5 stacks, 4 high, pairs'\n  \
                        barrelwalk room long 'A-C, 5 stacks, 4 high; D, 3 stacks, fours, 13 °C, 80 %'")]
pub struct RoomArguments {
    /// What it is called
    #[arg(value_parser = |text: &str| Label::new(text))]
    pub room: Label,
    /// Its rows, as A-D, 5 stacks, 4 high, pairs
    pub line: String,
    /// Who enters it.
    #[command(flatten)]
    pub entering: Entering,
}

/// Something in a line.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  barrelwalk number '181-210, Allier, medium, 2026'\n  barrelwalk number 'K1, keg, 100 L'\n  \
                        barrelwalk open-lot 'M26, red, Syrah, 2026, Varrow Valley: 181-210 full, K1 full'"
)]
pub struct WrittenArguments {
    /// The line, its parts between commas
    pub line: String,
    /// Who enters it.
    #[command(flatten)]
    pub entering: Entering,
}
