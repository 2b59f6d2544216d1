//! A small cellar written by hand: two rooms, one with racks of four, and a barrel of every kind that a screen may meet.

use std::path::Path;

use barrelwalk::cellar::core::fact::IncomingFact;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::desk::{Access, Desk, IncomingLine};

/// A label as long as a label may be.
pub const LONG_LABEL: &str = "Grand tonneau du fond, près de l'échelle";
/// A label of characters that take two columns each.
pub const WIDE_LABEL: &str = "葡萄酒-07";

/// The morning on which every test looks at the cellar.
pub fn morning() -> Moment {
    Moment::parse("2026-11-25T06:41:00+01:00").unwrap()
}

/// The same morning, a little later.
pub fn later() -> Moment {
    Moment::parse("2026-11-25T06:52:00+01:00").unwrap()
}

/// Makes the cellar.
pub fn create(path: &Path) {
    Desk::create(path, morning()).unwrap();
    record(path, &facts());
}

/// Makes a cellar of no fact at all.
pub fn create_empty(path: &Path) {
    Desk::create(path, morning()).unwrap();
}

/// Takes facts in through the door that other programs use.
pub fn record(path: &Path, facts: &[String]) {
    let lines = facts.iter().zip(1..).map(|(line, number)| {
        let (fact, body) = IncomingFact::from_json(line).unwrap();
        IncomingLine { number, fact, body }
    });
    let outcome = Desk::open(path, Access::ReadWrite).unwrap().record(lines.collect(), morning(), false).unwrap();
    assert_eq!(outcome.refused, []);
}

