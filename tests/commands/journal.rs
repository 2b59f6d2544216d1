//! What was entered is looked up by day, person, thing and kind, put right and taken back, whoever entered it.

use serde_json::Value;

use crate::desk::{Desk, text};

const CELLAR: &[&str] = &[
    r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2026,"appellation":"Hillside","colour":"red""#,
    r#""kind":"lot_opened","lot":"A","colour":"red""#,
    r#""kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":2000000000"#,
    r#""kind":"vessel_registered","vessel":"T2","type":"tank","capacity_ul":2000000000"#,
    r#""kind":"wine_received","vessel":"T1","lot":"A","parts":[{"origin":"o","volume_ul":1000000000}]"#,
];

/// A cellar in which 30 L were lost on 21 Nov by Jo, as another laptop entered it.
fn given() -> Desk {
    let desk = Desk::with("2026-11-20", CELLAR);
    let lost = r#"{"device":"d-cave","n":1,"at":"2026-11-21T09:15:00+01:00","written":"2026-11-22T07:00:00+01:00","by":"Jo","kind":"lost","vessel":"T1","volume_ul":30000000,"cause":"spill"}"#;
    desk.record(&[lost]);
    desk
}

fn holds(desk: &Desk) -> u64 {
    desk.json(&["show", "vessel", "T1"])["volume_ul"].as_u64().unwrap()
}

fn lines(desk: &Desk, words: &[&str]) -> Vec<Value> {
    let words = [&["journal"], words].concat();
    desk.json(&words).as_array().unwrap().clone()
}

#[test]
fn the_journal_tells_what_was_entered_by_day_person_thing_and_kind() {
    let desk = given();
    let all = lines(&desk, &[]);
    assert_eq!(all.len(), 6);
    let lost = &all[5];
    for (field, said) in [
        ("at", "2026-11-21T09:15:00+01:00"),
        ("written", "2026-11-22T07:00:00+01:00"),
        ("by", "Jo"),
        ("device", "d-cave"),
        ("kind", "lost"),
        ("about", "T1"),
        ("text", "30.0 L lost from T1: spill"),
    ] {
        assert_eq!(lost[field], said, "{field}");
    }
    assert_eq!((&lost["n"], &lost["taken_back"]), (&Value::from(1), &Value::from(false)));
    let count = |words: &[&str]| lines(&desk, words).len();
    assert_eq!(count(&["--from", "2026-11-21"]), 1);
    assert_eq!(count(&["--to", "2026-11-20"]), 5);
    assert_eq!(count(&["--to", "2026-11-22", "--written"]), 1);
    assert_eq!([count(&["--by", "jo"]), count(&["--about", "T2"]), count(&["--kind", "lose"])], [1; 3]);
    assert_eq!(count(&["--about", "A"]), 3, "the lot, what came in, and what was lost since");
    let table = desk.told(&["journal", "--by", "Jo"]);
    assert!(
        table.contains("30.0 L lost from T1: spill") && table.contains("d-cave:1") && table.contains("22 Nov"),
        "{table}"
    );
    desk.refused(&["journal", "--from", "2026-11-22", "--to", "2026-11-21"], "Give the earlier date first");
}

