//! `plan racking`, `plan sulfur`, `plan care` and `list empties`, as another program meets them.

use serde_json::Value;

use crate::desk::Desk;

/// Room `long`, lot `R` in three barrels of 225 L and in tank `T`, an empty tank `X` of 700 L, a tank `W` of another lot,
/// an empty barrel.
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
    r#""kind":"gauged","vessel":"W","volume_ul":321000000"#,
];

fn desk() -> Desk {
    Desk::with("2026-09-01", FACTS)
}

const ON: [&str; 2] = ["--on", "2026-09-20T08:00:00+02:00"];

#[test]
fn a_racking_is_planned_in_walking_order() {
    let desk = desk();
    let plan = desk.told_json(&[&["plan", "racking", "R", "--to", "X"], &ON[..]].concat());
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
    let racks = desk.told_json(&["plan", "racking", "R", "--to", "X", "--rack", "long/A-02-1"]);
    assert_eq!(racks["barrels"].as_array().unwrap().len(), 1);
    let table = desk.told(&[&["plan", "racking", "R", "--to", "X"], &ON[..]].concat());
    insta::assert_snapshot!("racking", table);
}

#[test]
fn a_racking_that_cannot_be_is_a_sentence() {
    let desk = desk();
    desk.refused(&["plan", "racking", "Q", "--to", "X"], "No lot is called 'Q'");
    desk.refused(&["plan", "racking", "R", "--to", "Q"], "No vessel is called 'Q'");
    desk.refused(&["plan", "racking", "R", "--to", "W"], "W holds the lot 'S'");
    desk.refused(&["plan", "racking", "S", "--to", "X"], "No barrel asked for holds wine of 'S'");
    desk.refused(&["plan", "racking", "R", "--to", "X", "--rack", "long/B-01-1"], "has no rack long/B-01-1");
    desk.refused(&["plan", "racking", "R", "--to", "Y", "--begin", "w"], "Y has room for 600 L");
    desk.refused(&[&["plan", "racking", "R", "--to", "X", "--begin", "w"], &ON[..]].concat(), "Leave out --on");
    assert!(!desk.told(&["export"]).contains("work_set"));
    let into = desk.told_json(&["plan", "racking", "R", "--to", "W", "--into-lot", "S"]);
    assert_eq!(into["into_lot"], "S");
}

#[test]
fn a_racking_begins_once() {
    let desk = desk();
    let said = desk.heard(&["plan", "racking", "R", "--to", "X", "--begin", "rack R"]).1;
    assert!(said.contains("The work 'rack R' has begun"), "{said}");
    let facts = desk.told(&["export"]);
    let set: Value = serde_json::from_str(facts.lines().last().unwrap()).unwrap();
    assert_eq!((&set["kind"], &set["task"], &set["to"]), (&"work_set".into(), &"racking".into(), &"X".into()));
    assert_eq!(set["stops"].as_array().unwrap().len(), 3);
    desk.refused(&["plan", "racking", "R", "--to", "X", "--begin", "more"], "still to be done in the work 'rack R'");
}

#[test]
fn empty_barrels_are_listed_and_cared_for() {
    let desk = desk();
    let empties = desk.told_json(&[&["list", "empties"], &ON[..]].concat());
    let one = &empties[0];
    assert_eq!(empties.as_array().unwrap().len(), 1);
    assert_eq!((&one["vessel"], &one["place"]), (&"0404".into(), &"long/A-02-1-b".into()));
    assert_eq!((&one["days_empty"], &one["sulfuring_due"]), (&19.into(), &"2026-09-01".into()));
    let (table, said) = desk.heard(&["plan", "care", "sulfured", "--room", "long", "--begin", "sulfur"]);
    assert!(table.contains("licensed practice.") && said.contains("'sulfur' has begun"), "{table}{said}");
    desk.refused(&["plan", "care", "sulfured", "--begin", "again"], "still to be done in the work 'sulfur'");
    desk.record(&[
        r#"{"at":"2026-09-20T08:00:00+02:00","by":"mk","kind":"barrel_cared","vessel":"0404","care":"sulfured"}"#,
    ]);
    let later = desk.told_json(&["list", "empties", "--on", "2026-09-22T08:00:00+02:00"]);
    assert_eq!((&later[0]["days_since_sulfured"], &later[0]["sulfuring_due"]), (&2.into(), &"2026-10-25".into()));
    assert_eq!(desk.run(&["plan", "care", "polished"]).status.code(), Some(2));
}

/// A test of pH 3.6 and 21 mg/L free in two of the three barrels of `R`, on the day of the plan and a month before.
const TESTS: [&str; 2] = [
    r#"{"at":"2026-09-20T07:00:00+02:00","by":"ta","kind":"tested","vessel":"0401","ph":3.6,"free_so2_mg_l":21,"total_so2_mg_l":130}"#,
    r#"{"at":"2026-09-02T07:00:00+02:00","by":"ta","kind":"tested","vessel":"0403","ph":3.5,"free_so2_mg_l":18}"#,
];

