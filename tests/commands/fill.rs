//! `plan fill` as another program meets it.

use std::process::Output;

use serde_json::{Value, json};

use crate::desk::{Desk, refused, text};

/// T1 holds 4,000 L of a red lot, and forty empties of 228 L lie in a room, three of them new.
fn facts() -> Vec<String> {
    let at = |mut fact: Value| {
        fact["at"] = json!("2026-09-01T08:00:00+02:00");
        fact["by"] = json!("mk");
        fact.to_string()
    };
    let mut facts = vec![
        json!({"kind": "room_laid_out", "room": "long", "rows": [{"row": "A", "stacks": 5, "tiers": 4, "sides": 2}]}),
        json!({"kind": "vessel_registered", "vessel": "T1", "type": "tank", "capacity_ul": 5_000_000_000_u64}),
        json!({"kind": "vessel_registered", "vessel": "T2", "type": "tank", "capacity_ul": 5_000_000_000_u64}),
        json!({"kind": "origin_declared", "origin": "o", "block": "b", "variety": "Syrah", "vintage": 2026, "appellation": "Varrow Valley", "colour": "red"}),
        json!({"kind": "lot_opened", "lot": "S26", "colour": "red"}),
        json!({"kind": "wine_received", "vessel": "T1", "lot": "S26", "parts": [{"origin": "o", "volume_ul": 4_000_000_000_u64}]}),
    ];
    for number in 0..40 {
        let (label, forest) = (format!("{:04}", number + 1), if number % 2 == 0 { "Allier" } else { "Vosges" });
        let place =
            format!("long/A-{:02}-{}-{}", number / 8 + 1, number / 2 % 4 + 1, if number % 2 == 0 { "a" } else { "b" });
        facts.push(json!({
            "kind": "vessel_registered", "vessel": label, "type": "barrel", "capacity_ul": 228_000_000, "forest": forest,
            "toast": "medium", "fills": u32::from(number >= 3),
        }));
        facts.push(json!({"kind": "vessel_placed", "vessel": label, "place": place}));
    }
    facts.into_iter().map(at).collect()
}

fn desk() -> Desk {
    let desk = Desk::new();
    desk.record(&facts());
    desk
}

fn asked(desk: &Desk, words: &[&str]) -> Output {
    desk.run(&[&["plan", "fill"], words].concat())
}

fn planned(desk: &Desk, words: &[&str]) -> Value {
    desk.json(&[&["plan", "fill"], words].concat())
}

/// 17 barrels of 228 L are 3,876 L and leave 124 L; 30 % of that are 1,162.8 L, and three new barrels hold 684 L.
#[test]
fn people_read_the_mix_what_binds_and_where_to_walk() {
    let desk = desk();
    let told = asked(&desk, &["T1", "--wish", "new>=30%", "--wish", "forest:Allier>=50%"]);
    assert_eq!(told.status.code(), Some(0));
    insta::assert_snapshot!(text(&told.stdout));
}

#[test]
fn programs_get_all_of_it() {
    let desk = desk();
    let plan = planned(&desk, &["T1", "--wish", "new>=30%"]);
    assert_eq!((plan["placed_ul"].as_u64(), plan["stays_ul"].as_u64()), (Some(3_876_000_000), Some(124_000_000)));
    assert_eq!((plan["missed_ul"].as_u64(), plan["proved"].as_bool()), (Some(478_800_000), Some(true)));
    assert_eq!(plan["barrels"].as_array().unwrap().len(), 17);
    let csv = text(&asked(&desk, &["T1", "--barrels", "2", "--format", "csv"]).stdout);
    let lines: Vec<&str> = csv.lines().collect();
    assert_eq!(lines[0], "order,vessel,place,capacity_l,fill,forest,toast,cooper,grain,seasoning_months,wants");
    assert_eq!(lines[1], "1,\"0001\",\"long/A-01-1-a\",228,1,\"Allier\",\"medium\",,,,\"soaked\"");
    assert_eq!(lines.len(), 3);
    let litres = planned(&desk, &["T1", "--litres", "1000", "--wish", "forest:Vosges=50%", "--room", "long"]);
    assert_eq!((litres["placed_ul"].as_u64(), litres["missed_ul"].as_u64()), (Some(912_000_000), Some(0)));
}

/// What was filled is the pattern of what comes: one new barrel in four, half of them Allier.
#[test]
fn an_old_assignment_is_a_pattern() {
    let desk = desk();
    let moved = |to: &str| {
        json!({"at": "2026-09-02T08:00:00+02:00", "by": "mk", "kind": "wine_moved", "from": "T1", "to": to, "volume_ul": 228_000_000, "purpose": "barrel_down"})
            .to_string()
    };
    desk.record(&["0001", "0005", "0004", "0006"].map(moved));
    let plan = planned(&desk, &["T1", "--barrels", "8", "--like", "S26"]);
    let wishes: Vec<&str> =
        plan["wishes"].as_array().unwrap().iter().map(|wish| wish["wish"].as_str().unwrap()).collect();
    assert_eq!(wishes, ["new=25%", "forest:Allier=50%", "forest:Vosges=50%", "toast:medium=100%"]);
    assert_eq!((plan["missed_ul"].as_u64(), plan["proved"].as_bool()), (Some(0), Some(true)));
}

