//! Held and suspect vessels as people and other programs meet them at the desk.

use barrelwalk::cellar::core::moment::Moment;

use crate::desk::Desk;

/// 1,000 L of lot `A` in tank `T1`, held; 500 L of it in `T2`, of much volatile acidity; `T3` is empty, `T4` holds 800 L.
const CELLAR: &[&str] = &[
    r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2026,"appellation":"Hillside","colour":"red""#,
    r#""kind":"lot_opened","lot":"A","colour":"red""#,
    r#""kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":2000000000"#,
    r#""kind":"vessel_registered","vessel":"T2","type":"tank","capacity_ul":2000000000"#,
    r#""kind":"vessel_registered","vessel":"T3","type":"tank","capacity_ul":2000000000"#,
    r#""kind":"vessel_registered","vessel":"T4","type":"tank","capacity_ul":2000000000"#,
    r#""kind":"wine_received","vessel":"T1","lot":"A","parts":[{"origin":"o","volume_ul":1000000000}]"#,
    r#""kind":"wine_received","vessel":"T2","lot":"A","parts":[{"origin":"o","volume_ul":500000000}]"#,
    r#""kind":"wine_received","vessel":"T4","lot":"A","parts":[{"origin":"o","volume_ul":800000000}]"#,
    r#""kind":"tested","vessel":"T1","ph":3.6,"free_so2_mg_l":6"#,
    r#""kind":"tested","vessel":"T2","va_g_l":1.35"#,
    r#""kind":"held","vessel":"T1","why":"film""#,
];

fn desk() -> Desk {
    Desk::with("2026-11-20", CELLAR)
}

