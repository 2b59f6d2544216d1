//! What can be planned, and whether it begins.

use crate::cli::arguments::core::entering::Entering;
use clap::{Args, Subcommand};

use crate::cli::arguments::bench::blend::BlendPlanArguments;
use crate::cli::arguments::bottles::bottling::BottlingPlanArguments;
use crate::cli::arguments::finish::fining::FiningPlanArguments;
use crate::cli::arguments::tests::dosing::DosingArguments;
use crate::cli::arguments::tests::drawing::SamplePlanArguments;
use crate::cli::arguments::wood::care::CareArguments;
use crate::cli::arguments::wood::fill::FillArguments;
use crate::cli::arguments::wood::racking::RackingArguments;
use crate::cli::arguments::wood::returning::ReturnArguments;

/// What can be planned.
#[derive(Debug, Subcommand)]
pub enum Work {
    /// A round: where to walk and what to carry
    Round {
        /// The room's label
        room: String,
    },
    /// A barrel-down: which empties to fill so that the wine lies in a wanted mix of wood
    Fill(FillArguments),
    /// A blend: the largest batch of a ratio, the transfers, what stays, and what it would be
    Blend(BlendPlanArguments),
    /// A racking: which barrels go into a tank, and whether it has room
    Racking(RackingArguments),
    /// The way back of a racking: a tank's wine into the barrels that it came from
    Return(ReturnArguments),
    /// Sulfur dioxide: which barrels are given how much of it
    Sulfur(DosingArguments),
    /// A sample of a lot: how much to draw of each vessel, in proportion to what it holds
    Sample(SamplePlanArguments),
    /// A bottling: bottles, cases, closures, capsules, labels and pallets
    Bottling(BottlingPlanArguments),
    /// A fining: the dose that a fining trial chose, scaled to a vessel
    Fining(FiningPlanArguments),
    /// Care of the empty barrels that are due for it
    Care(CareArguments),
}

/// Whether what is planned begins, and who begins it.
#[derive(Debug, Args)]
pub struct Begin {
    /// Begin it as a work of this label, to be walked on the screen
    #[arg(long, value_name = "LABEL")]
    pub begin: Option<String>,
    /// Who begins it, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
}