/// What is begun is walked in the order of the plan, and a second plan leaves it its barrels and its wine.
#[test]
fn a_plan_is_begun_as_a_work() {
    let desk = desk();
    let begun = asked(&desk, &["T1", "--barrels", "12", "--wish", "new>=20%", "--into-lot", "S26", "--begin", "down"]);
    assert_eq!(begun.status.code(), Some(0), "{}", text(&begun.stderr));
    assert!(text(&begun.stderr).contains("The work 'down' has begun. Press d on the screen to walk it."));
    let facts = desk.told(&["export"]);
    let set: Value = serde_json::from_str(facts.lines().find(|line| line.contains("work_set")).unwrap()).unwrap();
    assert_eq!((&set["task"], &set["from"], &set["lot"]), (&json!("barrel_down"), &json!("T1"), &json!("S26")));
    let stops: Vec<&str> =
        set["stops"].as_array().unwrap().iter().map(|stop| stop["vessel"].as_str().unwrap()).collect();
    assert_eq!((stops.len(), stops[0], stops[11]), (12, "0001", "0012"));
    assert!(set["stops"].as_array().unwrap().iter().all(|stop| stop["volume_ul"] == 228_000_000));
    let next = planned(&desk, &["T1"]);
    assert_eq!((next["in_work"].as_u64(), next["promised_ul"].as_u64()), (Some(12), Some(12 * 228_000_000)));
    assert_eq!((next["placed_ul"].as_u64(), next["empties"].as_u64()), (Some(5 * 228_000_000), Some(28)));
    assert_eq!(next["barrels"][0]["vessel"], "0013");
    let told = text(&asked(&desk, &["T1"]).stdout);
    assert!(
        told.contains("Empties passed over: 12 in an open work.\nOpen works are still to take 2736.0 L of it."),
        "{told}"
    );
}

#[test]
fn what_cannot_be_begun_is_told_and_begins_nothing() {
    let desk = desk();
    assert!(asked(&desk, &["T1", "--barrels", "17", "--begin", "down"]).status.success());
    for (words, sentence) in [
        (&["T1", "--begin", "more"][..], "open works are still to take 3876 L. What is left fills no empty"),
        (
            &["T1", "--litres", "500"],
            "T1 holds 4000 L by the book, of which open works take 3876 L, and 500 L is to be placed.",
        ),
        (&["T1", "--into-lot", "S25"], "No lot is called 'S25'. Did you mean 'S26'?"),
        (
            &["T1", "--on", "2026-09-01T09:00:00+02:00", "--begin", "more"],
            "A work is begun as of now, or as of --at. Leave out --on, or --begin.",
        ),
    ] {
        refused(&asked(&desk, words), 1, sentence);
    }
    let facts = desk.told(&["export"]);
    assert_eq!(facts.matches("work_set").count(), 1);
}

#[test]
fn what_is_wrong_is_told_in_a_sentence() {
    let desk = desk();
    for (words, code, sentence) in [
        (&["T9"][..], 1, "No vessel is called 'T9'. Did you mean "),
        (&["T2"], 1, "T2 holds nothing by the book."),
        (&["T1", "--room", "attic"], 1, "No room is called 'attic'."),
        (&["T1", "--like", "S25"], 1, "No lot is called 'S25'. Did you mean 'S26'?"),
        (&["T1", "--like", "S26"], 1, "S26 lies in no barrel"),
        (
            &["T1", "--wish", "forest:Alier>=5%"],
            1,
            "No barrel of the cellar has forest 'Alier'. Known are Allier, Vosges.",
        ),
        (&["T1", "--barrels", "41"], 1, "41 barrels are to be filled, but only 40 empties are at hand."),
        (
            &["T1", "--barrels", "18"],
            1,
            "The 18 smallest empties hold 4104 L and there is only 4000 L. Ask for at most 17 barrels.",
        ),
        (&["T1", "--barrels", "0"], 1, "Nothing is to be placed."),
        (&["T1", "--litres", "5000"], 1, "T1 holds 4000 L by the book, and 5000 L is to be placed."),
        (&["T1", "--litres", "100"], 1, "The smallest empty holds 228 L, and only 100 L is to be placed."),
        (&["T1", "--wish", "new>=120%"], 2, "'120%' is more than all. Give at most 100%."),
        (&["T1", "--wish", "oak>=20%"], 2, "'oak' is no kind of barrel."),
        (&["T1", "--wish", "new"], 2, "'new' says no amount."),
        (&["T1", "--litres", "5", "--barrels", "5"], 2, "cannot be used with"),
        (&["T1", "--within", "0"], 2, "0 is not in 1..=3600"),
    ] {
        refused(&asked(&desk, words), code, sentence);
    }
}
