//! What can be said of a barrel's sizes and dips on the command line.

use clap::{Args, ValueEnum};

use crate::cli::arguments::books::sheets::Print;
use crate::cli::arguments::core::volume::litres;
use crate::reckon::gauging::Curve;
use crate::units::{Volume, parse_millimetres};

/// What a barrel's volume needs to know.
#[derive(Debug, Args)]
pub struct BarrelArguments {
    /// Inside diameter at the bilge
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true)]
    pub bilge: f64,
    /// Inside diameter at a head
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true)]
    pub head: f64,
    /// Inside length between the heads
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true)]
    pub length: f64,
    /// The curve of the staves
    #[arg(long, value_enum, default_value_t = CurveWord::Parabola)]
    pub curve: CurveWord,
}

/// Inside sizes of a barrel, all or none.
#[derive(Clone, Copy, Debug, Default, Args)]
pub struct Sizes {
    /// Inside diameter at the bilge
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true, requires_all = ["head", "length"])]
    pub bilge: Option<f64>,
    /// Inside diameter at a head
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true, requires = "bilge")]
    pub head: Option<f64>,
    /// Inside length between the heads
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true, requires = "bilge")]
    pub length: Option<f64>,
    /// The curve of the staves [default: parabola]
    #[arg(long, value_enum, requires = "bilge")]
    pub curve: Option<CurveWord>,
}

/// What a dip needs to know.
#[derive(Debug, Args)]
pub struct DipArguments {
    /// A shape of the trade, like bordeaux, burgundy or hogshead
    #[arg(long, required_unless_present = "bilge")]
    pub shape: Option<String>,
    /// Its own sizes.
    #[command(flatten)]
    pub sizes: Sizes,
    /// What it holds, measured [default: what its shape or sizes hold]
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub capacity: Option<Volume>,
    /// The depth of the headspace under the bung
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true, required_unless_present = "missing")]
    pub dip: Option<f64>,
    /// What is missing: gives the dip instead
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true, conflicts_with = "dip")]
    pub missing: Option<Volume>,
}

/// What a dip table needs to know.
#[derive(Debug, Args)]
pub struct DipSheetArguments {
    /// A shape of the trade, like bordeaux, burgundy or hogshead
    #[arg(required_unless_present_any = ["bilge", "vessel"])]
    pub shape: Option<String>,
    /// A barrel of the cellar
    #[arg(long, value_name = "LABEL", conflicts_with_all = ["shape", "bilge", "capacity"])]
    pub vessel: Option<String>,
    /// Its own sizes.
    #[command(flatten)]
    pub sizes: Sizes,
    /// What it holds, measured [default: what its shape or sizes hold]
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub capacity: Option<Volume>,
    /// How it is printed.
    #[command(flatten)]
    pub print: Print,
}

/// The curve of a barrel's staves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum CurveWord {
    /// An arc of a circle.
    Arc,
    /// A parabola.
    Parabola,
    /// An ellipse.
    Ellipse,
}

impl From<CurveWord> for Curve {
    fn from(word: CurveWord) -> Curve {
        match word {
            CurveWord::Arc => Curve::Arc,
            CurveWord::Parabola => Curve::Parabola,
            CurveWord::Ellipse => Curve::Ellipse,
        }
    }
}
