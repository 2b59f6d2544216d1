//! What can be said of blends on the command line.

use std::path::PathBuf;

use clap::Args;

use crate::cli::arguments::core::volume::litres;
use crate::cli::arguments::topping::plan::Begin;
use crate::reckon::acidity::Profile;
use crate::reckon::blend::{Quantity, Wine};
use crate::reckon::scale_up::Tolerance;
use crate::units::{Volume, VolumeUnit, parse_decimal, parse_percent};

/// What the balance of a wine's acids needs to know.
#[derive(Clone, Copy, Debug, Args)]
pub struct AcidityArguments {
    /// Its pH
    #[arg(long, value_name = "PH", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub ph: f64,
    /// Its titratable acidity as tartaric acid
    #[arg(long, value_name = "G_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub ta: Option<f64>,
    /// Its alcohol [default: 12]
    #[arg(long, value_name = "PCT", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub alcohol: Option<f64>,
    /// Its tartaric acid
    #[arg(long, value_name = "G_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub tartaric: Option<f64>,
    /// Its malic acid
    #[arg(long, value_name = "G_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub malic: Option<f64>,
    /// Its lactic acid
    #[arg(long, value_name = "G_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub lactic: Option<f64>,
    /// Its succinic acid
    #[arg(long, value_name = "G_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub succinic: Option<f64>,
    /// Its volatile acidity as acetic acid
    #[arg(long, value_name = "G_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub va: Option<f64>,
    /// It has not gone through malolactic fermentation; a test of malic acid knows better
    #[arg(long)]
    pub no_malolactic: bool,
}

/// A wine of a blend, as it is said: how much of it, and what was found.
#[derive(Clone, Debug, PartialEq)]
pub struct WineOfBlend {
    /// What it is called.
    pub name: String,
    /// How much of it.
    pub volume: Volume,
    /// What was found.
    pub wine: Wine,
}

/// What a blend needs to know.
#[derive(Clone, Debug, Args)]
pub struct BlendArguments {
    /// A spreadsheet of the wines with the columns wine, litres, ph and those of a test that are known
    #[arg(value_name = "FILE.csv", required_unless_present = "wines")]
    pub file: Option<PathBuf>,
    /// A wine: its name and litres, and behind them what was tested; as often as there are wines
    #[arg(long = "wine", value_name = "'A=300L ph=3.5 alcohol_pct=13 ta_g_l=6.1'", value_parser = wine, conflicts_with = "file")]
    pub wines: Vec<WineOfBlend>,
    /// They have not gone through malolactic fermentation; a test of malic acid knows better
    #[arg(long)]
    pub no_malolactic: bool,
}

/// What Pearson's square needs to know.
#[derive(Clone, Copy, Debug, Args)]
pub struct SquareArguments {
    /// What the first wine has: alcohol, acidity or anything else that mixes by volume
    #[arg(long, value_name = "VALUE", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub first: f64,
    /// What the second has
    #[arg(long, value_name = "VALUE", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub second: f64,
    /// What the blend is to have
    #[arg(long, value_name = "VALUE", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub wanted: f64,
    /// How much there is of the first: tells how much of the second to add
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub litres: Option<Volume>,
}

