//! A physical count as people make it: a sheet that hides the book, a file of what was found, and the book put right.

use serde_json::Value;

use crate::desk::{Desk, text};

/// 1,000 L in tank `T1`, barrels `B1` and `B2` of 225 L full, `B3` empty.
const CELLAR: &[&str] = &[
    r#""kind":"room_laid_out","room":"long","rows":[{"row":"A","stacks":1,"tiers":1,"sides":4}]"#,
    r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2026,"appellation":"Hillside","colour":"red""#,
    r#""kind":"lot_opened","lot":"A","colour":"red""#,
    r#""kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":2000000000"#,
    r#""kind":"vessel_registered","vessel":"B1","type":"barrel","capacity_ul":225000000"#,
    r#""kind":"vessel_registered","vessel":"B2","type":"barrel","capacity_ul":225000000"#,
    r#""kind":"vessel_registered","vessel":"B3","type":"barrel","capacity_ul":225000000"#,
    r#""kind":"vessel_placed","vessel":"B1","place":"long/A-01-1-a""#,
    r#""kind":"vessel_placed","vessel":"B2","place":"long/A-01-1-b""#,
    r#""kind":"vessel_placed","vessel":"B3","place":"long/A-01-1-c""#,
    r#""kind":"wine_received","vessel":"T1","lot":"A","parts":[{"origin":"o","volume_ul":1450000000}]"#,
    r#""kind":"wine_moved","from":"T1","to":"B1","volume_ul":225000000,"purpose":"barrel_down""#,
    r#""kind":"wine_moved","from":"T1","to":"B2","volume_ul":225000000,"purpose":"barrel_down""#,
];

fn desk() -> Desk {
    Desk::with("2026-11-20", CELLAR)
}

/// What a count is refused with; nothing of it is booked.
#[track_caller]
fn refused(desk: &Desk, file: &str) -> String {
    desk.write("count.csv", file);
    let before = desk.told(&["export"]);
    let output = desk.run(&["count", "count.csv", "--book", "--why", "yearly count"]);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(desk.told(&["export"]), before);
    text(&output.stderr)
}

#[test]
fn the_sheet_of_a_count_hides_what_the_book_says() {
    let sheet = desk().told(&["sheet", "count"]);
    for there in ["B1", "B3", "T1", "A-01-1-a", "2000", "225"] {
        assert!(sheet.contains(there), "{there} in\n{sheet}");
    }
    // Neither what it holds nor whether it holds anything.
    let columns = |label: &str| sheet.lines().find(|line| line.contains(label)).unwrap().split_whitespace().count();
    assert!(!sheet.contains("1000") && !sheet.contains("lot"), "{sheet}");
    assert_eq!(columns("B1"), columns("B3"), "{sheet}");
}

#[test]
fn a_count_is_compared_and_booked_only_where_that_is_asked() {
    let desk = desk();
    desk.write("count.csv", "vessel,litres\nT1,950\nB1,full\nB3,empty\n");
    let count = desk.told_json(&["count", "count.csv"]);
    let verdicts: Vec<_> =
        count["counted"].as_array().unwrap().iter().map(|it| it["verdict"].as_str().unwrap()).collect();
    assert_eq!(verdicts, ["short", "as expected", "as expected"]);
    assert_eq!(count["not_counted"], serde_json::json!(["B2"]));
    let tank = || desk.told_json(&["show", "vessel", "T1"])["volume_ul"].as_u64().unwrap();
    assert_eq!(tank(), 1_000_000_000);
    let asked = desk.run(&["count", "count.csv", "--book", "--why", "yearly count"]);
    assert_eq!(asked.status.code(), Some(1));
    let sentence = "T1 gauged at 950.0 L, where 1000.0 L is expected: 50.0 L less.";
    assert!(text(&asked.stderr).contains(sentence), "{}", text(&asked.stderr));
    assert_eq!(tank(), 1_000_000_000);
    desk.told(&["count", "count.csv", "--book", "--why", "yearly count", "--by", "anna", "--sure"]);
    assert_eq!(tank(), 950_000_000);
    let last: Value = serde_json::from_str(desk.told(&["export"]).lines().last().unwrap()).unwrap();
    assert_eq!((&last["kind"], &last["note"], &last["by"]), (&"gauged".into(), &"yearly count".into(), &"anna".into()));
}

#[test]
fn wine_that_the_book_does_not_have_is_found() {
    let desk = desk();
    desk.write("count.csv", "vessel,litres\nB1,full\nB3,full\n");
    let count = desk.told_json(&["count", "count.csv"]);
    let counted: Vec<_> = count["counted"].as_array().unwrap().iter().map(|it| &it["verdict"]).collect();
    assert_eq!(counted, ["as expected", "not in the book"]);
    let book = ["count", "count.csv", "--book", "--why", "yearly count"];
    let output = desk.run(&book);
    let told = text(&output.stderr);
    assert!(
        output.status.success() && told.contains("225.0 L in B3 came into the book, of the lot 'found'."),
        "{told}"
    );
    let found = desk.told_json(&["show", "vessel", "B3"]);
    assert_eq!((&found["lot"], &found["composition"][0]["origin"]), (&"found".into(), &"found".into()));
    desk.write("again.csv", "vessel,litres\nB1,0\nB2,empty\n");
    desk.told(&["count", "again.csv", "--book", "--why", "moved", "--sure"]);
    desk.write("moved.csv", "vessel,litres\nB1,220\n");
    let into_lot = ["count", "moved.csv", "--book", "--why", "moved", "--found", "A"];
    let asked = text(&desk.run(&into_lot).stderr);
    assert!(asked.contains("A would lose the right to say variety Syrah"), "{asked}");
    desk.told(&[&into_lot[..], &["--sure"]].concat());
    let moved = desk.told_json(&["show", "vessel", "B1"]);
    assert_eq!((&moved["lot"], &moved["composition"][0]["origin"]), (&"A".into(), &"found".into()));
}

#[test]
fn a_dip_is_read_by_the_barrels_own_table() {
    let desk = desk();
    desk.write("count.csv", "vessel;litres;dip_mm\nB1;;100\nB2;full;\n");
    let count = desk.told_json(&["count", "count.csv", "--room", "long"]);
    let found = count["counted"][0]["found_ul"].as_u64().unwrap();
    assert!((200_000_000..210_000_000).contains(&found), "{found}");
    assert_eq!(count["counted"][0]["verdict"], "short");
    assert_eq!(count["not_counted"], serde_json::json!([]));
}

#[test]
fn a_wrong_count_is_refused_by_line_and_nothing_is_booked() {
    let desk = desk();
    for (file, sentence) in [
        ("vessel,litres\nT1,950\nT7,3\n", "line 3: No vessel is called 'T7'"),
        ("vessel,litres\nT1,950\nT1,950\n", "line 3: T1 is counted in line 2 already"),
        ("vessel,litres\nT1,many\n", "line 2:"),
        ("vessel,litres\nT1,-3\n", "line 2:"),
        ("vessel,litres,dip_mm\nB1,200,30\n", "It has litres and a dip"),
        ("vessel,dip_mm\nB1,3000\n", "3000 mm"),
        ("vessel,found\nT1,950\n", "The column 'found' is not known"),
        ("vessel\nT1\n", "needs a column 'vessel' and a column 'litres'"),
        ("vessel,litres\nT1,9000\n", "T1"),
        ("vessel,litres\nT1,0.0005\n", "0.0005 L at T1 can hardly be meant"),
    ] {
        let told = refused(&desk, file);
        assert!(told.contains(sentence), "{file}: {told}");
    }
}
