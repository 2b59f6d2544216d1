//! The checklist before bottling as people use it at the desk.
#![allow(clippy::unwrap_used)] // in what the tests share

use std::fs;
use std::process::{Command, Output};

use serde_json::Value;
use tempfile::TempDir;

/// A folder with a cellar in it: 1,000 L of lot `A` in tank `T1`, tested.
struct Desk(TempDir);

const CELLAR: &[&str] = &[
    r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2026,"appellation":"Hillside","colour":"red""#,
    r#""kind":"lot_opened","lot":"A","colour":"red""#,
    r#""kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":2000000000"#,
    r#""kind":"wine_received","vessel":"T1","lot":"A","parts":[{"origin":"o","volume_ul":1000000000}]"#,
    r#""kind":"tested","vessel":"T1","va_g_l":0.62,"turbidity_ntu":4.5,"oxygen_mg_l":0.8,"alcohol_pct":13.6"#,
];

impl Desk {
    fn new() -> Desk {
        let desk = Desk(tempfile::tempdir().unwrap());
        desk.told(&["new", "c"]);
        let line =
            |(minute, fact): (u32, &&str)| format!(r#"{{"at":"2026-11-20T08:{minute:02}:00+02:00","by":"mk",{fact}}}"#);
        fs::write(desk.0.path().join("facts"), (0..).zip(CELLAR).map(line).collect::<Vec<_>>().join("\n")).unwrap();
        desk.told(&["record", "facts"]);
        desk
    }

    fn run(&self, words: &[&str]) -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_barrelwalk"));
        command.current_dir(self.0.path()).env("BARRELWALK_CELLAR", "c").args(words).output().unwrap()
    }

    #[track_caller]
    fn told(&self, words: &[&str]) -> String {
        let output = self.run(words);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    }

    #[track_caller]
    fn refused(&self, words: &[&str], code: i32, part: &str) {
        let output = self.run(words);
        let told = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(code), "{told}");
        assert!(told.contains(part), "{told}");
    }

    #[track_caller]
    fn item(&self, name: &str) -> Value {
        let list: Value = serde_json::from_str(&self.told(&["check", "A", "--format", "json"])).unwrap();
        list["items"].as_array().unwrap().iter().find(|item| item["item"] == name).unwrap().clone()
    }
}

#[test]
fn a_list_says_what_is_met_and_what_is_open() {
    let desk = Desk::new();
    let list = desk.told(&["check", "A"]);
    for part in ["volatile acidity", "not tested", "0.8 mg/L, above wanted", "12 required items are open"] {
        assert!(list.contains(part), "{part} in\n{list}");
    }
    assert_eq!(desk.item("volatile acidity")["standing"], "met");
    assert_eq!(desk.item("turbidity")["standing"], "not met");
    let csv = desk.told(&["check", "A", "--format", "csv"]);
    assert_eq!(csv.lines().next(), Some("item,asks,standing,required,found,vessel,at,age_days,by,rule"));
    assert_eq!(csv.lines().count(), 16);
}

#[test]
fn people_tick_waive_and_add() {
    let desk = Desk::new();
    desk.told(&["check", "A", "--met", "heat", "--text", "80 °C, 2 h: clear", "--by", "anna"]);
    let heat = desk.item("heat");
    assert_eq!(
        (&heat["standing"], &heat["by"], &heat["found"]),
        (&"met".into(), &"anna".into(), &"80 °C, 2 h: clear".into())
    );
    desk.told(&["check", "A", "--waive", "turbidity", "--why", "sold unfiltered", "--by", "ben"]);
    let turbidity = desk.item("turbidity");
    assert_eq!((&turbidity["standing"], &turbidity["by"]), (&"waived".into(), &"ben".into()));
    desk.told(&["check", "A", "--met", "alcohol", "--value", "13.5"]);
    assert_eq!(desk.item("alcohol")["standing"], "met");
    let declared = desk.told(&["check", "declare", "filterability", "--text", "index below 20"]);
    assert_eq!(declared, "declared: filterability, a run waits for it\n");
    desk.told(&["check", "A", "--not-met", "filterability"]);
    assert_eq!(desk.item("filterability")["standing"], "not met");
}

#[test]
fn a_wrong_word_is_refused_and_nothing_is_entered() {
    let desk = Desk::new();
    let before = desk.told(&["export"]);
    desk.refused(&["check", "A", "--met", "turbidity"], 1, "4.5 NTU was found");
    desk.refused(&["check", "A", "--met", "filterability"], 1, "No item of the checklist");
    desk.refused(&["check", "B", "--met", "heat"], 1, "No lot is called 'B'");
    desk.refused(&["check", "A", "--met", "alcohol"], 1, "alcohol on the label is not said");
    desk.refused(&["check", "A", "--met", "alcohol", "--value", "135"], 1, "out of range");
    desk.refused(&["check", "A", "--text", "clear"], 1, "Name the item");
    desk.refused(&["check", "A", "--met", "heat", "--on", "2026-11-20"], 1, "Leave out --on");
    desk.refused(&["check", "A", "--waive", "heat"], 2, "--why");
    desk.refused(&["check", "A", "--met", "heat", "--not-met", "cold"], 2, "cannot be used with");
    desk.refused(&["check"], 2, "LOT");
    assert_eq!(desk.told(&["export"]), before);
}
