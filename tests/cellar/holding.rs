//! A vessel is kept out of the work until it is freed.

use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved, topped};

fn held(vessel: &str, why: &str) -> Value {
    json!({"kind": "held", "vessel": vessel, "why": why})
}

fn freed(vessel: &str) -> Value {
    json!({"kind": "freed", "vessel": vessel, "why": "tested again"})
}

#[test]
fn a_held_vessel_is_held_until_it_is_freed() {
    let cellar = Cellar::furnished().given(held("B1", "volatile acidity"));
    assert_eq!(cellar.vessel("B1").held.as_ref().map(|hold| hold.why.as_str()), Some("volatile acidity"));
    assert_eq!(cellar.given(freed("B1")).vessel("B1").held, None);
}

#[test]
fn holding_twice_is_a_slip_and_the_last_reason_holds() {
    let cellar = Cellar::furnished().given(held("B1", "one")).when(held("B1", "two")).then_a_slip("B1 is held already");
    assert_eq!(cellar.vessel("B1").held.as_ref().map(|hold| hold.why.as_str()), Some("two"));
}

#[test]
fn what_is_not_held_cannot_be_freed() {
    Cellar::furnished().when(freed("B1")).then_counted_in_doubt("B1 is not held");
    Cellar::furnished().when(freed("nobody")).then_has_no_effect("No vessel is called 'nobody'");
    Cellar::furnished().when(held("nobody", "x")).then_has_no_effect("No vessel is called 'nobody'");
}

/// No wine leaves a held vessel or enters it, whatever the kind of fact: an act is refused, what a log says counts and is a
/// discrepancy, and a reason makes it as good as any other.
#[test]
fn a_hold_bars_wine_from_leaving_and_entering() {
    let received = json!({
        "kind": "wine_received", "vessel": "E", "lot": "R", "parts": [{"origin": "block-1", "volume_ul": LITRE}],
    });
    let bottled = json!({
        "kind": "bottled", "vessel": "T", "run": "r", "bottles": 10, "bottle_ul": 750_000, "lot_code": "L1",
    });
    let cases = [
        ("B1", topped("B1", "T", LITRE)),
        ("T", topped("B1", "T", LITRE)),
        ("T", moved("T", "E", LITRE)),
        ("E", moved("T", "E", LITRE)),
        ("B1", moved("B1", "E", LITRE)),
        ("E", received),
        ("T", bottled),
    ];
    for (vessel, fact) in cases {
        let cellar = Cellar::furnished_to_bottle().given(held(vessel, "film."));
        let counted =
            cellar.clone().when(fact.clone()).then_counted_in_doubt(&format!("{vessel} is held: film. Free it"));
        let despite = cellar.clone().when(fact.clone()).then_taken_despite();
        assert_eq!(despite.vessel(vessel).wine, counted.vessel(vessel).wine);
        // Freed, it is in the work again; and a hold elsewhere bars nothing here.
        cellar.given(freed(vessel)).given(held("B2", "film")).given(fact);
    }
}

/// One must judge a held barrel, and its wine may still be lost.
#[test]
fn a_held_vessel_is_sampled_tested_tasted_and_gauged() {
    Cellar::furnished()
        .given(held("B1", "film"))
        .given(json!({"kind": "sampled", "vessel": "B1", "volume_ul": 50_000}))
        .given(json!({"kind": "tested", "vessel": "B1", "ph": 3.6}))
        .given(json!({"kind": "tasted", "vessel": "B1", "score": 9}))
        .given(json!({"kind": "gauged", "vessel": "B1", "volume_ul": 220 * LITRE}))
        .given(json!({"kind": "lost", "vessel": "B1", "volume_ul": LITRE, "cause": "leak"}));
}

/// A dose may be what cures it, so it is asked about and not barred.
#[test]
fn an_addition_to_a_held_vessel_is_asked_about() {
    let given =
        json!({"kind": "treated", "vessel": "B1", "material": "potassium metabisulfite", "amount_ug": 10_000_000});
    let cellar = Cellar::furnished();
    assert_eq!(cellar.clone().when(given.clone()).asked(), [""; 0]);
    let when = cellar.given(held("B1", "volatile acidity")).when(given);
    assert_eq!(when.asked(), ["B1 is held: volatile acidity. It would be given potassium metabisulfite."]);
    when.then_taken();
}
