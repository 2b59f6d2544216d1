//! What was entered last is taken back at the desk, and given back.

use crate::desk::Desk;

const CELLAR: &[&str] = &[
    r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2026,"appellation":"Hillside","colour":"red""#,
    r#""kind":"lot_opened","lot":"A","colour":"red""#,
    r#""kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":2000000000"#,
    r#""kind":"vessel_registered","vessel":"T2","type":"tank","capacity_ul":2000000000"#,
    r#""kind":"wine_received","vessel":"T1","lot":"A","parts":[{"origin":"o","volume_ul":1000000000}]"#,
];

fn microlitres(desk: &Desk, vessel: &str) -> u64 {
    desk.json(&["show", "vessel", vessel])["volume_ul"].as_u64().unwrap()
}

#[test]
fn the_last_act_is_taken_back_and_given_back() {
    let desk = Desk::with("2026-11-20", CELLAR);
    desk.record_on(
        "2026-11-21",
        &[r#""kind":"wine_moved","from":"T1","to":"T2","volume_ul":100000000,"purpose":"other""#],
    );
    assert_eq!(microlitres(&desk, "T2"), 100_000_000);
    assert_eq!(desk.heard(&["undo", "--by", "mk"]).1, "barrelwalk: Undone: 100.0 L moved from T1 to T2.\n");
    assert_eq!((microlitres(&desk, "T1"), microlitres(&desk, "T2")), (1_000_000_000, 0));
    assert_eq!(desk.heard(&["redo"]).1, "barrelwalk: Done again: 100.0 L moved from T1 to T2.\n");
    assert_eq!(microlitres(&desk, "T2"), 100_000_000);
    desk.refused(&["redo"], "There is nothing to redo");
}

#[test]
fn where_nothing_was_entered_nothing_is_taken_back() {
    Desk::new().refused(&["undo"], "There is nothing to undo");
}
