//! Writes the demo cellar: `cargo run --example generate-demo-cellar` prints the facts, and
//! `cargo run --example generate-demo-cellar -- demo-cellar/facts.jsonl` writes them to a file.

mod generator;

use std::io::Write;

fn main() -> anyhow::Result<()> {
    let facts = generator::facts()?;
    match std::env::args_os().nth(1) {
        Some(file) => std::fs::write(file, facts)?,
        None => std::io::stdout().lock().write_all(facts.as_bytes())?,
    }
    Ok(())
}
