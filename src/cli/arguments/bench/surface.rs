//! What can be said of a surface on the command line.

use std::path::PathBuf;

use clap::Args;

use crate::reckon::surface::PANELS;
use crate::units::parse_decimal;

/// What a surface needs to know.
#[derive(Clone, Debug, Args)]
pub struct SurfaceArguments {
    /// The ratings: CSV with the columns taster, score, flight and glass if you like, and one for each component with its share
    pub file: PathBuf,
    /// The least share of a component, like north=10%; as often as there are bounds [default: as poured]
    #[arg(long, value_name = "NAME=SHARE", value_parser = bound)]
    pub least: Vec<(String, f64)>,
    /// The most of a component, like north=40%; as often as there are bounds [default: as poured]
    #[arg(long, value_name = "NAME=SHARE", value_parser = bound)]
    pub most: Vec<(String, f64)>,
    /// The scores are ranks, 1 the best of the flight
    #[arg(long)]
    pub ranks: bool,
    /// Read this taster alone
    #[arg(long, value_name = "NAME")]
    pub taster: Option<String>,
    /// Say how sure it is too: the chance, all glasses, polynomials and their lack of fit
    #[arg(long)]
    pub how_sure: bool,
    /// How many panels to draw, to tell where others would find the best
    #[arg(long, value_name = "N", default_value_t = PANELS as u32, value_parser = clap::value_parser!(u32).range(..=100_000))]
    pub panels: u32,
    /// The seed by which they are drawn
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
}

/// Reads a component and a share.
fn bound(text: &str) -> Result<(String, f64), String> {
    let wrong = || format!("'{text}' is no bound. Write it like north=10% or north=0.1.");
    let (name, share) = text.rsplit_once('=').ok_or_else(wrong)?;
    let (number, whole) = share.trim().strip_suffix('%').map_or((share, 1.0), |percent| (percent, 100.0));
    let share = parse_decimal(number.trim()).map_err(|_| wrong())? / whole;
    if (0.0..=1.0).contains(&share) { Ok((name.trim().to_owned(), share)) } else { Err(wrong()) }
}
