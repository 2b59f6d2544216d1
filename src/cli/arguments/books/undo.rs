//! What can be said of taking back and giving back.

use clap::Args;

/// Who takes back or gives back, and what was asked about it before.
#[derive(Debug, Args)]
pub struct UndoArguments {
    /// Who enters it [default: the variable `BARRELWALK_BY`, else `by` in your looks, else your user name]
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// It is so, though later facts rest on it
    #[arg(long)]
    pub sure: bool,
}