/// What the plan of a blend needs to know.
#[derive(Debug, Args)]
pub struct BlendPlanArguments {
    /// A vessel or a lot and its share, like T1=40%; as often as there are wines
    #[arg(long = "share", value_name = "LABEL=PCT", value_parser = share, required = true)]
    pub shares: Vec<(String, u32)>,
    /// The vessel that it is made in; its own wine may be one of them
    #[arg(long, value_name = "VESSEL")]
    pub into: Option<String>,
    /// What is kept back of a wine for topping, like T1=200L; may be said again
    #[arg(long, value_name = "LABEL=LITRES", value_parser = kept)]
    pub keep: Vec<(String, Volume)>,
    /// A wine that is to go whole, so that nothing of it stays; may be said again
    #[arg(long, value_name = "LABEL")]
    pub whole: Vec<String>,
    /// By how much a share may differ where that makes more wine, like 1%
    #[arg(long, value_name = "PCT")]
    pub tolerance: Option<Tolerance>,
    /// How much of it [default: all that can be made]
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub litres: Option<Volume>,
    /// A lot gives its barrels before its tanks [default: tanks first]
    #[arg(long)]
    pub barrels_first: bool,
    /// The lot that it is; it is opened where there is none of that label
    #[arg(long, value_name = "LOT", requires = "begin")]
    pub lot: Option<String>,
    /// Whether it begins; it needs --into and --lot.
    #[command(flatten)]
    pub begin: Begin,
}

/// What a blend under way needs to know.
#[derive(Clone, Debug, Args)]
pub struct CourseArguments {
    /// A wine and its share, like A=40%; as often as there are wines
    #[arg(long = "share", value_name = "WINE=PCT", value_parser = share, required = true)]
    pub shares: Vec<(String, u32)>,
    /// What has arrived of a wine by measure, like A=820L
    #[arg(long, value_name = "WINE=LITRES", value_parser = kept)]
    pub arrived: Vec<(String, Volume)>,
    /// What is still there of a wine, like A=180L
    #[arg(long, value_name = "WINE=LITRES", value_parser = kept)]
    pub there: Vec<(String, Volume)>,
    /// What the blend was planned to be
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub planned: Volume,
    /// What the receiving tank can hold of it
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub room: Option<Volume>,
    /// By how much a share may differ at the end [default: 1%]
    #[arg(long, value_name = "PCT")]
    pub tolerance: Option<Tolerance>,
}

/// A label before its last `=`, for labels may hold any sign.
fn labelled<'a>(text: &'a str, like: &str) -> Result<(String, &'a str), String> {
    let (label, value) = text.rsplit_once('=').ok_or_else(|| format!("Write it like {like}."))?;
    Ok((label.trim().to_owned(), value))
}

fn share(text: &str) -> Result<(String, u32), String> {
    let (label, percent) = labelled(text, "T1=40%")?;
    Ok((label, parse_percent(percent).map_err(|error| error.to_string())?))
}

fn kept(text: &str) -> Result<(String, Volume), String> {
    let (label, volume) = labelled(text, "T1=200L")?;
    Ok((label, Volume::parse(volume, VolumeUnit::customary()).map_err(|error| error.to_string())?))
}

/// Reads a wine like `A=300L ph=3.5 ta_g_l=6`.
fn wine(text: &str) -> Result<WineOfBlend, String> {
    let mut words = text.split_whitespace();
    let (name, volume) = labelled(words.next().unwrap_or_default(), "'A=300L ph=3.5 ta_g_l=6'")?;
    let volume = Volume::parse(volume, VolumeUnit::customary()).map_err(|error| error.to_string())?;
    let mut wine = Wine::of_ph(None, Profile::AfterMalolactic);
    for word in words {
        let (field, value) = labelled(word, "ta_g_l=6.1")?;
        wine = value_of_wine(wine, &field, value)?;
    }
    Ok(WineOfBlend { name, volume, wine })
}

/// A wine with one value that is said of it.
pub fn value_of_wine(mut wine: Wine, field: &str, text: &str) -> Result<Wine, String> {
    let number = || parse_decimal(text).map_err(|error| error.to_string());
    if field == "ph" {
        wine.ph = Some(number()?);
        return Ok(wine);
    }
    let Some(quantity) = Quantity::ALL.into_iter().find(|quantity| quantity.field() == field) else {
        let known: Vec<&str> = Quantity::ALL.iter().map(|quantity| quantity.field()).collect();
        return Err(format!("'{field}' is not known. Use ph, {}.", known.join(", ")));
    };
    Ok(wine.with(quantity, Some(number()?)))
}