#[test]
fn a_fact_of_another_laptop_is_corrected_and_undo_takes_that_back() {
    let desk = given();
    let tried = desk.told(&["correct", "d-cave:1", "litres=20", "cause=leak", "--dry-run"]);
    assert_eq!(tried, "would be corrected: 20.0 L lost from T1: leak; in place of: 30.0 L lost from T1: spill.\n");
    assert_eq!(holds(&desk), 970_000_000);
    let words = ["correct", "d-cave:1", "litres=20", "cause=leak", "--at", "2026-11-20", "--note", "by the gauge"];
    desk.told(&words);
    assert_eq!(holds(&desk), 980_000_000);
    let lost = lines(&desk, &["--kind", "lost"]);
    let of = |line: &Value, field: &str| line[field].as_str().unwrap_or_default().to_owned();
    assert_eq!(
        [of(&lost[0], "at"), of(&lost[0], "by"), of(&lost[0], "note")],
        ["2026-11-20T09:15:00+01:00", "Jo", "by the gauge"]
    );
    assert_eq!((&lost[1]["taken_back"], of(&lost[1], "taken_back_by")), (&Value::from(true), "mk".to_owned()));
    let new = format!("{}:{}", of(&lost[0], "device"), lost[0]["n"]);
    // A correction is corrected.
    desk.told(&["correct", &new, "volume_ul=25", "who=Ana"]);
    assert_eq!(
        (holds(&desk), of(&lines(&desk, &["--by", "Ana"])[0], "text")),
        (975_000_000, "25.0 L lost from T1: leak".to_owned())
    );
    desk.told(&["undo"]);
    assert_eq!(holds(&desk), 980_000_000);
    desk.told(&["undo"]);
    assert_eq!(holds(&desk), 970_000_000);
}

#[test]
fn any_one_fact_is_taken_back_after_asking_and_given_back() {
    let desk = given();
    let received = &lines(&desk, &["--kind", "wine_received"])[0];
    let received = format!("{}:{}", received["device"].as_str().unwrap(), received["n"]);
    desk.refused(&["undo", &received], "1 later fact would no longer fit");
    let tried = desk.heard(&["undo", "d-cave:1", "--dry-run"]);
    assert_eq!(tried.0, "would be taken back: 30.0 L lost from T1: spill.\n");
    assert_eq!(desk.heard(&["undo", "d-cave:1"]).1, "barrelwalk: Taken back: 30.0 L lost from T1: spill.\n");
    assert_eq!(holds(&desk), 1_000_000_000);
    desk.refused(&["undo", "d-cave:1"], "taken back already");
    desk.refused(&["correct", "d-cave:1", "litres=1"], "taken back already");
    let back = &lines(&desk, &["--kind", "retracted"])[0];
    assert_eq!(back["text"], "taken back: 30.0 L lost from T1: spill");
    let back = format!("{}:{}", back["device"].as_str().unwrap(), back["n"]);
    desk.refused(&["correct", &back, "who=Ana"], "takes another back");
    desk.told(&["undo", &back]);
    assert_eq!(holds(&desk), 970_000_000);
    desk.told(&["undo"]);
    assert_eq!(holds(&desk), 1_000_000_000);
}

#[test]
fn what_cannot_be_corrected_says_why_and_nothing_is_half_in() {
    let desk = given();
    for (words, why) in [
        (&["correct", "d-cave:1", "litres=30"][..], "Nothing is changed"),
        (&["correct", "d-cave:1"], "Nothing is changed"),
        (&["correct", "d-cave:7", "litres=3"], "not in the log"),
        (&["correct", "d-cave:1", "litres=much"], "much"),
        (
            &["correct", "d-cave:1", "colour=red"],
            "It has no field 'colour'. It has vessel, litres, cause, who and note.",
        ),
        (&["correct", "d-cave:1", "vessel=T9"], "No vessel is called 'T9'"),
        (&["correct", "d-cave:1", "--at", "2999-01-01"], "lies in the future"),
        (&["correct", "d-cave:1", "litres="], "Write the litres"),
        (&["correct", "d-cave:1", "litres=2000"], "T1"),
    ] {
        desk.refused(words, why);
    }
    assert_eq!((lines(&desk, &[]).len(), holds(&desk)), (6, 970_000_000));
}

#[test]
fn a_day_alone_is_that_page_of_the_journal() {
    let desk = given();
    assert_eq!(lines(&desk, &["21 Nov 2026"]).len(), 1);
    assert_eq!(lines(&desk, &["22 Nov 2026"]).len(), 0);
    let both = text(&desk.run(&["journal", "21 Nov 2026", "--from", "20 Nov 2026"]).stderr);
    assert!(both.contains("cannot be used with"), "{both}");
}
