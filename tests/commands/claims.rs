//! Claims from the desk: `claims vessel`, `claims lot`, and what `record` says of an act that costs a lot a claim.

use std::process::Output;

use serde_json::Value;

use crate::desk::{Desk, text};

/// Tank A of 100 L, of which 86 are of 2026, and tank Z of 50 L from elsewhere.
const FACTS: &[&str] = &[
    r#""kind":"origin_declared","origin":"home","block":"Terrace","variety":"Merlot","vintage":2026,"appellation":"Varrow Valley","colour":"red","estate":true"#,
    r#""kind":"origin_declared","origin":"old","block":"Terrace","variety":"Merlot","vintage":2025,"appellation":"Varrow Valley","colour":"red","estate":true"#,
    r#""kind":"origin_declared","origin":"away","block":"Dune","variety":"Syrah","vintage":2025,"appellation":"Other Coast","colour":"red","estate":false"#,
    r#""kind":"lot_opened","lot":"L","colour":"red""#,
    r#""kind":"lot_opened","lot":"M","colour":"red""#,
    r#""kind":"vessel_registered","vessel":"A","type":"tank","capacity_ul":1000000000"#,
    r#""kind":"vessel_registered","vessel":"Z","type":"tank","capacity_ul":1000000000"#,
    r#""kind":"vessel_registered","vessel":"E","type":"tank","capacity_ul":1000000000"#,
    r#""kind":"wine_received","vessel":"A","lot":"L","parts":[{"origin":"home","volume_ul":86000000},{"origin":"old","volume_ul":14000000}]"#,
    r#""kind":"wine_received","vessel":"Z","lot":"M","parts":[{"origin":"away","volume_ul":50000000}]"#,
];

fn desk() -> Desk {
    let desk = Desk::new();
    let output = record(&desk, FACTS);
    assert_eq!((output.status.code(), text(&output.stderr)), (Some(0), String::new()));
    desk
}

fn record(desk: &Desk, facts: &[&str]) -> Output {
    let line = |fact: &&str| format!(r#"{{"at":"2026-10-01T08:00:00+02:00","by":"mk",{fact}}}"#);
    desk.fed(&["record"], &facts.iter().map(line).collect::<Vec<_>>().join("\n"))
}

#[test]
fn claims_as_people_read_them() {
    let desk = desk();
    insta::assert_snapshot!("claims_lot", desk.done(&["claims", "lot", "L"]));
    assert_eq!(desk.done(&["claims", "vessel", "E"]), "Vessel E holds no wine, so there is nothing to claim.\n");
}

#[test]
fn claims_as_programs_read_them() {
    let desk = desk();
    let told = desk.json(&["claims", "vessel", "A", "--rules", "us"]);
    assert_eq!((&told["vessel"], &told["rules"]), (&"A".into(), &"us".into()));
    let claims = told["claims"].as_array().unwrap();
    assert!(claims.iter().all(|claim| claim["rules"] == "us" && claim["of_ul"] == 100_000_000));
    assert!(told["notice"].as_str().unwrap().contains("for information; rules change"));
    let vintage = claims.iter().find(|claim| claim["claim"] == "vintage" && claim["least_pct"] == 95).unwrap();
    assert_eq!((&vintage["value"], &vintage["held"]), (&"2026".into(), &false.into()));
    // 86 + 180 in 100 + 180 are 95 %.
    assert_eq!((&vintage["volume_ul"], &vintage["still_wanted_ul"]), (&86_000_000.into(), &180_000_000.into()));
    assert_eq!(vintage["may_come_in_ul"], Value::Null);
    let csv = desk.done(&["claims", "lot", "L", "--rules", "eu", "--format", "csv"]);
    assert!(csv.starts_with("rules,claim,value,share,least_pct,held,"), "{csv}");
    // 86 of 101.176470 L are 85 %.
    assert!(csv.contains("\"eu\",\"vintage\",\"2026\",0.86,85,true,86,100,1.176,"), "{csv}");
}

#[test]
fn what_is_not_there_is_a_sentence() {
    let desk = desk();
    desk.refused(&["claims", "lot", "K"], "No lot is called 'K'");
    desk.misused(&["claims", "lot", "L", "--rules", "moon"], "'moon'");
}

#[test]
fn an_act_that_costs_a_claim_is_taken_and_said() {
    let desk = desk();
    let moved = |ul: u64| format!(r#""kind":"wine_moved","from":"Z","to":"A","volume_ul":{ul},"purpose":"blend""#);
    let output = record(&desk, &[&moved(1_000_000)]);
    let said = text(&output.stderr);
    assert!(
        output.status.success() && said.contains("L may no longer claim estate") && !said.contains("vintage"),
        "{said}"
    );
    let output = record(&desk, &[&moved(1_000_000)]);
    assert_eq!((output.status.code(), text(&output.stdout).as_str()), (Some(0), "1 fact taken\n"));
    let said = text(&output.stderr);
    assert!(
        said.lines().any(|line| {
            line == "barrelwalk: L may no longer claim vintage 2026 (EU 2019/33 art. 49: 85 %, then 84.31 %)."
        }),
        "{said}"
    );
}
