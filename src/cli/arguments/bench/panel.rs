//! What can be said of a panel and of difference tests on the command line.

use std::path::PathBuf;

use clap::Args;

/// What the analysis of a panel needs to know.
#[derive(Clone, Debug, Args)]
pub struct PanelArguments {
    /// The table as CSV, '-' for standard input: a row a taster and a column a glass, or the columns taster, code and score
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// The values are scores of 20, the more the better [default]
    #[arg(long, conflicts_with = "ranks")]
    pub scores: bool,
    /// The values are ranks, 1 the best
    #[arg(long)]
    pub ranks: bool,
    /// Glasses that hold the same wine, like 412=207, to judge repeatability; may be said again
    #[arg(long, value_name = "CODE=CODE", value_parser = codes_alike)]
    pub alike: Vec<Codes>,
    /// An order of all glasses that was expected before the tasting, the best first, like 412,207,931
    #[arg(long, value_name = "CODE,CODE", value_parser = codes_in_order)]
    pub order: Option<Codes>,
}

/// Codes of glasses.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Codes(pub Vec<String>);

/// What a triangle or duo-trio test needs to know.
#[derive(Clone, Copy, Debug, Args)]
pub struct DifferenceArguments {
    /// How many answers there are
    #[arg(value_name = "ANSWERS")]
    pub answers: u64,
    /// How many of them are right; without it only the least numbers are given
    #[arg(value_name = "RIGHT")]
    pub correct: Option<u64>,
}

/// What a paired comparison needs to know.
#[derive(Clone, Copy, Debug, Args)]
pub struct PairedArguments {
    /// The answers: all, and those that chose the first glass.
    #[command(flatten)]
    pub answers: DifferenceArguments,
    /// The first glass was expected to be chosen before anybody tasted
    #[arg(long)]
    pub one_sided: bool,
}

fn codes_alike(text: &str) -> Result<Codes, String> {
    codes(text, '=').ok_or_else(|| "Write the codes of glasses with the same wine like 412=207.".to_owned())
}

fn codes_in_order(text: &str) -> Result<Codes, String> {
    codes(text, ',').ok_or_else(|| "Write the codes of all glasses, the best first, like 412,207,931.".to_owned())
}

/// At least two codes.
fn codes(text: &str, between: char) -> Option<Codes> {
    let codes: Vec<String> = text.split(between).map(|code| code.trim().to_owned()).collect();
    (codes.len() > 1 && codes.iter().all(|code| !code.is_empty())).then_some(Codes(codes))
}
