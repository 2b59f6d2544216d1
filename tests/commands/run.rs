//! `list runs`, `show run`, `trace run`, `claims run`, `plan bottling` and what `reckon` knows of bottles, as another program
//! meets them.

use serde_json::{Value, json};

use crate::desk::Desk;

const LITRE: u64 = 1_000_000;

/// Wine of two blocks, two barrels topped, treated, tasted, tested, racked into tank `T9`, and run `G1` of two lot codes,
/// laid away in two places and sold in part.
fn desk() -> Desk {
    let desk = Desk::new();
    let warns = json!({"at": "2026-04-01T08:00:00+02:00", "kind": "practice_set", "checklist": "warns"});
    record(&desk, &[("mk", warns)]);
    record(&desk, &[before_bottling(), bottling()].concat());
    desk
}

fn record(desk: &Desk, facts: &[(&str, Value)]) {
    let line = |(minute, (by, fact)): (usize, &(&str, Value))| {
        let mut fact = fact.clone();
        if fact["at"].is_null() {
            fact["at"] = format!("2026-04-02T{:02}:{:02}:00+02:00", 6 + minute / 60, minute % 60).into();
        }
        fact["by"] = (*by).into();
        fact.to_string()
    };
    desk.record(&facts.iter().enumerate().map(line).collect::<Vec<_>>());
}

fn before_bottling() -> Vec<(&'static str, Value)> {
    let mut facts = Vec::new();
    for (origin, tank, lot) in [("o1", "T1", "A"), ("o2", "T2", "B")] {
        facts.push((
            "mk",
            json!({
                "kind": "origin_declared", "origin": origin, "block": "Terrace", "variety": "Syrah", "vintage": 2025,
                "appellation": "Hillside", "colour": "red",
            }),
        ));
        facts.push(("mk", json!({"kind": "lot_opened", "lot": lot, "colour": "red"})));
        facts.push((
            "mk",
            json!({"kind": "vessel_registered", "vessel": tank, "type": "tank", "capacity_ul": 1_000 * LITRE}),
        ));
        let parts = json!([{"origin": origin, "volume_ul": 1_000 * LITRE}]);
        facts.push(("mk", json!({"kind": "wine_received", "vessel": tank, "lot": lot, "parts": parts})));
    }
    facts.push((
        "mk",
        json!({"kind": "vessel_registered", "vessel": "T9", "type": "tank", "capacity_ul": 1_000 * LITRE}),
    ));
    for barrel in ["0401", "0402", "0403"] {
        facts.push((
            "mk",
            json!({"kind": "vessel_registered", "vessel": barrel, "type": "barrel", "capacity_ul": 225 * LITRE}),
        ));
        facts.push(("mk", moved("T1", barrel, 225)));
    }
    facts.extend([
        ("jo", json!({"kind": "topped", "vessel": "0401", "from": "T2", "volume_ul": 3 * LITRE})),
        (
            "jo",
            json!({"kind": "treated", "vessel": "0401", "material": "so2", "amount_ug": 7_000_000, "batch": "PM 1"}),
        ),
        ("ann", json!({"kind": "tasted", "vessel": "0402", "score": 15.5, "marks": ["plum"]})),
        ("ann", json!({"kind": "tasted", "vessel": "0403", "score": 9.0})),
        ("mk", json!({"kind": "sampled", "vessel": "0402", "volume_ul": LITRE, "sample": "S1"})),
        ("mk", moved("0401", "T9", 224)),
        ("mk", moved("0402", "T9", 224)),
        ("lab", json!({"kind": "tested", "sample": "S1", "ph": 3.62, "free_so2_mg_l": 28.0})),
    ]);
    facts
}

fn moved(from: &str, to: &str, litres: u64) -> Value {
    json!({"kind": "wine_moved", "from": from, "to": to, "volume_ul": litres * LITRE, "purpose": "racking"})
}

