//! How the full screen looks, on the command line.

use clap::Args;

pub use crate::tui::core::theme::Palette;

/// How the full screen looks, and who enters.
#[derive(Debug, Clone, Default, Args)]
pub struct Screen {
    /// Who enters what is entered [default: the variable `BARRELWALK_BY`, else `by` in your looks, else your user name]
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// The colours: for any terminal, a dark cellar, a bright aisle, or none [default: dusk, or mono under `NO_COLOR`]
    #[arg(long, value_name = "PALETTE")]
    pub palette: Option<Palette>,
    /// Draw with ASCII characters only
    #[arg(long)]
    pub ascii: bool,
    /// Look only; enter nothing
    #[arg(long)]
    pub read_only: bool,
}
