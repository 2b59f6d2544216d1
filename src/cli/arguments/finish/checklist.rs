//! What can be said of a checklist on the command line.

use clap::{Args, Subcommand};

use crate::cellar::core::label::{Label, Text};
use crate::cli::arguments::core::entering::Entering;
use crate::cli::arguments::core::reading::Reading;
use crate::units::parse_decimal;

/// What a checklist needs to know.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub struct CheckArguments {
    /// What the house says of the list.
    #[command(subcommand)]
    pub step: Option<CheckStep>,
    /// The lot's label
    #[arg(required = true)]
    pub lot: Option<String>,
    /// What is said of an item.
    #[command(flatten)]
    pub verdict: Verdict,
    /// A figure beside it; of alcohol what stands on the label, % vol
    #[arg(long, value_name = "NUMBER", value_parser = parse_decimal, allow_negative_numbers = true, requires = "met")]
    pub value: Option<f64>,
    /// Words beside it
    #[arg(long, value_name = "WORDS", value_parser = |text: &str| Text::new(text))]
    pub text: Option<Text>,
    /// Why the item may stay open
    #[arg(long, value_name = "REASON", requires = "waive", value_parser = |text: &str| Text::new(text))]
    pub why: Option<Text>,
    /// Who enters it, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
    /// In which form and as of when.
    #[command(flatten)]
    pub reading: Reading,
}

/// What is said of an item of a lot's checklist.
#[derive(Debug, Args)]
#[group(multiple = false)]
pub struct Verdict {
    /// This item is met
    #[arg(long, value_name = "ITEM", value_parser = |text: &str| Label::new(text))]
    pub met: Option<Label>,
    /// This item is not met
    #[arg(long, value_name = "ITEM", value_parser = |text: &str| Label::new(text))]
    pub not_met: Option<Label>,
    /// This item may stay open; say why
    #[arg(long, value_name = "ITEM", requires = "why", value_parser = |text: &str| Label::new(text))]
    pub waive: Option<Label>,
}

/// What the house says of the list.
#[derive(Debug, Subcommand)]
pub enum CheckStep {
    /// Add an item of this house's own, or say whether one of the list is required
    Declare(DeclareArguments),
}

/// What an item of the house needs to know.
#[derive(Debug, Args)]
pub struct DeclareArguments {
    /// What it is called
    #[arg(value_parser = |text: &str| Label::new(text))]
    pub item: Label,
    /// No run waits for it
    #[arg(long)]
    pub optional: bool,
    /// What is asked
    #[arg(long, value_name = "WORDS", value_parser = |text: &str| Text::new(text))]
    pub text: Option<Text>,
    /// Of this lot only: a wine that is meant sweet need not be dry
    #[arg(long = "lot", value_name = "LOT", value_parser = |text: &str| Label::new(text))]
    pub of_lot: Option<Label>,
    /// Who enters it, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
}
