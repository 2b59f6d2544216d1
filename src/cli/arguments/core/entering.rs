//! What can be said of everything that a command enters.

use clap::Args;

use crate::cellar::core::label::Text;

/// Who enters something, and what was asked about it before.
#[derive(Debug, Args)]
pub struct Entering {
    /// Who enters it [default: the variable `BARRELWALK_BY`, else your user name]
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// It is so, though it surprises
    #[arg(long)]
    pub sure: bool,
    /// Why it is done though a vessel is held or a checklist is open; the words are kept
    #[arg(long, value_name = "WHY", value_parser = |text: &str| Text::new(text))]
    pub despite: Option<Text>,
}