fn fact(rest: &str) -> String {
    format!(r#"{{"at":"2026-11-21T08:00:00+01:00","by":"mk",{rest}}}"#)
}

const MOVED: &str = r#""kind":"wine_moved","from":"T1","to":"T3","volume_ul":100000000,"purpose":"other""#;

#[test]
fn wine_leaves_a_held_tank_for_a_reason_that_is_kept() {
    let desk = desk();
    desk.refused(
        &["move", "T1", "T3", "100"],
        "T1 is held: film. Free it first, or say why it is done despite the hold",
    );
    // What it would be is told all the same, with the hold beside it.
    let dry = desk.told(&["move", "T1", "T3", "100", "--dry-run"]);
    assert!(dry.contains("T1 is held: film."), "{dry}");
    // Nor does it leave by a file, unless that gives a reason, or has happened on another laptop.
    desk.write("moved.jsonl", &fact(MOVED));
    desk.refused(&["record", "moved.jsonl"], "line 1: T1 is held: film.");
    desk.told(&["move", "T1", "T3", "100", "--despite", "the owner asked for it"]);
    desk.write("despite.jsonl", &fact(&format!(r#"{MOVED},"despite":"the owner asked again""#)));
    desk.told(&["record", "despite.jsonl"]);
    let facts = desk.told(&["export"]);
    assert!(facts.contains(r#""despite":"the owner asked for it""#), "{facts}");
    assert!(facts.contains(r#""despite":"the owner asked again""#), "{facts}");
    assert_eq!(desk.told_json(&["list", "discrepancies"]).as_array().unwrap().len(), 0);
    desk.write("history.jsonl", &fact(&format!(r#""device":"other","n":1,{MOVED}"#)));
    desk.told(&["record", "history.jsonl"]);
    let found = desk.told_json(&["list", "discrepancies"]);
    assert!(found[0]["problem"].as_str().unwrap().starts_with("T1 is held: film."), "{found}");
    assert_eq!(desk.told_json(&["show", "vessel", "T3"])["volume_ul"], 300_000_000);
}

#[test]
fn a_held_tank_that_is_named_gets_its_dose() {
    let desk = desk();
    let plan = desk.told_json(&["plan", "sulfur", "--vessel", "T1"]);
    assert_eq!(plan["barrels"][0]["vessel"], "T1", "{plan}");
    assert_eq!(plan["left_out"].as_array().unwrap().len(), 0);
    let given = fact(r#""kind":"treated","vessel":"T1","material":"potassium metabisulfite","amount_ug":20000000"#);
    desk.write("given.jsonl", &given);
    let asks = "T1 is held: film. It would be given potassium metabisulfite.";
    desk.refused(&["record", "--careful", "given.jsonl"], asks);
    let (_, said) = desk.heard(&["record", "given.jsonl"]);
    assert!(said.contains(asks), "{said}");
}

#[test]
fn a_held_tank_that_is_named_gives_to_a_blend_for_a_reason_that_is_kept() {
    let desk = desk();
    let words = |more: &[&'static str]| {
        let plan = ["plan", "blend", "--share", "T1=50%", "--share", "T4=50%", "--into", "T3", "--litres", "1000"];
        [&plan[..], more].concat()
    };
    let bars = "T1 is held: film. Free it first, or say why it is done despite the hold";
    desk.refused(&words(&[]), bars);
    let begin = words(&["--begin", "b", "--lot", "N"]);
    desk.refused(&begin, bars);
    let despite = ["--despite", "the film was skimmed"];
    let plan = desk.told_json(&words(&despite));
    assert_eq!(plan["transfers"].as_array().unwrap().len(), 2, "{plan}");
    assert_eq!((&plan["held_despite"][0]["vessel"], &plan["held"]), (&"T1".into(), &serde_json::json!([])));
    desk.told(&[&begin[..], &despite].concat());
    let facts = desk.told(&["export"]);
    let set = facts.lines().find(|line| line.contains(r#""kind":"work_set""#)).unwrap();
    assert!(set.contains(r#""despite":"the film was skimmed""#), "{set}");
    // Its moves are acts of their own, each with its reason.
    desk.refused(&["move", "T1", "T3", "500"], bars);
    // A lot leaves its held vessels out, whatever the reason.
    let lot = desk.told_json(&["plan", "blend", "--share", "A=100%", "--litres", "700", "--despite", "in a hurry"]);
    assert_eq!((&lot["held"][0]["vessel"], &lot["held_despite"]), (&"T1".into(), &serde_json::json!([])));
}

#[test]
fn suspect_wine_is_named_at_every_door() {
    let desk = desk();
    let why = "volatile acidity 1.35 g/L as acetic on 20 Nov, above the alarm at 0.90";
    let tank = desk.told_json(&["show", "vessel", "T2"]);
    assert_eq!((&tank["suspect"], &tank["suspect_why"]), (&true.into(), &why.into()));
    let clean = desk.told_json(&["show", "vessel", "T4"]);
    assert_eq!((&clean["suspect"], &clean["suspect_why"]), (&false.into(), &serde_json::Value::Null));
    let list = desk.told(&["list", "vessels"]);
    assert!(list.contains("suspect") && list.contains(why), "{list}");
    let lot = desk.told_json(&["show", "lot", "A"]);
    assert_eq!(lot["suspect_vessels"][0]["vessel"], "T2", "{lot}");
    let blend = desk.told_json(&["plan", "blend", "--share", "T2=50%", "--share", "T4=50%", "--into", "T3"]);
    assert_eq!(blend["suspect"][0]["suspect_why"], why, "{blend}");
    let asks =
        format!("T2 is suspect: {why}. Its wine would go into T4. Nothing was entered. If it is so, say --sure.");
    desk.refused(&["move", "T2", "T4", "100"], &asks);
    desk.told(&["move", "T2", "T4", "100", "--sure"]);
}

#[test]
fn what_the_house_declares_at_the_desk_makes_a_wine_suspect() {
    let desk = desk();
    let declare = |name: &'static str, more: &[&'static str]| {
        let words = ["declare", "analyte", name, "--unit", "µg/L"];
        [&words[..], more].concat()
    };
    let told = desk.told(&declare("4-ethylphenol", &["--warn", "425"]));
    assert_eq!(told, "4-ethylphenol is given in µg/L, suspect above 425\n");
    let now = Moment::now();
    let found = r#""by":"mk","kind":"tested","vessel":"T4","values":{"4-ethylphenol":520}"#;
    desk.write("found.jsonl", &format!(r#"{{"at":"{now}",{found}}}"#));
    desk.told(&["record", "found.jsonl"]);
    let why = &desk.told_json(&["show", "vessel", "T4"])["suspect_why"];
    assert_eq!(*why, format!("4-ethylphenol 520 µg/L on {}, above 425", now.show_day()));
    // Said again it counts as said last, whole.
    let again = desk.told(&declare("4-ethylphenol", &["--low", "1", "--high", "600"]));
    assert_eq!(again, "4-ethylphenol is given in µg/L, 1 to 600 wanted, suspect above 600\n");
    assert_eq!(desk.told_json(&["show", "vessel", "T4"])["suspect"], false);
    // A slip of the hand is asked about, here and of what every laboratory reports.
    desk.refused(&declare("4-ethylphenl", &[]), "'4-ethylphenl' is new here; 4-ethylphenol is meant?");
    desk.refused(&declare("volatile acidty", &[]), "'volatile acidty' is new here; volatile acidity is meant?");
    desk.told(&declare("4-ethylphenl", &["--sure"]));
    desk.refused(&declare("pH", &[]), "a field of its own in every test: ph");
    desk.refused(&declare("malvidin", &["--low", "9", "--high", "1"]), "is above the most");
}
