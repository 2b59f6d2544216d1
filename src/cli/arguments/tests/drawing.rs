//! What can be said of a sample that is planned, on the command line.

use clap::Args;

use crate::cellar::core::label::Label;
use crate::cli::arguments::core::entering::Entering;
use crate::cli::arguments::core::volume::millilitres;
use crate::units::Volume;

/// What the plan of a sample needs to know.
#[derive(Debug, Args)]
pub struct SamplePlanArguments {
    /// The lot's label
    pub lot: String,
    /// How much sample there is to be, in mL unless a unit is said
    #[arg(long, value_name = "SIZE", value_parser = millilitres, allow_negative_numbers = true, default_value = "750 mL")]
    pub of: Volume,
    /// It is drawn as planned: enter it as the composite of this label
    #[arg(long, value_name = "SAMPLE", value_parser = |text: &str| Label::new(text))]
    pub drawn: Option<Label>,
    /// Who enters it, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
}
