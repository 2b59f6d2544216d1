//! What can hurt somebody, told by commands and on paper at each work, before it is done.

use barrelwalk::told::hazard::Hazard::{self, *};

use crate::desk::Desk;

/// Lot `R` in a barrel and in tank `T`, an empty tank `X`, empty barrels of which E2 was sulfured on 3 September; an open work of each kind.
const FACTS: &[&str] = &[
    r#""kind":"room_laid_out","room":"long","rows":[{"row":"A","stacks":2,"tiers":2,"sides":2}]"#,
    r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2026,"appellation":"Hillside","colour":"red""#,
    r#""kind":"lot_opened","lot":"R","colour":"red""#,
    r#""kind":"lot_opened","lot":"S","colour":"red""#,
    r#""kind":"vessel_registered","vessel":"0402","type":"barrel","capacity_ul":225000000"#,
    r#""kind":"wine_received","vessel":"0402","lot":"S","parts":[{"origin":"o","volume_ul":223000000}]"#,
    r#""kind":"tested","vessel":"0402","free_so2_mg_l":10,"ph":3.6"#,
    r#""kind":"vessel_registered","vessel":"T","type":"tank","capacity_ul":900000000"#,
    r#""kind":"vessel_registered","vessel":"X","type":"tank","capacity_ul":700000000"#,
    r#""kind":"vessel_registered","vessel":"K","type":"keg","capacity_ul":50000000"#,
    r#""kind":"vessel_registered","vessel":"0401","type":"barrel","capacity_ul":225000000"#,
    r#""kind":"vessel_registered","vessel":"E1","type":"barrel","capacity_ul":225000000,"fills":1"#,
    r#""kind":"vessel_registered","vessel":"E2","type":"barrel","capacity_ul":225000000,"fills":1"#,
    r#""kind":"vessel_placed","vessel":"0401","place":"long/A-01-1-a""#,
    r#""kind":"vessel_placed","vessel":"E1","place":"long/A-01-1-b""#,
    r#""kind":"vessel_placed","vessel":"E2","place":"long/A-02-1-a""#,
    r#""kind":"wine_received","vessel":"0401","lot":"R","parts":[{"origin":"o","volume_ul":223000000}]"#,
    r#""kind":"wine_received","vessel":"T","lot":"R","parts":[{"origin":"o","volume_ul":600000000}]"#,
    r#""kind":"wine_received","vessel":"K","lot":"R","parts":[{"origin":"o","volume_ul":40000000}]"#,
    r#""kind":"barrel_cared","vessel":"E2","care":"sulfured""#,
    r#""kind":"work_set","work":"rack","task":"racking","to":"X","stops":[{"vessel":"0401"}]"#,
    r#""kind":"work_set","work":"down","task":"barrel_down","from":"T","stops":[{"vessel":"E1"},{"vessel":"E2"}]"#,
    r#""kind":"work_set","work":"so2","task":"treating","material":"KMBS","stops":[{"vessel":"0401","amount_ug":5000000}]"#,
    r#""kind":"work_set","work":"fine","task":"treating","material":"bentonite","stops":[{"vessel":"T","amount_ug":5000000}]"#,
    r#""kind":"work_set","work":"rinse","task":"caring","care":"rinsed","stops":[{"vessel":"E2"}]"#,
    r#""kind":"work_set","work":"ozone","task":"caring","care":"ozonated","stops":[{"vessel":"E1"}]"#,
    r#""kind":"work_set","work":"burn","task":"caring","care":"sulfured","stops":[{"vessel":"E1"}]"#,
];

