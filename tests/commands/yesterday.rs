//! What is entered for another day than today, and for another person.

use crate::desk::Desk;

/// 1,000 L of lot `A` in tank `T1`; `T2` is empty, and bought two days later than `T1`.
fn desk() -> Desk {
    let desk = Desk::with(
        "2026-06-01",
        &[
            r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2025,"appellation":"Hillside","colour":"red""#,
            r#""kind":"lot_opened","lot":"A","colour":"red""#,
            r#""kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":2000000000"#,
            r#""kind":"wine_received","vessel":"T1","lot":"A","parts":[{"origin":"o","volume_ul":1000000000}]"#,
        ],
    );
    desk.record_on(
        "2026-06-03",
        &[r#""kind":"vessel_registered","vessel":"T2","type":"tank","capacity_ul":2000000000"#],
    );
    desk
}

fn last_fact(desk: &Desk) -> String {
    desk.told("export").lines().last().unwrap().to_owned()
}

#[test]
fn an_act_carries_the_day_and_the_name_that_are_said() {
    let desk = desk();
    desk.told("move T1 T2 100 --at 2026-06-05T16:20 --by Ana");
    assert!(last_fact(&desk).contains(r#""at":"2026-06-05T16:20:00+02:00""#), "{}", last_fact(&desk));
    assert!(last_fact(&desk).contains(r#""by":"Ana""#));
    desk.told("change T1 topped=no --at 2026-06-06");
    assert!(last_fact(&desk).contains(r#""at":"2026-06-06T12:00:00+02:00""#), "a day alone is its noon");
    desk.told("change T1 topped= --at 2026-06-06T09:30:00-07:00");
    assert!(last_fact(&desk).contains(r#""at":"2026-06-06T09:30:00-07:00""#));
    assert_eq!(desk.told_json("show vessel T2 --on 2026-06-05T16:19:00+02:00")["volume_ul"], 0);
    // What was entered last is what undo takes back, whenever it happened.
    desk.told("undo");
    desk.told("undo");
    desk.told("undo");
    assert_eq!(desk.told_json("show vessel T2")["volume_ul"], 0);
}

/// On the third 300 L were left: what left the tank later says nothing of what was in it then.
#[test]
fn an_act_is_decided_as_of_when_it_happened() {
    let desk = desk();
    desk.told("move T1 T2 700 --at 2026-06-10");
    desk.told("move T1 T2 200 --at 2026-06-04 --sure");
    assert_eq!(desk.told_json("show vessel T2 --on 2026-06-05")["volume_ul"], 200_000_000);
    let dry = desk.told("move T1 T2 100 --at 2026-06-04 --dry-run");
    assert!(dry.contains("700"), "what stays then is told, not what stays now: {dry}");
}

/// A form that names one vessel says so as one that names several does, and knows what may be meant.
#[test]
fn a_vessel_that_came_later_is_not_unknown() {
    let desk = desk();
    let not_there = "'T2' was not there yet on 2 Jun 2026 at 12:00";
    for line in ["lose T2 5", "place T2 none", "stir T2", "bulk-out T2 5 a house"] {
        desk.refused(&*format!("{line} --at 2026-06-02"), not_there);
    }
    desk.refused("lose T9 5", "No vessel is called 'T9'");
    desk.refused("lose t1 5", "Did you mean 'T1'");
}

/// What leaves in bulk is traced to its buyer, from the vessel, the lot and what was added to it.
#[test]
fn what_left_in_bulk_is_traced_to_its_buyer() {
    let desk = desk();
    desk.told("add T1 50 g KMBS --at 2026-06-04");
    desk.told("move T1 T2 700 --as other --at 2026-06-05");
    desk.told(&["bulk-out", "T2", "300", "Millbrook", "House", "--why", "sold", "--at", "2026-06-06"]);
    for from in ["vessel T1 --forward", "lot A --forward", "material KMBS", "block Terrace"] {
        let told = desk.told(&*format!("trace {from}"));
        assert!(told.contains("Left the house in bulk") && told.contains("Millbrook House"), "{told}");
        let json = desk.told_json(&*format!("trace {from}"));
        assert_eq!(
            (&json["bulk_out"][0]["to"], &json["bulk_out"][0]["volume_ul"]),
            (&"Millbrook House".into(), &300_000_000.into())
        );
    }
    assert!(!desk.told("trace vessel T1").contains("Millbrook"));
}

/// A day of a last topping is said as any other day.
#[test]
fn a_day_is_said_as_people_say_it() {
    let desk = desk();
    let (_, said) = desk.heard("declare kept-since toppings --topped-on yesterday");
    assert!(!said.contains("is not a day"), "{said}");
    desk.misused("declare kept-since toppings --topped-on 3/4", "could be 3 Apr");
    desk.misused("declare kept-since toppings --topped-on soon", "is not a day");
}

#[test]
fn wine_is_put_down_and_blended_by_a_move() {
    let desk = desk();
    desk.record_on(
        "2026-06-03",
        &[r#""kind":"vessel_registered","vessel":"0101","type":"barrel","capacity_ul":225000000"#],
    );
    desk.told("move T1 0101 --as barrel-down --at 2026-06-04");
    assert_eq!(desk.told_json("show vessel 0101")["volume_ul"], 225_000_000);
    assert!(last_fact(&desk).contains(r#""purpose":"barrel_down""#), "{}", last_fact(&desk));
    desk.refused("move T1 0101 --as barrel-down --at 2026-06-05", "0101 is full");
    desk.told("move T1 T2 100 --as blend --at 2026-06-05");
    assert!(last_fact(&desk).contains(r#""purpose":"blend""#), "{}", last_fact(&desk));
}

#[test]
fn what_lies_ahead_or_was_not_there_yet_is_said() {
    let desk = desk();
    desk.refused("change T1 topped=no --at 2999-01-01", "lies in the future");
    desk.refused(
        "change T2 topped=no --at 2026-06-02T08:00",
        "'T2' was not there yet on 2 Jun 2026 at 08:00. Check the day, or enter first how it came there.",
    );
    desk.refused(
        "move T1 T2 100 --at 2026-06-02",
        "That is as of 2 Jun 2026, 12:00: what came later was not there yet.",
    );
    desk.refused("plan care rinsed --begin W1 --on 2026-06-02", "Leave out --on, or --begin.");
    desk.misused("change T1 topped=no --at 03/04/2026", "could be 3 Apr 2026 or 4 Mar 2026");
}

#[test]
fn labels_that_may_be_read_as_litres_are_named_once() {
    let barrel = |label: &str| {
        format!(r#""kind":"vessel_registered","vessel":"{label}","type":"barrel","capacity_ul":225000000"#)
    };
    let line = |label: &str| format!(r#"{{"at":"2026-06-01T08:00:00+02:00","by":"mk",{}}}"#, barrel(label));
    let desk = Desk::new();
    let said = |label: &str| {
        desk.write("facts.jsonl", &line(label));
        desk.heard("record facts.jsonl").1
    };
    assert_eq!(said("0181"), "");
    assert_eq!(said("1810"), "");
    assert!(said("181").contains("Labels like 181 are read as litres on the floor."));
    assert_eq!(said("182"), "", "it is said once");
    desk.told("declare practice --labels-are-numbers yes");
    let other = Desk::new();
    other.write("barrels.csv", "Barrel;Capacity (L)\n181;225\n182;225\n");
    let (_, tried) = other.heard("import barrels barrels.csv --dry-run");
    assert_eq!(tried.matches("are read as litres on the floor").count(), 1, "{tried}");
    other.told("declare practice --labels-are-numbers yes");
    assert!(!other.heard("import barrels barrels.csv").1.contains("as litres"));
    other.misused("declare practice --labels-are-numbers maybe", "say yes or no");
    // Numbered in a line they are named once as well.
    let numbering = Desk::new();
    let said = |line: &str| numbering.heard(&["number", line]).1;
    assert!(!said("0181-0182").contains("as litres"));
    assert!(said("181-182").contains(
        "Labels like 181 are read as litres on the floor. If they are plain numbers, say so with declare practice"
    ));
    assert!(!said("183-184").contains("as litres"));
}
