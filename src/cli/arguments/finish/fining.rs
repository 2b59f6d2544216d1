//! What can be said of a fining on the command line.

use clap::{Args, Subcommand};

use crate::cellar::core::label::Label;
use crate::cellar::jobs::finish::fining::FiningGlass;
use crate::cli::arguments::Entering;
use crate::cli::arguments::core::volume::{litres, millilitres};
use crate::cli::arguments::floor::declaring::MaterialIs;
use crate::cli::arguments::topping::plan::Begin;
use crate::told::usual;
use crate::units::{Volume, parse_decimal, parse_dose};

/// What a fining needs to know.
#[derive(Clone, Debug, Args)]
pub struct FiningArguments {
    /// The dose, like 0.5g/L, 50g/hL, 500ppm, 4lb/1000gal or 67oz/1000gal; a bare number is g/L
    #[arg(long, value_name = "DOSE", value_parser = parse_dose, allow_negative_numbers = true)]
    pub dose: f64,
    /// The wine that is fined [default: what the vessel holds]
    #[arg(long, value_name = "LITRES", required_unless_present = "vessel", value_parser = litres, allow_negative_numbers = true)]
    pub volume: Option<Volume>,
    /// A vessel of the cellar whose wine it is: the water of all that was added to it before counts too
    #[arg(long, value_name = "VESSEL")]
    pub vessel: Option<String>,
    /// Grams of the agent in 100 mL of its stock, like 5%
    #[arg(long, value_name = "PCT", value_parser = percent, allow_negative_numbers = true)]
    pub stock: f64,
    /// The wine in a glass of the trial
    #[arg(long, value_name = "ML", value_parser = millilitres, default_value = usual::FINING_GLASS)]
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
    /// What the agent is, where nobody knows it.
    #[command(flatten)]
    pub is: MaterialIs,
    /// Whether it begins.
    #[command(flatten)]
    pub begin: Begin,
}

pub(in crate::cli::arguments) fn percent(text: &str) -> Result<f64, crate::units::ParseDecimalError> {
    parse_decimal(text.trim().trim_end_matches('%'))
}

/// What is done with a fining trial.
#[derive(Debug, Subcommand)]
pub enum FiningStep {
    /// Enter a fining trial: the agent, its stock, the glasses with their doses
    Try(TryArguments),
    /// Say what was seen of a glass, or add one
    See {
        /// The fining trial
        trial: String,
        /// A dose and what was seen: '0.5: clear, 8 NTU, 14.5'; a bare number is a score of 20
        #[arg(value_parser = FiningGlass::read, allow_hyphen_values = true)]
        glass: FiningGlass,
        /// Who enters it, and what was asked before.
        #[command(flatten)]
        entering: Entering,
    },
    /// Choose the dose of one of the glasses
    Choose {
        /// The fining trial
        trial: String,
        /// The dose, like 0.5g/L, 50g/hL or 4lb/1000gal; a bare number is g/L
        #[arg(value_parser = parse_dose, allow_negative_numbers = true)]
        dose: f64,
        /// Who enters it, and what was asked before.
        #[command(flatten)]
        entering: Entering,
    },
    /// Enter that the chosen dose was given to a vessel
    Give(GiveArguments),
}

/// What a new fining trial needs to know.
#[derive(Debug, Args)]
pub struct TryArguments {
    /// What it is called
    #[arg(value_parser = |text: &str| Label::new(text))]
    pub trial: Label,
    /// The vessel whose wine is tried
    #[arg(long, value_name = "VESSEL", value_parser = |text: &str| Label::new(text))]
    pub vessel: Label,
    /// The fining agent
    #[arg(long, value_name = "AGENT", value_parser = |text: &str| Label::new(text))]
    pub material: Label,
    /// Grams of the agent in 100 mL of its stock, like 5%
    #[arg(long, value_name = "PCT", value_parser = percent, allow_negative_numbers = true)]
    pub stock: f64,
    /// A glass, once for each: its dose, and what was seen where it was seen already, like '0.5: clear, 8 NTU, 14.5'
    #[arg(long, value_name = "GLASS", required = true, value_parser = FiningGlass::read, allow_hyphen_values = true)]
    pub glass: Vec<FiningGlass>,
    /// What the agent is, where nobody knows it.
    #[command(flatten)]
    pub is: MaterialIs,
    /// Who enters it, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
}

/// What a fining that is given needs to know.
#[derive(Debug, Args)]
pub struct GiveArguments {
    /// The fining trial, of which a dose is chosen
    pub trial: String,
    /// The vessel that is fined [default: the one whose wine was tried]
    #[arg(long, value_name = "VESSEL")]
    pub vessel: Option<String>,
    /// The stock that went in, as it was measured [default: what the dose needs]
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub measured: Option<Volume>,
    /// The batch of the agent
    #[arg(long, value_name = "BATCH", value_parser = |text: &str| Label::new(text))]
    pub batch: Option<Label>,
    /// What the agent is, where nobody knows it.
    #[command(flatten)]
    pub is: MaterialIs,
    /// Who enters it, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
}
