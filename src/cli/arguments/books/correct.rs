//! What can be said of a correction.

use clap::Args;

use crate::cellar::core::fact::FactId;
use crate::cli::arguments::core::entering::Entering;
use crate::cli::arguments::core::fact::fact;

/// The fact that is put right, and what is otherwise.
#[derive(Debug, Args)]
#[command(
    after_help = "It is one act, which undo takes back. --at is when it happened (a day alone keeps the time), --note the words beside it. Who did it stays, \
                  unless who=NAME or --by says another; without either you only correct it."
)]
pub struct CorrectArguments {
    /// The fact, as the journal names it, whoever entered it
    #[arg(value_name = "DEVICE:N", value_parser = fact)]
    pub of: FactId,
    /// What is otherwise: litres=2.5 cause=leak who=Ana; nothing behind the sign takes away what stood there
    #[arg(value_name = "FIELD=VALUE", value_parser = field)]
    pub fields: Vec<(String, String)>,
    /// Say what it would be, and enter nothing
    #[arg(long)]
    pub dry_run: bool,
    /// Who enters it and when it happened, and what was asked about it before.
    #[command(flatten)]
    pub entering: Entering,
}

fn field(text: &str) -> Result<(String, String), String> {
    let (name, value) = text.split_once('=').ok_or("write it like litres=2.5")?;
    Ok((name.trim().to_lowercase(), value.trim().to_owned()))
}
