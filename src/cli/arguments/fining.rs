//! What can be said of a fining on the command line.

use clap::Args;

use super::plan::Begin;
use super::volume::{litres, millilitres};
use crate::units::{Volume, parse_decimal, parse_dose};

/// What a fining needs to know.
#[derive(Clone, Copy, Debug, Args)]
pub struct FiningArguments {
    /// The dose, like 0.5g/L, 50g/hL or 4lb/1000gal; a bare number is g/L
    #[arg(long, value_name = "DOSE", value_parser = parse_dose, allow_negative_numbers = true)]
    pub dose: f64,
    /// The wine that is fined
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub volume: Volume,
    /// Grams of the agent in 100 mL of its stock, like 5%
    #[arg(long, value_name = "PCT", value_parser = percent, allow_negative_numbers = true)]
    pub stock: f64,
    /// The wine in a glass of the trial
    #[arg(long, value_name = "ML", value_parser = millilitres, default_value = "100mL")]
    pub glass: Volume,
}

/// What the plan of a fining needs to know.
#[derive(Debug, Args)]
pub struct FiningPlanArguments {
    /// The fining trial, of which a dose is chosen
    pub trial: String,
    /// The vessel that is fined [default: the one whose wine was tried]
    #[arg(long, value_name = "VESSEL")]
    pub vessel: Option<String>,
    /// Whether it begins.
    #[command(flatten)]
    pub begin: Begin,
}

fn percent(text: &str) -> Result<f64, crate::units::ParseDecimalError> {
    parse_decimal(text.trim().trim_end_matches('%'))
}
