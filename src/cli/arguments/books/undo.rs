//! What can be said of taking back and giving back.

use clap::Args;

use crate::cellar::core::fact::FactId;
use crate::cli::arguments::core::fact::fact;

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

/// What is taken back.
#[derive(Debug, Args)]
pub struct TakeBackArguments {
    /// The fact, as the journal names it, whoever entered it; one that takes another back gives that back by it [default: the last act of this
    /// laptop]
    #[arg(value_name = "DEVICE:N", value_parser = fact)]
    pub of: Option<FactId>,
    /// All that was entered with it
    #[arg(long, requires = "of")]
    pub act: bool,
    /// Say what it would be, and enter nothing
    #[arg(long, requires = "of")]
    pub dry_run: bool,
    /// Who takes it back.
    #[command(flatten)]
    pub undo: UndoArguments,
}