#[test]
fn sulfur_dioxide_is_planned_by_the_last_tests() {
    let desk = desk();
    desk.refused(&["plan", "sulfur", "R"], "The pH of 0403 and 2 more is not known, and nothing is guessed");
    desk.record(&TESTS);
    let plan = desk.told_json(&[&["plan", "sulfur", "R"], &ON[..]].concat());
    let barrels = plan["barrels"].as_array().unwrap();
    let told = |field: &str| -> Vec<&Value> { barrels.iter().map(|barrel| &barrel[field]).collect() };
    assert_eq!(told("vessel"), ["0403", "0401", "0402"]);
    assert_eq!(told("tested_of"), ["own", "own", "lot"]);
    assert_eq!(told("tested_days"), [18, 0, 0]);
    assert!(told("model").iter().all(|model| *model == "plain"));
    assert_eq!(
        (&plan["form"], &plan["strength_pct"], &plan["model"]),
        (&"solution".into(), &10.0.into(), &"plain".into())
    );
    let sum: u64 = barrels.iter().map(|barrel| barrel["solution_ul"].as_u64().unwrap()).sum();
    assert_eq!(plan["solution_ul"].as_u64(), Some(sum));
    assert!(plan["total_so2"].as_str().unwrap().contains("EU 2019/934"), "{plan}");
    assert!(plan["caution"].as_str().unwrap().contains("Follow local codes"));
    let table = desk.told(&[&["plan", "sulfur", "R"], &ON[..]].concat());
    insta::assert_snapshot!("sulfur", table);
    let csv = desk.told(&[&["plan", "sulfur", "R", "--as", "powder", "--format", "csv"], &ON[..]].concat());
    assert!(csv.starts_with("order,vessel,place,volume_l,free_so2_mg_l,tested,") && csv.lines().count() == 4, "{csv}");
    let stack = desk.told_json(
        &[&["plan", "sulfur", "--stack", "long/A-01", "--rack", "long/A-02-1", "--add", "20"], &ON[..]].concat(),
    );
    assert_eq!((stack["barrels"].as_array().unwrap().len(), &stack["left_out"][0]["why"]), (3, &"empty".into()));
    let tank = desk.told_json(&[&["plan", "sulfur", "--vessel", "W", "--add", "20", "--as", "gas"], &ON[..]].concat());
    assert_eq!((&tank["barrels"][0]["tested_of"], &tank["material"]), (&Value::Null, &"sulfur dioxide".into()));
}

#[test]
fn sulfur_dioxide_that_cannot_be_planned_is_a_sentence_and_a_work_begins_once() {
    let desk = desk();
    desk.record(&TESTS);
    desk.refused(&["plan", "sulfur", "Q"], "No lot is called 'Q'");
    desk.refused(&["plan", "sulfur", "--vessel", "0499"], "No vessel is called '0499'");
    desk.refused(&["plan", "sulfur", "R", "--target", "0"], "A molecular target in mg/L of 0 is out of range");
    desk.refused(&["plan", "sulfur", "R", "--target", "50"], "It must lie between 0.1 and 2");
    desk.refused(&["plan", "sulfur", "R", "--stack", "long/A-09"], "has no rack long/A-09-1");
    for words in ["--as rum", "--as solution:90%", "--stack long", "--vessel 0401", "--free 20 --add 5"] {
        let words: Vec<&str> = ["plan", "sulfur", "R"].into_iter().chain(words.split(' ')).collect();
        assert_eq!(desk.run(&words).status.code(), Some(2), "{words:?}");
    }
    assert_eq!(desk.run(&["plan", "sulfur"]).status.code(), Some(2));
    let begin = ["plan", "sulfur", "R", "--begin", "so2", "--as", "solution:5%"];
    desk.refused(
        &begin,
        "The total SO2 of 0402 and 1 more would come to up to 153 mg/L, above the 150 mg/L of EU 2019/934 Annex I B",
    );
    let said = desk.heard(&[&begin[..], &["--sure"]].concat()).1;
    assert!(said.contains("The work 'so2' has begun"), "{said}");
    let facts = desk.told(&["export"]);
    let set: Value = serde_json::from_str(facts.lines().last().unwrap()).unwrap();
    assert_eq!((&set["task"], &set["material"]), (&"treating".into(), &"potassium metabisulfite".into()));
    let stop = &set["stops"][0];
    // A solution of 5 % holds 50 micrograms a microlitre.
    assert_eq!(stop["amount_ug"].as_u64(), stop["volume_ul"].as_u64().map(|volume| volume * 50));
    desk.refused(&["plan", "sulfur", "R", "--begin", "more"], "still to be done in the work 'so2'");
}

