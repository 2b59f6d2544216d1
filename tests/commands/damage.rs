//! A damaged fact is named when it is read, left out, and never added to or copied without a word.

use std::fs;

use rusqlite::Connection;

use super::damaged::without_guards;
use super::desk::{Desk, text};

/// Damages the cellar, which is then read from its beginning: behind a snapshot nothing older is read.
fn damaged(desk: &Desk, change: &str) {
    without_guards(&desk.path("c"), change);
    let _ = fs::remove_file(desk.path("c-snapshot"));
}

/// A topping in the midst of the log gets two litres more; its device and number.
const TWO_MORE: &str = "UPDATE facts SET body = replace(body, '\"volume_ul\":1', '\"volume_ul\":3') WHERE position = \
    (SELECT min(position) FROM facts WHERE kind = 'topped' AND body LIKE '%\"volume_ul\":1_00000,%')";

/// The same fact as it was.
const MENDED: &str = "UPDATE facts SET body = replace(body, '\"volume_ul\":3', '\"volume_ul\":1') WHERE position = \
    (SELECT min(position) FROM facts WHERE kind = 'topped' AND body LIKE '%\"volume_ul\":3_00000,%')";

fn said(desk: &Desk, words: &[&str], code: i32) -> String {
    let output = desk.run(words);
    assert_eq!(output.status.code(), Some(code), "{}", text(&output.stderr));
    text(&output.stderr)
}

#[test]
fn a_changed_volume_is_named_where_it_is_read_and_left_out() {
    let desk = Desk::demo();
    let sound = desk.told(&["trace", "vessel", "B1"]);
    damaged(&desk, TWO_MORE);
    let told = said(&desk, &["list", "vessels", "--format", "csv"], 0);
    assert!(told.contains("open for reading only: a fact is damaged and left out (fact "), "{told}");
    assert!(told.contains("go on with your newest backup"), "{told}");
    // What goes through all facts says it as well, and leaves it out.
    assert!(said(&desk, &["trace", "vessel", "B1"], 0).contains("damaged and left out"));
    // It is told each time, and whatever would add to it is refused.
    assert!(said(&desk, &["list", "lots"], 0).contains("damaged and left out"));
    let told = said(&desk, &["test", "0404", "ph=3.5"], 1);
    assert!(told.contains("open for reading only"), "{told}");
    let told = said(&desk, &["undo"], 1);
    assert!(told.contains("open for reading only"), "{told}");
    // A copy of it is made, since there may be no other, but not called whole.
    let told = said(&desk, &["backup", "copy"], 1);
    assert!(told.contains("is broken at fact") && told.contains("copy is a copy of all that can be read"), "{told}");
    assert!(desk.path("copy").exists());
    assert!(said(&desk, &["verify"], 1).contains("its content is not what was stored"));
    // Without the damage all is as before.
    damaged(&desk, MENDED);
    assert_eq!(said(&desk, &["verify"], 0), "");
    assert!(desk.told(&["trace", "vessel", "B1"]) == sound);
    assert!(desk.told(&["backup", "whole"]).contains("is a whole copy"));
}

/// Where only the link was changed, what the fact says is whole: nothing is left out, and verify tells.
#[test]
fn a_changed_link_costs_no_fact() {
    let desk = Desk::with("2026-03-02", &[r#""kind":"noted","about":"1","text":"a""#; 3]);
    let notes = desk.told(&["export"]);
    damaged(&desk, "UPDATE facts SET link = zeroblob(32) WHERE position = 2");
    assert_eq!(desk.told(&["export"]), notes);
    assert!(said(&desk, &["verify"], 1).contains("its link is not what was stored; its content is"));
    assert!(said(&desk, &["backup", "copy"], 1).contains("damaged"));
}

/// What stores nothing and says nothing is noticed.
#[test]
fn a_file_that_swallows_facts_is_noticed() {
    let desk = Desk::new();
    let connection = Connection::open(desk.path("c")).unwrap();
    let swallow =
        "CREATE TRIGGER swallow BEFORE INSERT ON facts WHEN NEW.kind = 'noted' BEGIN SELECT RAISE(IGNORE); END";
    connection.execute_batch(swallow).unwrap();
    drop(connection);
    desk.write("notes", r#"{"at":"2026-03-02T08:00:00+01:00","by":"mk","kind":"noted","about":"1","text":"a"}"#);
    let told = said(&desk, &["record", "notes"], 1);
    assert!(told.contains("stored nothing"), "{told}");
    assert_eq!(desk.told(&["export"]), "");
}
