//! What can be said of dates that a wrong clock gave.

use clap::Args;

use crate::cellar::core::fact::Device;
use crate::cli::arguments::core::entering::When;
use crate::cli::arguments::core::moment::said;

/// Which facts are dated wrongly, and when they happened.
#[derive(Debug, Args)]
pub struct MendDatesArguments {
    /// When the first of them happened: a day, on which it keeps its time, or a day and a time; the others keep their distance to it
    #[arg(value_name = "DATE-TIME", value_parser = said)]
    pub first: Option<When>,
    /// Under which name they were entered, where several laptops were ahead [default: whoever is; of numbers, this laptop]
    #[arg(long, value_name = "DEVICE", value_parser = |text: &str| Device::new(text))]
    pub device: Option<Device>,
    /// The number of the first one, as export gives it [default: all that lies ahead of the clock]
    #[arg(long, value_name = "N", requires = "to", requires = "first")]
    pub from: Option<u64>,
    /// The number of the last one
    #[arg(long, value_name = "N", requires = "from")]
    pub to: Option<u64>,
    /// Say what would be mended, and enter nothing
    #[arg(long)]
    pub dry_run: bool,
    /// Who mends them [default: the variable `BARRELWALK_BY`, else `by` in your looks, else your user name]
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// It is so, though later facts would no longer fit
    #[arg(long)]
    pub sure: bool,
}
