//! `plan racking`, `plan care` and `list empties`, as another program meets them.
#![allow(clippy::unwrap_used)] // in what the tests share

use std::fs;
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

/// A folder with a cellar in it: room `long`, lot `R` in three barrels of 225 L and in tank `T`, an empty tank `X` of
/// 700 L, a tank `W` of another lot, an empty barrel.
struct Desk(TempDir);

const FACTS: &[&str] = &[
    r#""kind":"room_laid_out","room":"long","rows":[{"row":"A","stacks":2,"tiers":2,"sides":2}]"#,
    r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2026,"appellation":"Hillside","colour":"red""#,
    r#""kind":"lot_opened","lot":"R","colour":"red""#,
    r#""kind":"lot_opened","lot":"S","colour":"red""#,
    r#""kind":"vessel_registered","vessel":"X","type":"tank","capacity_ul":700000000"#,
    r#""kind":"vessel_registered","vessel":"Y","type":"tank","capacity_ul":600000000"#,
    r#""kind":"vessel_registered","vessel":"W","type":"tank","capacity_ul":900000000"#,
    r#""kind":"wine_received","vessel":"W","lot":"S","parts":[{"origin":"o","volume_ul":100000000}]"#,
    r#""kind":"vessel_registered","vessel":"0401","type":"barrel","capacity_ul":225000000"#,
    r#""kind":"vessel_registered","vessel":"0402","type":"barrel","capacity_ul":225000000"#,
    r#""kind":"vessel_registered","vessel":"0403","type":"barrel","capacity_ul":225000000"#,
    r#""kind":"vessel_registered","vessel":"0404","type":"barrel","capacity_ul":225000000"#,
    r#""kind":"vessel_placed","vessel":"0403","place":"long/A-01-1-a""#,
    r#""kind":"vessel_placed","vessel":"0401","place":"long/A-01-1-b""#,
    r#""kind":"vessel_placed","vessel":"0402","place":"long/A-02-1-a""#,
    r#""kind":"vessel_placed","vessel":"0404","place":"long/A-02-1-b""#,
    r#""kind":"wine_received","vessel":"0401","lot":"R","parts":[{"origin":"o","volume_ul":225000000}]"#,
    r#""kind":"wine_received","vessel":"0402","lot":"R","parts":[{"origin":"o","volume_ul":225000000}]"#,
    r#""kind":"wine_received","vessel":"0403","lot":"R","parts":[{"origin":"o","volume_ul":225000000}]"#,
    r#""kind":"wine_received","vessel":"0404","lot":"S","parts":[{"origin":"o","volume_ul":225000000}]"#,
    r#""kind":"wine_moved","from":"0404","to":"W","volume_ul":221000000,"purpose":"racking","empties":true"#,
];

