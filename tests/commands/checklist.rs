//! The checklist before bottling as people use it at the desk.

use serde_json::Value;

use crate::desk::Desk;

/// 1,000 L of lot `A` in tank `T1`, tested.
const CELLAR: &[&str] = &[
    r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2026,"appellation":"Hillside","colour":"red""#,
    r#""kind":"lot_opened","lot":"A","colour":"red""#,
    r#""kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":2000000000"#,
    r#""kind":"wine_received","vessel":"T1","lot":"A","parts":[{"origin":"o","volume_ul":1000000000}]"#,
    r#""kind":"tested","vessel":"T1","va_g_l":0.62,"turbidity_ntu":4.5,"oxygen_mg_l":0.8,"alcohol_pct":13.6"#,
];

fn desk() -> Desk {
    Desk::with("2026-11-20", CELLAR)
}

#[track_caller]
fn item(desk: &Desk, name: &str) -> Value {
    let list = desk.told_json(&["check", "A"]);
    list["items"].as_array().unwrap().iter().find(|item| item["item"] == name).unwrap().clone()
}

#[test]
fn a_list_says_what_is_met_and_what_is_open() {
    let desk = desk();
    let list = desk.told(&["check", "A"]);
    for part in ["volatile acidity", "not tested", "0.8 mg/L, above wanted", "11 required items are open"] {
        assert!(list.contains(part), "{part} in\n{list}");
    }
    assert_eq!(item(&desk, "volatile acidity")["standing"], "met");
    assert_eq!(item(&desk, "turbidity")["standing"], "not met");
    let csv = desk.told(&["check", "A", "--format", "csv"]);
    assert_eq!(csv.lines().next(), Some("item,asks,standing,required,found,vessel,at,age_days,by,rule"));
    assert_eq!(csv.lines().count(), 21);
}

#[test]
fn people_tick_waive_and_add() {
    let desk = desk();
    desk.told(&["check", "A", "--met", "heat", "--text", "80 °C, 2 h: clear", "--by", "anna"]);
    let heat = item(&desk, "heat");
    assert_eq!(
        (&heat["standing"], &heat["by"], &heat["found"]),
        (&"met".into(), &"anna".into(), &"80 °C, 2 h: clear".into())
    );
    desk.told(&["check", "A", "--waive", "turbidity", "--why", "sold unfiltered", "--by", "ben"]);
    let turbidity = item(&desk, "turbidity");
    assert_eq!((&turbidity["standing"], &turbidity["by"]), (&"waived".into(), &"ben".into()));
    desk.told(&["check", "A", "--met", "alcohol", "--value", "13.5"]);
    assert_eq!(item(&desk, "alcohol")["standing"], "met");
    let declared = desk.told(&["check", "declare", "filterability", "--text", "index below 20"]);
    assert_eq!(declared, "declared: filterability, a run waits for it\n");
    desk.told(&["check", "A", "--not-met", "filterability"]);
    assert_eq!(item(&desk, "filterability")["standing"], "not met");
}

#[test]
fn a_wrong_word_is_refused_and_nothing_is_entered() {
    let desk = desk();
    let before = desk.told(&["export"]);
    desk.refused(&["check", "A", "--met", "turbidity"], "4.5 NTU was found");
    desk.refused(&["check", "A", "--met", "labels proofread"], "No item of the checklist");
    desk.refused(&["check", "B", "--met", "heat"], "No lot is called 'B'");
    desk.refused(&["check", "A", "--met", "alcohol"], "alcohol on the label is not said");
    desk.refused(&["check", "A", "--met", "alcohol", "--value", "135"], "out of range");
    desk.refused(&["check", "A", "--text", "clear"], "Name the item");
    desk.refused(&["check", "A", "--met", "heat", "--on", "2026-11-20"], "Leave out --on");
    desk.misused(&["check", "A", "--waive", "heat"], "--why");
    desk.misused(&["check", "A", "--met", "heat", "--not-met", "cold"], "cannot be used with");
    desk.misused(&["check"], "LOT");
    assert_eq!(desk.told(&["export"]), before);
}

#[test]
fn a_lot_that_is_bottled_is_told_to_be_so() {
    let run = |name: &str, vessel: &str, bottles: u32, empties: bool| {
        format!(
            r#""kind":"bottled","vessel":"{vessel}","run":"{name}","bottles":{bottles},"bottle_ul":750000,"lot_code":"{name}","empties":{empties},"despite":"the glass is booked""#
        )
    };
    let desk = desk();
    desk.record_on("2026-11-21", &[run("A26", "T1", 600, false)]);
    let part = desk.told(&["check", "A"]);
    assert!(part.contains("A is not to be bottled yet: 11 required items are open."), "{part}");
    desk.record_on("2026-11-22", &[run("A26 late", "T1", 720, true)]);
    let whole = desk.told(&["check", "A"]);
    assert!(whole.contains("Nothing of A lies in a vessel any more: the runs A26 and A26 late hold it."), "{whole}");
    assert!(!whole.contains("not to be bottled yet"), "{whole}");
}