#[test]
fn a_racking_tells_claims_and_sulfur_dioxide_on_the_way() {
    let desk = desk();
    let other = r#""kind":"origin_declared","origin":"p","block":"Flat","variety":"Merlot","vintage":2025,"appellation":"Hillside","colour":"red""#;
    let more = [
        other,
        r#""kind":"lot_opened","lot":"M","colour":"red""#,
        r#""kind":"vessel_registered","vessel":"Z","type":"tank","capacity_ul":2000000000"#,
        r#""kind":"wine_received","vessel":"Z","lot":"M","parts":[{"origin":"p","volume_ul":500000000}]"#,
    ]
    .map(|fact| format!(r#"{{"at":"2026-09-02T08:00:00+02:00","by":"mk",{fact}}}"#));
    desk.record(&more);
    let plan = desk.told_json(&[&["plan", "racking", "R", "--to", "X"], &ON[..]].concat());
    assert_eq!((plan["claims_now"].as_array().unwrap().len(), &plan["so2_on_the_way"]), (0, &Value::Null));
    assert!(
        plan["claims_then"]
            .as_array()
            .unwrap()
            .iter()
            .any(|claim| claim["claim"] == "vintage" && claim["held"] == true)
    );
    assert_eq!(plan["claims_lost"], Value::Array(Vec::new()));
    desk.record(&TESTS);
    let tested = desk.told_json(&[&["plan", "racking", "R", "--to", "X"], &ON[..]].concat());
    let sulfur = &tested["so2_on_the_way"];
    assert_eq!((&sulfur["model"], &sulfur["target_mg_l"]), (&"plain".into(), &0.5.into()));
    let (free, wanted) = (sulfur["free_so2_mg_l"].as_f64().unwrap(), sulfur["wanted_free_mg_l"].as_f64().unwrap());
    // A third is bound, 57.6 % of the powder is sulfur dioxide.
    let grams = (wanted - free) * 1.5 * sulfur["volume_ul"].as_f64().unwrap() / 1e9 / 0.576;
    assert!((sulfur["metabisulfite_ug"].as_f64().unwrap() / 1e6 - grams).abs() < 0.2, "{sulfur}");
    let into = ["plan", "racking", "R", "--to", "Z", "--into-lot", "M"];
    let lost = desk.told_json(&[&into, &ON[..]].concat());
    let lost = lost["claims_lost"].as_array().unwrap();
    assert!(
        lost.iter().any(|lost| lost.as_str().unwrap().starts_with("M would lose the right to say vintage 2025")),
        "{lost:?}"
    );
    insta::assert_snapshot!("racking-into-another-lot", desk.told(&[&into, &ON[..]].concat()));
}

#[test]
fn claims_follow_the_houses_rules_unless_others_are_said() {
    let desk = desk();
    let rules = |words: &[&str]| -> Vec<String> {
        let told = desk.told_json(&[&["claims", "lot", "R"], words].concat());
        let mut rules: Vec<String> = told["claims"]
            .as_array()
            .unwrap()
            .iter()
            .map(|claim| claim["rules"].as_str().unwrap().to_owned())
            .collect();
        rules.sort();
        rules.dedup();
        rules
    };
    assert_eq!(rules(&[]), ["eu", "us"]);
    desk.record(&[r#"{"at":"2026-09-03T08:00:00+02:00","by":"mk","kind":"practice_set","rules":"us"}"#]);
    assert_eq!(rules(&[]), ["us"]);
    assert_eq!(rules(&["--rules", "eu"]), ["eu"]);
    assert_eq!(rules(&["--rules", "both"]), ["eu", "us"]);
}

#[test]
fn what_was_racked_goes_back_into_the_same_barrels() {
    let desk = desk();
    let plan = desk.told_json(&["plan", "return", "W"]);
    let barrels = plan["barrels"].as_array().unwrap();
    let back: Vec<_> = barrels.iter().map(|it| (it["vessel"].as_str(), it["volume_ul"].as_u64())).collect();
    assert_eq!(back, [(Some("0404"), Some(225_000_000))]);
    assert_eq!((plan["short_ul"].as_u64(), plan["stays_ul"].as_u64()), (Some(0), Some(96_000_000)));
    let table = desk.told(&["plan", "return", "W"]);
    assert!(table.starts_with("W: Back into the same 1 barrel: 225.0 L; 96.0 L stays in the tank.\n"), "{table}");
    desk.refused(&["plan", "return", "X"], "X holds nothing by the book");
    desk.heard(&["plan", "return", "W", "--begin", "back"]);
    desk.refused(&["plan", "return", "W"], "No barrel that was racked into W can take its wine back");
}
