//! What can be said of a work list of sulfur dioxide on the command line.

use clap::{Args, ValueEnum};

use crate::cellar::core::place::RackPlace;
use crate::cellar::views::tests::dosing::{Goal, Per};
use crate::cli::arguments::topping::plan::Begin;
use crate::reckon::sulfur::{Form, Solution};
use crate::units::parse_decimal;

/// What a work list of sulfur dioxide needs to know.
#[derive(Debug, Args)]
pub struct DosingArguments {
    /// The lot's label: all its barrels, or those of the racks and stacks that are named
    #[arg(required_unless_present_any = ["racks", "stacks", "vessels"])]
    pub lot: Option<String>,
    /// The barrels of this rack, like long/A-03-2; may be said again
    #[arg(long = "rack", value_name = "PLACE")]
    pub racks: Vec<RackPlace>,
    /// The barrels of this stack, like long/A-03; may be said again
    #[arg(long = "stack", value_name = "PLACE", value_parser = stack)]
    pub stacks: Vec<RackPlace>,
    /// This vessel; may be said again
    #[arg(long = "vessel", value_name = "LABEL", conflicts_with_all = ["lot", "racks", "stacks"])]
    pub vessels: Vec<String>,
    /// The molecular sulfur dioxide that is wanted [default: the house's]
    #[arg(long, value_name = "MG_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub target: Option<f64>,
    /// The free that is wanted instead; asks for no pH
    #[arg(long, value_name = "MG_L", value_parser = parse_decimal, allow_negative_numbers = true, conflicts_with = "target")]
    pub free: Option<f64>,
    /// Add so much in all instead, whatever is there; asks for no test
    #[arg(long, value_name = "MG_L", value_parser = parse_decimal, allow_negative_numbers = true, conflicts_with_all = ["target", "free"])]
    pub add: Option<f64>,
    /// In which form: powder, gas, or solution of so many grams of metabisulfite in 100 mL
    #[arg(long = "as", value_name = "powder, solution:10% or gas", default_value = "solution:10%", value_parser = form)]
    pub form: Form,
    /// A dose of its own for each barrel, or the mean for the barrels of a stack or for all
    #[arg(long, value_enum, default_value_t = PerWord::Barrel)]
    pub per: PerWord,
    /// The share that is bound at once, a part of one [default: a third, common practice]
    #[arg(long, value_name = "PART", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub bound: Option<f64>,
    /// Whether it begins.
    #[command(flatten)]
    pub begin: Begin,
}

impl DosingArguments {
    /// What the doses are to reach, where the house wants so much molecular.
    #[must_use]
    pub fn goal(&self, house_mg_l: f64) -> Goal {
        match (self.free, self.add) {
            (Some(free), _) => Goal::Free(free),
            (None, Some(total)) => Goal::Add(total),
            (None, None) => Goal::Molecular(self.target.unwrap_or(house_mg_l)),
        }
    }
}

/// Over which barrels a dose is evened out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PerWord {
    /// Each barrel for itself.
    Barrel,
    /// The barrels of a stack alike.
    Stack,
    /// All alike.
    Lot,
}

impl From<PerWord> for Per {
    fn from(word: PerWord) -> Per {
        match word {
            PerWord::Barrel => Per::Barrel,
            PerWord::Stack => Per::Stack,
            PerWord::Lot => Per::Lot,
        }
    }
}

/// A stack by the rack at its foot.
fn stack(text: &str) -> Result<RackPlace, String> {
    let wrong = |_| format!("'{text}' is no stack. Write room/row-stack, like long/A-03.");
    format!("{text}-1").parse().map_err(wrong)
}

/// Reads a form: `powder`, `gas`, `solution`, `solution:10%`.
fn form(text: &str) -> Result<Form, String> {
    let say = || format!("'{text}' is no form. Say powder, gas, or solution:10%.");
    match text.split_once(':') {
        None => match text {
            "powder" => Ok(Form::Powder),
            "gas" => Ok(Form::Gas),
            "solution" => Ok(Form::Solution(Solution::USUAL)),
            _ => Err(say()),
        },
        Some(("solution", strength)) => {
            let percent = parse_decimal(strength.trim_end_matches('%').trim_end()).map_err(|_| say())?;
            Solution::new(percent).map(Form::Solution).map_err(|error| error.to_string())
        }
        Some(_) => Err(say()),
    }
}