impl Desk {
    fn new() -> Desk {
        let desk = Desk(tempfile::tempdir().unwrap());
        desk.told(&["new", "c"]);
        let lines: Vec<String> = (0..)
            .zip(FACTS)
            .map(|(minute, fact)| format!(r#"{{"at":"2026-09-01T08:{minute:02}:00+02:00","by":"mk",{fact}}}"#))
            .collect();
        desk.record(&lines);
        desk
    }

    fn record(&self, lines: &[String]) {
        fs::write(self.0.path().join("facts.jsonl"), lines.join("\n")).unwrap();
        self.told(&["record", "facts.jsonl"]);
    }

    fn run(&self, words: &[&str]) -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_barrelwalk"));
        command.current_dir(self.0.path()).args(words).env("BARRELWALK_CELLAR", "c").env("BARRELWALK_BY", "mk");
        command.env("TZ", "Europe/Paris").stdin(Stdio::null()).output().unwrap()
    }

    /// What a command gives, and what it says beside it.
    fn told(&self, words: &[&str]) -> (String, String) {
        let output = self.run(words);
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        assert_eq!(output.status.code(), Some(0), "{words:?} {}", text(output.stderr));
        (text(output.stdout), text(output.stderr))
    }

    fn json(&self, words: &[&str]) -> Value {
        serde_json::from_str(&self.told(&[words, &["--format", "json"]].concat()).0).unwrap()
    }

    #[track_caller]
    fn refused(&self, words: &[&str], part: &str) {
        let output = self.run(words);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!((output.status.code(), said.contains(part)), (Some(1), true), "{words:?} {said}");
    }
}

const ON: [&str; 2] = ["--on", "2026-09-20T08:00:00+02:00"];

#[test]
fn a_racking_is_planned_in_walking_order() {
    let desk = Desk::new();
    let plan = desk.json(&[&["plan", "racking", "R", "--to", "X"], &ON[..]].concat());
    let barrels = plan["barrels"].as_array().unwrap();
    let labels: Vec<&str> = barrels.iter().map(|barrel| barrel["vessel"].as_str().unwrap()).collect();
    assert_eq!(labels, ["0403", "0401", "0402"]);
    let sum: u64 = barrels.iter().map(|barrel| barrel["expected_ul"].as_u64().unwrap()).sum();
    assert_eq!((plan["expected_ul"].as_u64(), plan["room_ul"].as_u64()), (Some(sum), Some(700_000_000)));
    // The one racking before left about four litres.
    assert_eq!(plan["lees_rackings"], 1);
    let lees = plan["lees_each_ul"].as_u64().unwrap();
    assert!((3_900_000..=4_000_000).contains(&lees), "{lees}");
    assert!(barrels.iter().all(|barrel| barrel["expected_ul"].as_u64().unwrap() < 221_000_000));
    let racks = desk.json(&["plan", "racking", "R", "--to", "X", "--rack", "long/A-02-1"]);
    assert_eq!(racks["barrels"].as_array().unwrap().len(), 1);
    let table = desk.told(&[&["plan", "racking", "R", "--to", "X"], &ON[..]].concat()).0;
    insta::assert_snapshot!("racking", table);
}

#[test]
fn a_racking_that_cannot_be_is_a_sentence() {
    let desk = Desk::new();
    desk.refused(&["plan", "racking", "Q", "--to", "X"], "No lot is called 'Q'");
    desk.refused(&["plan", "racking", "R", "--to", "Q"], "No vessel is called 'Q'");
    desk.refused(&["plan", "racking", "R", "--to", "W"], "W holds the lot 'S'");
    desk.refused(&["plan", "racking", "S", "--to", "X"], "No barrel asked for holds wine of 'S'");
    desk.refused(&["plan", "racking", "R", "--to", "X", "--rack", "long/B-01-1"], "has no rack long/B-01-1");
    desk.refused(&["plan", "racking", "R", "--to", "Y", "--begin", "w"], "Y has room for 600 L");
    desk.refused(&[&["plan", "racking", "R", "--to", "X", "--begin", "w"], &ON[..]].concat(), "Leave out --on");
    assert!(!desk.told(&["export"]).0.contains("work_set"));
    let into = desk.json(&["plan", "racking", "R", "--to", "W", "--into-lot", "S"]);
    assert_eq!(into["into_lot"], "S");
}

#[test]
fn a_racking_begins_once() {
    let desk = Desk::new();
    let said = desk.told(&["plan", "racking", "R", "--to", "X", "--begin", "rack R"]).1;
    assert!(said.contains("The work 'rack R' has begun"), "{said}");
    let facts = desk.told(&["export"]).0;
    let set: Value = serde_json::from_str(facts.lines().last().unwrap()).unwrap();
    assert_eq!((&set["kind"], &set["task"], &set["to"]), (&"work_set".into(), &"racking".into(), &"X".into()));
    assert_eq!(set["stops"].as_array().unwrap().len(), 3);
    desk.refused(&["plan", "racking", "R", "--to", "X", "--begin", "more"], "still to be done in the work 'rack R'");
}

#[test]
fn empty_barrels_are_listed_and_cared_for() {
    let desk = Desk::new();
    let empties = desk.json(&[&["list", "empties"], &ON[..]].concat());
    let one = &empties[0];
    assert_eq!(empties.as_array().unwrap().len(), 1);
    assert_eq!((&one["vessel"], &one["place"]), (&"0404".into(), &"long/A-02-1-b".into()));
    assert_eq!((&one["days_empty"], &one["sulfuring_due"]), (&19.into(), &"2026-09-01".into()));
    let (table, said) = desk.told(&["plan", "care", "sulfured", "--room", "long", "--begin", "sulfur"]);
    assert!(table.contains("follow local codes") && said.contains("'sulfur' has begun"), "{table}{said}");
    desk.refused(&["plan", "care", "sulfured", "--begin", "again"], "still to be done in the work 'sulfur'");
    desk.record(&[
        r#"{"at":"2026-09-20T08:00:00+02:00","by":"mk","kind":"barrel_cared","vessel":"0404","care":"sulfured"}"#
            .to_owned(),
    ]);
    let later = desk.json(&["list", "empties", "--on", "2026-09-22T08:00:00+02:00"]);
    assert_eq!((&later[0]["days_since_sulfured"], &later[0]["sulfuring_due"]), (&2.into(), &"2026-10-25".into()));
    assert_eq!(desk.run(&["plan", "care", "polished"]).status.code(), Some(2));
}
