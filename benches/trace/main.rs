//! What a trace costs in a house of ten years, from the command that is typed to the last line of its answer: the real
//! program on a real file, each time a new process.
//!
//! `cargo bench --bench trace`
#![allow(clippy::unwrap_used, clippy::cast_precision_loss)]

#[path = "../support/book.rs"]
mod book;
mod house;
#[path = "../support/written.rs"]
mod written;

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use barrelwalk::desk::{Access, Desk};

/// Times that each command is run; the quickest counts, since another program can only make it slower.
const TIMES: usize = 9;

fn main() {
    let house = house::house();
    let desk = Desk::open(&house, Access::ReadOnly).unwrap();
    let state = desk.state();
    println!("{} facts, {} discrepancies, {} runs", state.facts, state.discrepancies.len(), state.runs.iter().count());
    drop(desk);
    let (first, last) = (house::lot_code(0, 3, 5), house::lot_code(house::YEARS - 1, 3, 5));
    let barrel = house::barrel(3, 17);
    timed(&house, &["trace", "run", "--code", &first]);
    timed(&house, &["trace", "run", "--code", &last]);
    timed(&house, &["trace", "vessel", &barrel, "--forward"]);
    timed(&house, &["trace", "material", "egg white"]);
    timed(&house, &["trace", "material", "SO2"]);
}

fn timed(house: &Path, words: &[&str]) {
    let before = processor_milliseconds();
    let mut milliseconds: Vec<f64> = (0..TIMES).map(|_| once(house, words)).collect();
    milliseconds.sort_by(f64::total_cmp);
    let processor = before.zip(processor_milliseconds()).map(|(before, after)| (after - before) / TIMES as f64);
    println!(
        "{}: {:.0} ms at best, {:.0} ms in the middle, {:.0} ms of the processor",
        words.join(" "),
        milliseconds[0],
        milliseconds[TIMES / 2],
        processor.unwrap_or(f64::NAN),
    );
}

fn once(house: &Path, words: &[&str]) -> f64 {
    let begun = Instant::now();
    let mut command = Command::new(env!("CARGO_BIN_EXE_barrelwalk"));
    let output = command.args(words).arg("--cellar").arg(house).stdin(Stdio::null()).output().unwrap();
    let taken = begun.elapsed().as_secs_f64() * 1e3;
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(output.stdout.len() > 100, "{words:?} tells something");
    taken
}

/// Milliseconds that the processes which have ended spent on a processor; unlike time, hardly more on a busy machine.
/// Nothing where the system does not say.
fn processor_milliseconds() -> Option<f64> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    let ticks: Vec<f64> = stat.rsplit(')').next()?.split(' ').skip(14).take(2).map_while(|n| n.parse().ok()).collect();
    // A tick is a hundredth of a second.
    (ticks.len() == 2).then(|| ticks.iter().sum::<f64>() * 10.0)
}