/// The sheets, and the plans, and what is heeded at each.
const TOLD: [(&[&str], &[Hazard]); 18] = [
    (&["sheet", "work", "rack"], &[Gas, Stacks]),
    (&["sheet", "work", "down"], &[Gas, SulfuredWood, Stacks]),
    (&["sheet", "work", "so2"], &[SulfurDioxide]),
    (&["sheet", "work", "fine"], &[Dust]),
    (&["sheet", "work", "rinse"], &[SulfuredWood, HotWater]),
    (&["sheet", "work", "ozone"], &[Ozone]),
    (&["sheet", "work", "burn"], &[BurningSulfur, SulfurDioxide]),
    (&["sheet", "round", "long"], &[Gas, Ladders, Stacks]),
    (&["sheet", "count"], &[Gas, Ladders, Stacks]),
    (&["sheet", "bottling", "T"], &[Gas, HotWater, Line]),
    (&["plan", "round", "long"], &[Gas, Ladders, Stacks]),
    (&["plan", "racking", "S", "--to", "X"], &[Gas, Stacks]),
    (&["plan", "sulfur", "S"], &[SulfurDioxide]),
    (&["plan", "care", "soaked"], &[SulfuredWood, HotWater]),
    (&["plan", "bottling", "T"], &[Gas, HotWater, Line]),
    (&["reckon", "dose", "--volume", "225", "--rise", "10"], &[SulfurDioxide]),
    (&["reckon", "dose", "--volume", "225", "--rise", "10", "--as", "sulfur"], &[BurningSulfur, SulfurDioxide]),
    (&["list", "empties"], &[]),
];

/// What is entered, most of it only tried, and what is said beside it.
const SAID: [(&[&str], &[Hazard]); 14] = [
    (
        &["fining", "try", "C", "--vessel", "T", "--material", "copper sulfate", "--stock", "1", "--glass", "0.0005"],
        &[Copper, DosedGlass],
    ),
    (&["fining", "try", "W", "--vessel", "T", "--material", "bentonite", "--stock", "5", "--glass", "0.2"], &[Dust]),
    (&["move", "T", "X", "--dry-run"], &[Gas, Collapse]),
    (&["move", "T", "X", "--as", "filtration", "--dry-run"], &[Gas, Collapse, Dust]),
    (&["care", "rinsed", "E2", "--dry-run"], &[SulfuredWood, HotWater]),
    (&["care", "sulfured", "E1", "--dry-run"], &[BurningSulfur, SulfurDioxide]),
    (&["care", "dried", "E1", "--dry-run"], &[]),
    (&["add", "0401", "5 g", "KMBS", "--dry-run"], &[SulfurDioxide]),
    (&["add", "T", "5 g", "bentonite", "--dry-run"], &[Dust]),
    (&["add", "T", "5 g", "tartaric acid", "--dry-run"], &[Harsh]),
    (&["blanket", "T", "--dry-run"], &[Gas, LaidGas]),
    (&["lift", "long/A-02-1", "long/A-01-2", "--dry-run"], &[Stacks, Lifting]),
    (&["bulk-out", "T", "100", "the house over the river", "--dry-run"], &[Gas, Collapse]),
    (&["stir", "0401", "--dry-run"], &[Ladders]),
];

#[track_caller]
fn tells(told: &str, hazards: &[Hazard], place: &[&str]) {
    let told = told.split_whitespace().filter(|word| *word != "!").collect::<Vec<_>>().join(" ");
    for hazard in Hazard::ALL {
        let words = if hazard == SulfuredWood { "E2 was sulfured on" } else { hazard.sentence() };
        assert_eq!(told.contains(words), hazards.contains(&hazard), "{hazard:?} at {place:?}:\n{told}");
    }
    assert_eq!(told.contains("Follow local codes and licensed practice."), !hazards.is_empty(), "{place:?}: {told}");
}

#[test]
fn each_plan_and_each_sheet_tells_its_hazards() {
    let desk = Desk::with("2026-09-03", FACTS);
    for (words, hazards) in TOLD {
        tells(&desk.told(words), hazards, words);
    }
}

#[test]
fn each_act_tells_its_hazards_before_it_is_entered() {
    let desk = Desk::with("2026-09-03", FACTS);
    for (words, hazards) in SAID {
        let output = desk.run(words);
        assert_eq!(output.status.code(), Some(0), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
        tells(&String::from_utf8_lossy(&output.stderr), hazards, words);
    }
    // Whoever reads a work as JSON is told beside it.
    let begun = desk.heard(&["plan", "racking", "S", "--to", "X", "--begin", "rack S", "--format", "json"]);
    assert!(begun.0.starts_with('{'), "{}", begun.0);
    tells(&begun.1, &[Gas, Stacks], &["plan", "racking", "--begin"]);
    let said = desk.heard(&["add", "0401", "5 g", "KMBS"]).1;
    assert!(said.starts_with("barrelwalk: Sulfur dioxide is toxic"), "{said}");
}
