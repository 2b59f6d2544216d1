//! What can be said of a test on the command line.

use clap::{Args, ValueEnum};

use crate::cellar::core::label::{Label, Text};
use crate::cli::arguments::{AcidWord, Entering};
use crate::import::tests::Of;

/// A test.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  barrelwalk test 0417 ph=3.52 free=24 --lab Quillon\n  \
                        barrelwalk test M25 'va=0.35 H2SO4' 'ta=3.5 g/L' --acid sulfuric --at 2026-11-27")]
pub struct TestArguments {
    /// The vessel, the lot or the sample that was tested
    #[arg(value_name = "VESSEL|LOT|SAMPLE", value_parser = |text: &str| Label::new(text))]
    pub of: Label,
    /// What was found: ph, free, total, ta, va, alcohol, malic, lactic, tartaric, potassium, sugar, turbidity, oxygen, temperature, or
    /// what the house declares; with a unit where it is another than usual
    #[arg(value_name = "NAME=NUMBER", required = true, value_parser = result)]
    pub results: Vec<(String, String)>,
    /// Who found it
    #[arg(long, value_name = "NAME", value_parser = |text: &str| Text::new(text))]
    pub lab: Option<Text>,
    /// As which acid ta and va are given [default: tartaric, and acetic]
    #[arg(long, value_enum)]
    pub acid: Option<AcidWord>,
    /// What bears the label, where several things do
    #[arg(long = "as", value_enum, value_name = "THING")]
    pub thing: Option<OfWord>,
    /// Say what it would be, and enter nothing
    #[arg(long)]
    pub dry_run: bool,
    /// Who enters it and when it was, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
}

fn result(text: &str) -> Result<(String, String), String> {
    let (name, number) = text.split_once('=').ok_or("write a name, = and a number, like ph=3.52")?;
    Ok((name.trim().to_owned(), number.trim().to_owned()))
}

/// What a test is of, as it is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum OfWord {
    /// A vessel
    Vessel,
    /// A lot
    Lot,
    /// A sample
    Sample,
}

impl OfWord {
    /// What is meant.
    #[must_use]
    pub const fn of(self) -> Of {
        match self {
            OfWord::Vessel => Of::Vessel,
            OfWord::Lot => Of::Lot,
            OfWord::Sample => Of::Sample,
        }
    }
}