fn bottling() -> Vec<(&'static str, Value)> {
    vec![
        (
            "mk",
            json!({
                "kind": "bottled", "vessel": "T9", "run": "G1", "bottles": 400, "bottle_ul": 750_000, "lot_code": "L1",
                "closure": "cork", "minutes": 30, "fills_ul": [751_000, 750_000], "materials": [{"material": "glass", "batch": "GX"}],
            }),
        ),
        (
            "mk",
            json!({
                "kind": "bottled", "vessel": "T9", "run": "G1", "bottles": 190, "bottle_ul": 750_000, "lot_code": "L2",
                "empties": true,
            }),
        ),
        // What is done to wine of T9 from here on is not in the bottles.
        ("eve", moved("T2", "T9", 100)),
        ("eve", json!({"kind": "treated", "vessel": "T9", "material": "acid", "amount_ug": 50_000_000})),
        ("mk", json!({"kind": "laid_away", "run": "G1", "bottles": 300, "place": "bin 4", "release": "2026-04-30"})),
        ("mk", json!({"kind": "laid_away", "run": "G1", "bottles": 200, "place": "bin 5", "release": "2028-05-01"})),
        (
            "mk",
            json!({"kind": "bottles_out", "run": "G1", "bottles": 60, "why": "sold", "to": "The shop", "from": "bin 4"}),
        ),
        ("mk", json!({"kind": "bottles_out", "run": "G1", "bottles": 2, "why": "broken"})),
    ]
}

#[test]
fn every_bottle_and_litre_of_a_run_is_accounted_for() {
    let desk = desk();
    let run = &desk.told_json("list runs --on 2026-04-05")[0];
    let numbers = ["bottles", "not_laid_away", "laid_away", "out", "beyond_the_book", "ready_this_month"];
    assert_eq!(numbers.map(|name| run[name].as_u64().unwrap()), [590, 88, 440, 62, 0, 240]);
    assert_eq!(run["volume_ul"], 442_500_000);
    assert_eq!(run["loss_ul"], 5_500_000, "448 L were in the tank");
    assert_eq!(desk.told_json("list runs --on 2026-03-01"), json!([]));
    let card = desk.told(&["show", "run", "G1", "--on", "2026-04-05"]);
    for part in [
        "590 bottles = 440 laid away + 62 out + 88 not laid away yet.",
        "448 L drawn = 442.5 L in bottles + 5.5 L lost.",
        "bin 4  L1    30 Apr 2026  ready this month",
        "bin 5  L2    1 May 2028   resting",
        "Within this house's check: none is more than 15 mL short (Directive 76/211/EEC, Annex I), and on average they are not short.",
    ] {
        assert!(card.contains(part), "{part}: {card}");
    }
    let card = desk.told_json("show run G1");
    assert_eq!(card["out_by_cause"][0]["to"], "The shop");
    assert_eq!(card["stretches"][0]["bottles_an_hour"], 800);
    // Nobody said a code: the first 400 that were laid away are taken to be of L1, and 100 of the last 200.
    let of_code = |index: usize| {
        let fields = ["filled", "not_laid_away", "laid_away", "out", "left"];
        fields.map(|field| card["bottles_by_code"][index][field].as_u64().unwrap())
    };
    assert_eq!([of_code(0), of_code(1)], [[400, 0, 340, 60, 340], [190, 88, 100, 2, 188]]);
    let ledger = desk.told_json("ledger --from 2026-04-01 --to 2026-04-30");
    assert_eq!((&ledger["bottled_ul"], &ledger["bottling_loss_ul"]), (&json!(442_500_000), &json!(5_500_000)));
    assert_eq!(ledger["balances"], true);
    let facts = desk.told(&["export"]);
    desk.write("all.jsonl", &facts);
    desk.told(&["new", "copy"]);
    desk.told(&["--cellar", "copy", "record", "all.jsonl"]);
    assert_eq!(desk.told_json("list runs --cellar copy"), desk.told_json("list runs"));
}

