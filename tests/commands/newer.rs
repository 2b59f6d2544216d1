//! A cellar in which a newer program has entered something: read with a warning, never written.

use barrelwalk::cellar::core::fact::{FactId, Line};
use barrelwalk::desk::Access;
use barrelwalk::log::Log;

use super::desk::{Desk, text};

const WARNING: &str =
    "This cellar is open for reading only: 1 fact needs a newer version of this program (1 poured, version 3).";

/// A cellar with a vessel, and a fact behind it that this program does not know.
fn newer() -> Desk {
    let facts = [
        r#""kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":1000000000"#,
        r#""kind":"origin_declared","origin":"M","block":"M","variety":"M","vintage":2025,"appellation":"M","colour":"red""#,
        r#""kind":"lot_opened","lot":"M25","colour":"red""#,
        r#""kind":"wine_received","vessel":"T1","lot":"M25","parts":[{"origin":"M","volume_ul":900000000}]"#,
    ];
    let desk = Desk::with("2026-09-01", &facts);
    let mut log = Log::open(&desk.path("c"), Access::ReadWrite).unwrap();
    let first = log.line(&FactId { device: log.device().clone(), n: 1 }).unwrap().unwrap();
    let id = FactId { device: log.device().clone(), n: 5 };
    let line = Line { id, kind: "poured".into(), version: 3, body: r#"{"vessel":"T1"}"#.to_owned(), ..first };
    log.append(log.head().unwrap(), &[line]).unwrap();
    desk
}

#[test]
fn reading_goes_on_with_a_warning() {
    let desk = newer();
    for words in ["list vessels", "show vessel T1", "export", "trace vessel T1", "sheet cards T1"] {
        let (out, said) = desk.heard(words);
        assert!(out.contains("T1"), "{words}: {out}");
        assert!(said.contains(WARNING), "{words}: {said}");
    }
}

#[test]
fn nothing_is_entered_and_a_check_names_each() {
    let desk = newer();
    let before = std::fs::read(desk.path("c")).unwrap();
    desk.write("one.jsonl", r#"{"at":"2026-09-02T08:00:00+02:00","by":"mk","kind":"noted","about":"T1","text":"x"}"#);
    desk.refused("record one.jsonl", "Nothing was written. This cellar is open for reading only");
    let output = desk.run("verify");
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains(":5 (poured, version 3) cannot be read here."), "{said}");
    assert!(said.contains("The cellar is sound, but 1 fact cannot be read by this program."), "{said}");
    assert!(std::fs::read(desk.path("c")).unwrap() == before);
    // What nobody here could read is not taken in either.
    let empty = Desk::new();
    empty.write("newer.jsonl", &desk.heard("export").0);
    empty.refused("record newer.jsonl", "line 2: The kind 'poured' is not known to this version of the program.");
}
