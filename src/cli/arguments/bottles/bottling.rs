//! What can be said of bottles on the command line.

use clap::{Args, Subcommand};

use crate::cellar::core::label::Label;
use crate::cli::arguments::books::rules::SideWord;
use crate::cli::arguments::core::entering::Entering;
use crate::cli::arguments::core::volume::{litres, millilitres};
use crate::told::usual;
use crate::units::{Volume, parse_decimal, parse_percent};

/// What a count of bottles needs to know beside the wine.
#[derive(Clone, Copy, Debug, Args)]
pub struct Bottles {
    /// What a bottle holds, like 750mL or 1.5L
    #[arg(long, value_name = "SIZE", value_parser = millilitres, allow_negative_numbers = true, default_value = usual::BOTTLE)]
    pub bottle: Volume,
    /// What is expected to be lost of the wine; common practice 1% of a small tank
    #[arg(long, value_name = "PCT", value_parser = parse_percent, allow_negative_numbers = true, default_value = usual::BOTTLING_LOSS)]
    pub loss: u32,
    /// Bottles in a case
    #[arg(long, value_name = "BOTTLES", default_value_t = usual::CASE, value_parser = clap::value_parser!(u32).range(1..))]
    pub case: u32,
    /// Cases on a pallet
    #[arg(long, value_name = "CASES", default_value_t = usual::PALLET, value_parser = clap::value_parser!(u32).range(1..))]
    pub pallet: u32,
    /// What is ordered of bottles, closures, capsules and labels beyond the count
    #[arg(long, value_name = "PCT", value_parser = parse_percent, allow_negative_numbers = true, default_value = usual::DRY_GOODS_SPARE)]
    pub spare: u32,
}

/// What the bottles of some wine need to know.
#[derive(Clone, Copy, Debug, Args)]
pub struct BottlesArguments {
    /// How much wine there is
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub litres: Volume,
    /// Into what it goes.
    #[command(flatten)]
    pub bottles: Bottles,
}

/// What a plan of a bottling needs to know.
#[derive(Clone, Debug, Args)]
pub struct BottlingPlanArguments {
    /// The label of the vessel that is bottled
    pub tank: String,
    /// Bottle only so many litres [default: all that it holds]
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub litres: Option<Volume>,
    /// Into what it goes.
    #[command(flatten)]
    pub bottles: Bottles,
}

/// What a check of fills needs to know.
#[derive(Clone, Debug, Args)]
pub struct FillsArguments {
    /// What single bottles hold, in mL unless a unit is said
    #[arg(value_name = "ML", value_parser = millilitres, required = true)]
    pub fills: Vec<Volume>,
    /// What stands on the label, in mL unless a unit is said
    #[arg(long, value_name = "SIZE", value_parser = millilitres, allow_negative_numbers = true, default_value = usual::BOTTLE)]
    pub nominal: Volume,
    /// By whose rules
    #[arg(long, value_enum)]
    pub rules: SideWord,
    /// European Union: the fills are the sample of a batch of so many bottles, an hour's output (Directive 76/211/EEC, Annex II)
    #[arg(long, value_name = "BOTTLES")]
    pub batch: Option<u64>,
    /// The bottles of the sample were opened for it
    #[arg(long, requires = "batch")]
    pub destructive: bool,
}

/// What a fill point needs to know.
#[derive(Clone, Copy, Debug, Args)]
pub struct FillPointArguments {
    /// How warm the wine is at the filler
    #[arg(long, value_name = "CELSIUS", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub temperature: f64,
}

/// What the alcohol on a label needs to know.
#[derive(Clone, Copy, Debug, Args)]
pub struct LabelAlcoholArguments {
    /// What stands on the label
    #[arg(long, value_name = "PCT_VOL", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub label: f64,
    /// What was found
    #[arg(long, value_name = "PCT_VOL", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub found: f64,
    /// By whose rules
    #[arg(long, value_enum)]
    pub rules: SideWord,
    /// European Union: a protected origin after more than three years in bottle, a sparkling, a liqueur or an overripe wine
    #[arg(long)]
    pub wider: bool,
}

/// What is done with a bottle.
#[derive(Debug, Subcommand)]
pub enum BottleStep {
    /// A bottle was opened and tasted; it is out by that
    Taste {
        /// The lot code on it, or the label of its run
        #[arg(value_name = "LOT_CODE")]
        bottles: String,
        /// The taste: a score first if there is one, then marks or their keys, then your own words
        taste: String,
        /// The place that it was taken from [default: from anywhere, what is not laid away first]
        #[arg(long, value_name = "PLACE", value_parser = |text: &str| Label::new(text))]
        from: Option<Label>,
        /// How many bottles were opened for it; 0 where it had gone out before
        #[arg(long, value_name = "BOTTLES", default_value_t = 1)]
        opened: u32,
        /// Who enters it, and what was asked before.
        #[command(flatten)]
        entering: Entering,
    },
}