#[test]
fn a_bottle_is_tasted_at_the_desk_and_bottles_are_listed() {
    let desk = desk();
    desk.refused("bottle taste L9 15", "No lot code and no run is called 'L9'");
    desk.refused("bottle taste L1 21", "A score lies between 0 and 20");
    desk.refused(
        "bottle taste L2 15 --from bin9",
        "1 bottle of 'G1' with the lot code 'L2' is to leave bin9, where 0 lie",
    );
    let told = desk.told(&["bottle", "taste", "L2", "15.5 pl, still closed", "--by", "ann"]);
    assert!(told.ends_with("527 bottles of G1 are left\n"), "{told}");
    let card = desk.told_json("show run G1");
    let tasted = &card["tastings"][0];
    assert_eq!(
        (&tasted["lot_code"], &tasted["score"], &tasted["text"]),
        (&json!("L2"), &json!(15.5), &json!("still closed"))
    );
    let out = card["out_by_cause"].as_array().unwrap();
    assert_eq!((&out[2]["why"], &out[2]["bottles"]), (&json!("tasting"), &json!(1)));
    let list = desk.told_json("list bottles --on 2026-05-01");
    let told =
        |index: usize| (list[index]["place"].clone(), list[index]["state"].clone(), list[index]["bottles"].clone());
    assert_eq!(told(0), (json!("bin 4"), json!("released"), json!(240)));
    assert_eq!(told(1), (json!("bin 5"), json!("resting"), json!(100)));
    assert_eq!(list.as_array().unwrap().last().unwrap()["state"], "not laid away");
}