/// A fact on a day of that year at seven in the morning.
pub fn fact(day: &str, rest: &str) -> String {
    format!(r#"{{"at":"2026-{day}T07:00:00+01:00","by":"mk","v":1,{rest}}}"#)
}

/// A store of two rows, run `Terrace 26` of two lot codes and run `Chalk 26`, laid away in part.
pub fn bottles() -> Vec<String> {
    let filled = |vessel: &str, run: &str, bottles: u32, code: &str| {
        format!(
            r#""kind":"bottled","vessel":"{vessel}","run":"{run}","bottles":{bottles},"bottle_ul":750000,"lot_code":"{code}""#
        )
    };
    let laid = |run: &str, bottles: u32, place: &str, code: &str, release: &str| {
        let release = if release.is_empty() { String::new() } else { format!(r#","release":"{release}""#) };
        format!(
            r#""kind":"laid_away","run":"{run}","bottles":{bottles},"place":"{place}","lot_code":"{code}"{release}"#
        )
    };
    let facts = [
        ("10-01", r#""kind":"practice_set","checklist":"warns""#.to_owned()),
        ("10-01", r#""kind":"store_laid_out","store":"cave","rows":[{"row":"A","bins":12},{"row":"B","bins":4}]"#.to_owned()),
        ("10-02", filled("T1", "Terrace 26", 600, "L261")),
        ("10-02", filled("T1", "Terrace 26", 300, "L262")),
        ("10-03", filled("KW", "Chalk 26", 60, "W261")),
        ("10-04", laid("Terrace 26", 400, "cave/A-01", "L261", "2027-09-01")),
        ("10-04", laid("Terrace 26", 200, "cave/A-02", "L261", "2026-11-28")),
        ("10-04", laid("Terrace 26", 100, "cave/A-03", "L262", "2026-11-01")),
        ("10-04", laid("Terrace 26", 50, "cave/B-02", "L262", "")),
        ("10-04", laid("Chalk 26", 24, "cave/B-02", "W261", "")),
        ("10-04", laid("Chalk 26", 12, "shop shelf 2", "W261", "2026-10-10")),
        ("11-05", r#""kind":"bottle_tasted","run":"Terrace 26","lot_code":"L261","from":"cave/A-01","score":15.5,"marks":["plum"],"text":"closed still""#.to_owned()),
        ("11-06", r#""kind":"bottles_out","run":"Terrace 26","bottles":10,"why":"sold","to":"The shop","from":"cave/A-03""#.to_owned()),
    ];
    facts.iter().map(|(day, rest)| fact(day, rest)).collect()
}

fn facts() -> Vec<String> {
    let mut facts = Vec::new();
    rooms_and_lots(&mut facts);
    kegs_and_tanks(&mut facts);
    barrels(&mut facts);
    facts.push(fact("10-01", r#""kind":"stage_set","lot":"M26 Upper Terrace","stage":"bung_up""#));
    toppings(&mut facts);
    words(&mut facts);
    facts
}

fn rooms_and_lots(facts: &mut Vec<String>) {
    let mut say = |rest: &str| facts.push(fact("09-01", rest));
    say(concat!(
        r#""kind":"room_laid_out","room":"long","rows":[{"row":"A","stacks":4,"tiers":3,"sides":2},"#,
        r#"{"row":"B","stacks":4,"tiers":2,"sides":2}],"temperature_c":16.0,"humidity_pct":70.0,"tolerated_ul":2500000"#
    ));
    say(r#""kind":"room_laid_out","room":"vault","rows":[{"row":"G","stacks":2,"tiers":2,"sides":4}]"#);
    for (lot, variety, colour) in [
        ("M26 Upper Terrace", "Merlot", "red"),
        ("C26 Long Wall", "Cabernet Sauvignon", "red"),
        ("W26 Chalk", "Chardonnay", "white"),
    ] {
        say(&format!(
            r#""kind":"origin_declared","origin":"{lot}","block":"{lot}","variety":"{variety}","vintage":2026,"appellation":"Varrow Valley","colour":"{colour}""#
        ));
        say(&format!(r#""kind":"lot_opened","lot":"{lot}","colour":"{colour}""#));
    }
}

fn kegs_and_tanks(facts: &mut Vec<String>) {
    let vessels = [
        ("K1", "keg", 20, Some(("M26 Upper Terrace", 12))),
        ("K2", "keg", 100, Some(("C26 Long Wall", 80))),
        ("KW", "keg", 50, Some(("W26 Chalk", 50))),
        ("T1", "tank", 2_000, Some(("M26 Upper Terrace", 1_200))),
        ("T2", "tank", 1_000, None),
    ];
    for (vessel, kind, capacity, wine) in vessels {
        let capacity = capacity * 1_000_000_u64;
        facts.push(fact(
            "09-01",
            &format!(r#""kind":"vessel_registered","vessel":"{vessel}","type":"{kind}","capacity_ul":{capacity}"#),
        ));
        if let Some((lot, litres)) = wine {
            receive(facts, vessel, lot, litres * 1_000_000);
        }
    }
}

fn receive(facts: &mut Vec<String>, vessel: &str, lot: &str, volume: u64) {
    facts.push(fact(
        "09-02",
        &format!(
            r#""kind":"wine_received","vessel":"{vessel}","lot":"{lot}","parts":[{{"origin":"{lot}","volume_ul":{volume}}}]"#
        ),
    ));
}

/// The barrels with their places and their lots; none, where they are empty.
fn laid() -> Vec<(String, String, Option<&'static str>)> {
    let mut laid = Vec::new();
    let mut number = 401;
    for (row, stacks, tiers, lot) in [("A", 4, 3, "M26 Upper Terrace"), ("B", 4, 2, "C26 Long Wall")] {
        for stack in 1..=stacks {
            for tier in 1..=tiers {
                for side in ["a", "b"] {
                    // The last stack of a row is not full to its top.
                    if stack == stacks && tier == tiers {
                        continue;
                    }
                    let label = match number {
                        408 => LONG_LABEL.to_owned(),
                        409 => WIDE_LABEL.to_owned(),
                        _ => format!("{number:04}"),
                    };
                    let wine = (![419, 436].contains(&number)).then_some(lot);
                    laid.push((label, format!("long/{row}-{stack:02}-{tier}-{side}"), wine));
                    number += 1;
                }
            }
        }
    }
    for (side, label) in ["a", "b", "c", "d"].into_iter().zip(["W-01", "W-02", "W-03", "W-04"]) {
        laid.push((label.to_owned(), format!("vault/G-01-1-{side}"), Some("W26 Chalk")));
    }
    laid.push(("W-05".to_owned(), "vault/G-02-2-c".to_owned(), None));
    laid
}

fn barrels(facts: &mut Vec<String>) {
    let woods = [
        r#""forest":"Tronçais","toast":"medium","cooper":"Hollow Oak","made":2023,"fills":1"#,
        r#""forest":"Vosges","toast":"medium plus","cooper":"Bent Stave","made":2026"#,
        r#""forest":"Missouri","toast":"heavy","shape":"Bordeaux export","made":2021,"fills":3"#,
        r#""toast":"light""#,
    ];
    for (index, (label, place, lot)) in laid().into_iter().enumerate() {
        let wood = woods[index / 2 % woods.len()];
        facts.push(fact(
            "09-01",
            &format!(r#""kind":"vessel_registered","vessel":"{label}","type":"barrel","capacity_ul":225000000,{wood}"#),
        ));
        facts.push(fact("09-01", &format!(r#""kind":"vessel_placed","vessel":"{label}","place":"{place}""#)));
        if let Some(lot) = lot {
            receive(facts, &label, lot, 225_000_000);
        }
    }
    // One without a place, and one that is gone.
    for label in ["0501", "0502"] {
        facts.push(fact(
            "09-01",
            &format!(r#""kind":"vessel_registered","vessel":"{label}","type":"barrel","capacity_ul":225000000"#),
        ));
    }
    facts.push(fact("09-03", r#""kind":"vessel_retired","vessel":"0502","why":"stave cracked at the bung""#));
}

/// Row A is over, row B due in part, the vault was topped the day before.
fn toppings(facts: &mut Vec<String>) {
    for (index, (label, place, lot)) in laid().into_iter().enumerate() {
        if lot.is_none() {
            continue;
        }
        let (from, day) = match place.as_bytes()[5] {
            b'A' => ("T1", if index < 12 { "10-30" } else { "11-03" }),
            b'B' => ("K2", if index % 3 == 0 { "11-03" } else { "11-20" }),
            _ => ("KW", "11-24"),
        };
        // The last barrel of the vault was filled but never topped.
        if label == "W-04" {
            continue;
        }
        let volume = 1_100_000 + index as u64 * 30_000;
        // This one is held by then, and kept full all the same.
        let despite = if label == "W-02" { r#","despite":"kept full""# } else { "" };
        facts.push(fact(
            day,
            &format!(r#""kind":"topped","vessel":"{label}","from":"{from}","volume_ul":{volume},"full":true{despite}"#),
        ));
    }
}

fn words(facts: &mut Vec<String>) {
    let mut say = |rest: &str| facts.push(fact("11-21", rest));
    say(r#""kind":"held","vessel":"0404","why":"film on the surface, waits for the laboratory""#);
    say(r#""kind":"held","vessel":"W-02","why":"reductive""#);
    say(r#""kind":"tasted","vessel":"0402","score":14.5,"text":"plum, a little closed""#);
    say(r#""kind":"tasted","vessel":"0403","score":9.0,"text":"volatile""#);
    say(&format!(r#""kind":"tasted","vessel":"{LONG_LABEL}","score":16.0,"text":"très long, crème de cassis""#));
    say(r#""kind":"sampled","vessel":"0402","volume_ul":100000"#);
    say(r#""kind":"gauged","vessel":"K2","volume_ul":60000000"#);
    say(r#""kind":"noted","about":"0405","text":"second bung replaced""#);
}
