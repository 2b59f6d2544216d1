//! What can be said of the care of empty wood on the command line.

use clap::Args;

use crate::cellar::jobs::wood::care::Care;
use crate::cli::arguments::topping::plan::Begin;

/// What care of empty wood needs to know.
#[derive(Debug, Args)]
pub struct CareArguments {
    /// rinsed, steamed, ozonated, sulfured, soaked or dried
    #[arg(value_parser = care)]
    pub care: Care,
    /// Only the barrels of this room
    #[arg(long, value_name = "ROOM")]
    pub room: Option<String>,
    /// Whether it begins.
    #[command(flatten)]
    pub begin: Begin,
}

fn care(text: &str) -> Result<Care, String> {
    Care::ALL.into_iter().find(|care| care.word() == text).ok_or_else(|| {
        let words: Vec<&str> = Care::ALL.iter().map(|care| care.word()).collect();
        format!("Say one of {}.", words.join(", "))
    })
}
