//! What can be said of everything that a command enters.

use clap::Args;

use super::moment::said;
use crate::cellar::core::label::Text;
pub use crate::cellar::core::when::When;

/// Who enters something and when it happened, and what was asked about it before.
#[derive(Debug, Args)]
pub struct Entering {
    /// When it happened: a day, a time or both, by the clock on the wall where no offset stands with it, like 27 Nov, yesterday 14:30; a day
    /// alone is its noon [default: now]
    #[arg(long, value_name = "DATE-TIME", value_parser = said)]
    pub at: Option<When>,
    /// Who enters it, or for whom it is entered [default: the variable `BARRELWALK_BY`, else `by` in your looks, else your user name]
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// Words that are kept beside it
    #[arg(long, value_name = "WORDS", value_parser = |text: &str| Text::new(text))]
    pub note: Option<Text>,
    /// It is so, though it surprises
    #[arg(long)]
    pub sure: bool,
    /// Why it is done though a vessel is held or a checklist is open; the words are kept
    #[arg(long, value_name = "WHY", value_parser = |text: &str| Text::new(text))]
    pub despite: Option<Text>,
}
