//! What goes out as spreadsheets, and comes in again as it was.

use serde_json::{Value, json};

use crate::desk::Desk;

/// Labels that spreadsheets make something else of.
const NASTY: [&str; 22] = [
    "=1+1",
    "+1",
    "-1",
    "@x",
    "'=q",
    "''+",
    "'",
    "a;b",
    "a;=2",
    "a,b",
    "a\"b",
    "\"",
    "0417",
    "417",
    "1e5",
    "03/04/2026",
    "TRUE",
    "né Æ",
    "12,5",
    "M24 = good",
    "barrel",
    "樽 7",
];

fn at(number: usize) -> String {
    format!("2026-11-{:02}T07:00:00+01:00", number + 1)
}

fn desk_of(labels: &[&str]) -> Desk {
    let desk = Desk::new();
    let mut facts: Vec<Value> = vec![
        json!({"at": at(0), "kind": "vessel_registered", "vessel": "K1", "type": "keg", "capacity_ul": 900_000_000_u64}),
        json!({"at": at(0), "kind": "origin_declared", "origin": "O", "block": "B", "variety": "Merlot", "vintage": 2025, "appellation": "Varrow Valley", "colour": "red"}),
        json!({"at": at(0), "kind": "lot_opened", "lot": "=L;", "colour": "red"}),
        json!({"at": at(1), "kind": "wine_received", "vessel": "K1", "lot": "=L;", "parts": [{"origin": "O", "volume_ul": 800_000_000_u64}]}),
    ];
    for label in labels {
        facts.push(json!({"at": at(1), "kind": "vessel_registered", "vessel": label, "type": "barrel", "capacity_ul": 228_123_456_u64, "forest": "Allier", "cooper": label, "made": 2024}));
        facts.push(json!({"at": at(2), "kind": "wine_received", "vessel": label, "lot": "=L;", "parts": [{"origin": "O", "volume_ul": 227_000_001_u64}]}));
        facts.push(json!({"at": at(8), "kind": "topped", "vessel": label, "from": "K1", "volume_ul": 1_234_567_u64}));
        facts.push(
            json!({"at": at(9), "kind": "tested", "vessel": label, "ph": 3.52, "free_so2_mg_l": 27.5, "lab": label}),
        );
        facts.push(json!({"at": at(10), "kind": "tasted", "vessel": label, "score": 14.5, "text": label}));
    }
    for fact in &mut facts {
        fact["by"] = "Ana".into();
    }
    let lines: Vec<String> = facts.iter().map(Value::to_string).collect();
    desk.write("facts.jsonl", &lines.join("\n"));
    desk.told(&["record", "facts.jsonl"]);
    desk
}

fn labels_of(list: &Value) -> Vec<(String, u64)> {
    let pair = |it: &Value| (it["vessel"].as_str().unwrap().to_owned(), it["capacity_ul"].as_u64().unwrap());
    let mut all: Vec<_> = list.as_array().unwrap().iter().map(pair).collect();
    all.sort();
    all
}

#[test]
fn what_was_done_is_listed_by_vessel_lot_and_day() {
    let desk = desk_of(&NASTY[..3]);
    let all = desk.told_json(&["list", "toppings"]);
    assert_eq!(all.as_array().unwrap().len(), 3);
    let one = &all[0];
    assert_eq!(
        (&one["vessel"], &one["from"], &one["volume_ul"], &one["lot"], &one["by"], &one["full"]),
        (&"=1+1".into(), &"K1".into(), &1_234_567.into(), &"=L;".into(), &"Ana".into(), &true.into())
    );
    assert_eq!(desk.told_json(&["list", "toppings", "--vessel", "K1"]).as_array().unwrap().len(), 3);
    assert_eq!(desk.told_json(&["list", "tests", "--vessel=+1"])[0]["ph"], 3.52);
    assert_eq!(desk.told_json(&["list", "tastes", "--lot", "=L;"]).as_array().unwrap().len(), 3);
    assert_eq!(desk.told_json(&["list", "toppings", "--from", "2026-11-10"]), json!([]));
    assert_eq!(desk.told_json(&["list", "toppings", "--to", "8.11.2026"]), json!([]));
    assert!(desk.told(&["list", "moves"]).contains("No wine was moved there."));
    desk.refused(&["list", "tests", "--vessel", "X9"], "No vessel is called 'X9'");
    let before = desk.told_json(&["list", "toppings"]).as_array().unwrap().len();
    (0..3).for_each(|_| drop(desk.told(&["undo"])));
    assert!(
        desk.told_json(&["list", "toppings"]).as_array().unwrap().len() < before,
        "what is taken back is in no list"
    );
}

#[test]
fn what_went_out_comes_in_as_it_was() {
    let desk = desk_of(&NASTY);
    desk.done(&["export", "--csv", "out"]);
    for name in ["vessels", "lots", "bottles", "toppings", "tests", "tastes", "additions", "moves"] {
        assert!(desk.path("out").join(format!("{name}.csv")).is_file(), "{name}");
    }
    desk.refused(&["export", "--csv", "out"], "say --overwrite");
    desk.done(&["export", "--csv", "out", "--overwrite"]);
    desk.write("out/mine.txt", "mine");
    desk.refused(&["export", "--csv", "out", "--overwrite"], "mine.txt stands in it");
    desk.done(&["new", "again"]);
    desk.told(&["--cellar", "again", "import", "barrels", "out/vessels.csv", "--sure"]);
    let vessels = |cellar: &str| labels_of(&desk.told_json(&["--cellar", cellar, "list", "vessels"]));
    assert_eq!(vessels("again"), vessels("c"));
    let told = desk.told(&["import", "toppings", "out/toppings.csv", "--dry-run"]);
    assert!(told.contains("22 lines already known"), "each topping is told as the one that is there: {told}");
}
