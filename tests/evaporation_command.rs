//! `reckon evaporation` as another program meets it.
#![allow(clippy::unwrap_used)]

use std::path::Path;
use std::process::{Command, Output, Stdio};

use barrelwalk::cellar::moment::Moment;
use barrelwalk::desk::{Desk, create_demo};
use serde_json::Value;

fn run(cellar: &Path, words: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_barrelwalk"));
    command.args(["reckon", "evaporation", "--cellar"]).arg(cellar).args(words).stdin(Stdio::null());
    command.output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn morning() -> Moment {
    Moment::parse("2025-11-25T06:41:00+01:00").unwrap()
}

#[test]
fn months_are_listed_for_programs_and_people() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("demo.cellar");
    create_demo(&path, morning()).unwrap();
    let all: Value = serde_json::from_slice(&run(&path, &["--format", "json"]).stdout).unwrap();
    let rows = all.as_array().unwrap();
    assert!(rows.len() > 12);
    for row in rows {
        let number = |field: &str| row[field].as_f64().unwrap();
        let Some(daily) = row["ul_per_barrel_and_day"].as_f64() else { continue };
        let expected = number("evaporation_ul") / number("barrel_days");
        assert!((daily - expected).abs() <= 0.01 * expected + 1.0, "{row}");
    }
    let room = rows[0]["room"].as_str().unwrap();
    let one = text(&run(&path, &["--room", room, "--format", "csv"]).stdout);
    assert_eq!(one.lines().next(), Some("room,month,evaporation_ul,barrel_days,ul_per_barrel_and_day"));
    assert_eq!(one.lines().count(), 1 + rows.iter().filter(|row| row["room"] == room).count());
    let people = text(&run(&path, &[]).stdout);
    assert!(people.lines().next().unwrap().contains("mL per barrel and day"), "{people}");
}

#[test]
fn a_room_that_is_not_there_and_a_cellar_that_is_empty_give_sentences() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("empty.cellar");
    Desk::create(&path, morning()).unwrap();
    let empty = run(&path, &[]);
    assert_eq!(empty.status.code(), Some(0));
    assert!(text(&empty.stdout).ends_with("so nothing is known by month.\n"));
    let unknown = run(&path, &["--room", "attic"]);
    assert_eq!(unknown.status.code(), Some(1));
    assert!(text(&unknown.stderr).contains("No room is called 'attic'."), "{}", text(&unknown.stderr));
}