#[test]
fn a_lot_code_leads_back_to_all_that_its_wine_met() {
    let desk = desk();
    let page = desk.told_json("trace run --code L1");
    assert_eq!((&page["run"], &page["bottles"], &page["lot_codes"]), (&json!("G1"), &json!(400), &json!(["L1"])));
    let all = |list: &str, field: &str| {
        let found = page[list].as_array().unwrap().iter().map(|thing| thing[field].to_string());
        found.collect::<Vec<_>>().join(" ")
    };
    assert_eq!(all("vessels", "vessel"), r#""T1" "T2" "T9" "0401" "0402""#, "0403 is still in its barrel");
    assert_eq!(all("treatments", "material"), r#""so2""#, "the acid came later");
    assert_eq!(all("treatments", "by"), r#""jo""#);
    assert_eq!(all("treatments", "batch"), r#""PM 1""#);
    assert_eq!(all("tests", "ph"), "3.62", "of a sample that was drawn before the wine was racked");
    assert_eq!(all("tastings", "score"), "15.5", "0403 is not in it");
    assert_eq!(all("people", "by"), r#""mk" "jo" "ann" "lab""#);
    assert_eq!(all("line", "material"), r#""cork" "glass""#);
    let sum: u64 = page["composition"].as_array().unwrap().iter().map(|part| part["volume_ul"].as_u64().unwrap()).sum();
    assert_eq!(sum, 300_000_000);
    assert_eq!(desk.told_json("trace run G1 --code L2")["line"], json!([]));
    let told = desk.told(&["trace", "run", "G1"]);
    assert!(
        told.contains("Barrels of A, 2: 0401 (1), 0402 (1).") && told.contains("so2") && told.contains("28 mg/L"),
        "{told}"
    );
    assert!(told.lines().count() < 90, "one page: {told}");
    let typed = desk.told(&["trace", "run", "L1"]);
    assert!(typed.starts_with("Trace of lot code L1, run G1\n") && !typed.contains("L2"), "{typed}");
    assert_eq!(desk.told(&["sheet", "trace", "run", "L1"]), typed, "paper says what the terminal says");
    let html = desk.told(&["sheet", "trace", "run", "L1", "--html"]);
    assert!(html.starts_with("<!DOCTYPE html>") && html.contains("Trace of lot code L1, run G1"), "{html}");
}

#[test]
fn a_barrel_and_a_material_lead_forward_to_the_bottles() {
    let desk = desk();
    let reached = |words: &str, list: &str| {
        let page = desk.told_json(words);
        let runs = page[list].as_array().unwrap().iter();
        runs.map(|run| (run["run"].to_string(), run["bottles"].as_u64().unwrap())).collect::<Vec<_>>()
    };
    let all = vec![(r#""G1""#.to_owned(), 590)];
    assert_eq!(reached("trace vessel 0401 --forward", "bottled"), all);
    assert_eq!(reached("trace lot B --forward", "bottled"), all, "by the topping");
    assert_eq!(reached("trace vessel 0403 --forward", "bottled"), []);
    assert_eq!(reached("trace material so2", "runs"), all);
    let of_batch = desk.told(&["trace", "material", "PM 1"]);
    assert!(
        of_batch.contains("L1        G1") && of_batch.contains("400"),
        "the batch of an addition leads there: {of_batch}"
    );
    assert_eq!(reached("trace material GX", "runs"), [(r#""G1""#.to_owned(), 400)]);
    assert_eq!(reached("trace material acid", "runs"), [], "it was given to what came into the tank later");
    assert_eq!(reached("trace block Terrace", "runs"), all);
    assert!(desk.told(&["trace", "run", "G1", "--forward"]).contains("The shop"));
    for words in ["trace vessel 0401 --forward", "trace lot B --forward", "trace material so2", "trace block Terrace"] {
        let told = desk.told(&words.split(' ').collect::<Vec<_>>());
        assert!(
            told.contains("L1        G1") && told.contains("In the bins") && told.contains("The shop"),
            "{words} {told}"
        );
    }
    assert!(desk.told(&["trace", "vessel", "0403", "--forward"]).contains("None of it is in bottles."));
    let sheet = desk.told(&["sheet", "trace", "vessel", "0401"]);
    assert_eq!(sheet, desk.told(&["trace", "vessel", "0401", "--forward"]));
}

#[test]
fn a_run_makes_claims() {
    let desk = desk();
    let claims = desk.told_json("claims run G1 --rules eu");
    let vintage = &claims["claims"][0];
    assert_eq!((&vintage["claim"], &vintage["held"]), (&json!("vintage"), &json!(true)));
    assert_eq!(vintage["may_come_in_ul"], Value::Null, "nothing comes into a closed bottle");
}

#[test]
fn a_bottling_is_planned_from_the_litres_there() {
    let desk = desk();
    let plan = desk.told_json("plan bottling T1 --loss 0%");
    let numbers = ["bottles", "cases", "odd_bottles", "closures", "capsules", "front_labels", "back_labels", "pallets"];
    // 1,000 L less three barrels of 225 L are 325 L: 433 bottles of 750 mL, and 2 % more of all that is ordered.
    assert_eq!(numbers.map(|name| plan[name].as_u64().unwrap()), [433, 36, 1, 442, 442, 442, 442, 1]);
    let magnums = desk.told_json("plan bottling T1 --bottle 1.5L --case 6 --loss 1% --litres 300");
    assert_eq!((&magnums["bottles"], &magnums["cases"]), (&json!(198), &json!(33)));
    desk.refused("plan bottling T1 --litres 326", "T1 holds 325 L by the book, and 326 L is to be bottled");
    desk.refused("plan bottling T2 --bottle 0", "A bottle must hold something");
    desk.refused("plan bottling 0402", "0402 holds nothing by the book");
    desk.refused("plan bottling T8", "No vessel is called 'T8'");
}

#[test]
fn what_is_not_there_is_said() {
    let desk = desk();
    let other = json!({
        "at": "2026-04-03T08:00:00+02:00", "kind": "bottled", "vessel": "T2", "run": "Magnums", "bottles": 1,
        "bottle_ul": 750_000, "lot_code": "L9b",
    });
    record(&desk, &[("mk", other)]);
    desk.refused("show run G9", "No run is called 'G9'. Did you mean 'G1'?");
    desk.refused("trace run --code L9", "No bottle has the lot code 'L9'");
    desk.refused("trace run Magnums --code L1", "That lot code stands on bottles of G1. Name one with it.");
    desk.refused("trace run G9 --code L1", "No run is called 'G9'");
    desk.refused("trace run --code L92", "No bottle has the lot code 'L92'. Did you mean 'L2' or 'L9b'?");
    desk.refused("trace run G9", "No run is called 'G9'. Did you mean 'G1'");
    desk.refused(
        "trace material chalk",
        "No wine was treated and no bottle was filled with 'chalk'. Check its spelling.",
    );
    desk.refused("trace material SO", "Did you mean 'so2'?");
    desk.refused("trace block Terrasse", "No block of vines is called 'Terrasse'. Did you mean 'Terrace'?");
    desk.refused("trace vessel 0401 --fill 2", "0401 was filled once. Leave --fill out.");
    desk.refused("sheet trace vessel 9999", "No vessel is called '9999'");
    assert_eq!(desk.run(&["trace", "run"]).status.code(), Some(2));
}

#[test]
fn the_order_of_a_bottling_is_printed() {
    let desk = desk();
    let order = desk.told("sheet bottling T1 --litres 300 --bottle 1.5L --case 6 --code L7 --hours 3");
    assert!(order.contains("Bottling order: T1") && order.contains("Lot code on the bottles: L7"), "{order}");
    assert!(order.contains("198 bottles of 1.5 L: 33 cases of 6, 1 pallet; 3.0 L expected to be lost."), "{order}");
    assert!(desk.told("sheet bottling T1 --html").starts_with("<!DOCTYPE html>"));
    desk.refused("sheet bottling T1 --litres 326", "T1 holds 325 L by the book, and 326 L is to be bottled");
    desk.refused("sheet bottling 0402", "0402 holds nothing by the book");
    desk.misused("sheet bottling T1 --hours 0", "0 is not in 1..=24");
}

/// 225 L = 300 bottles = 25 cases (published figures of the trade); 27 CFR 24.255 and Directive 76/211 for fills; 27 CFR
/// 4.36 for alcohol.
#[test]
fn bottles_are_reckoned_without_a_cellar() {
    let desk = desk();
    let barrel = desk.told_json("reckon bottles --litres 225 --loss 0%");
    assert_eq!((&barrel["bottles"], &barrel["cases"]), (&json!(300), &json!(25)));
    let fills = desk.told_json("reckon fills --nominal 750 --rules eu 748 751 752");
    assert_eq!((&fills["holds"], &fills["tolerance_ul"]), (&json!(true), &json!(15_000)));
    let card = desk.told("reckon fills --nominal 750 --rules eu 748 751");
    assert!(card.contains("within this house's check") && !card.contains("holds"), "{card}");
    assert_eq!(desk.told_json("reckon fills --nominal 750 --rules eu 748 751")["holds"], false);
    let short = desk.told_json("reckon fills --nominal 750 --rules us 748 751");
    assert_eq!((&short["holds"], &short["under"], &short["over"]), (&json!(false), &json!(1), &json!(1)));
    assert_eq!(desk.told_json("reckon fills --nominal 750 --rules us 749 752")["holds"], true);
    assert!(desk.told("reckon fills --nominal 720 --rules us 719 722").contains("six tax returns"));
    assert!(desk.told("reckon fills --nominal 720 --rules eu 719 722").contains("720 mL is none of the sizes of"));
    let sample = format!("reckon fills --rules eu --batch 400{}", " 749 753".repeat(15));
    let batch = &desk.told_json(&sample)["batch"];
    assert_eq!((&batch["judged_by"], &batch["short"], &batch["verdict"]), (&json!(30), &json!(0), &json!("within")));
    desk.refused("reckon fills --rules eu --batch 400 750", "Of a batch of 400 bottles 30 are measured");
    desk.refused("reckon fills --rules us --batch 400 750", "The batch test is the European Union's");
    assert_eq!(desk.told_json("reckon fill-point --temperature 20")["fill_point_mm"], 63.5);
    assert_eq!(desk.told_json("reckon label-alcohol --label 13.9 --found 14.1 --rules us")["crosses_pct"], 14.0);
    desk.refused("reckon fill-point --temperature 90", "No wine is filled at 90 °C");
    desk.refused("reckon label-alcohol --label 139 --found 14.1 --rules us", "139 % vol of alcohol is none of a wine");
}
