//! Wine comes into the book.

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, tank_of};

fn received(vessel: &str, lot: &str, parts: &[(&str, u64)]) -> Value {
    let parts: Vec<Value> = parts.iter().map(|(origin, ul)| json!({"origin": origin, "volume_ul": ul})).collect();
    json!({"kind": "wine_received", "vessel": vessel, "lot": lot, "parts": parts})
}

#[test]
fn wine_comes_with_its_origins_and_its_lot() {
    let cellar = Cellar::furnished()
        .given(received("E", "R", &[("block-2", 25 * LITRE), ("block-1", 100 * LITRE), ("block-2", 100 * LITRE)]))
        .booked("E", Entry::Received, 225 * LITRE)
        .has_lot("E", "R");
    assert_eq!(cellar.parts("E"), [("block-1", 100 * LITRE), ("block-2", 125 * LITRE)]);
    let barrel = cellar.vessel("E");
    assert_eq!((barrel.fills, barrel.filled, barrel.last_topped), (1, Some(cellar.now()), None));
}

#[test]
fn all_that_is_there_takes_the_lot_that_is_said() {
    Cellar::furnished()
        .given(received("T", "S", &[("block-2", LITRE)]))
        .has_lot("T", "S")
        .booked("T", Entry::RenamedOut, 1_550 * LITRE)
        .booked("T", Entry::RenamedIn, 1_550 * LITRE);
}

#[test]
fn wine_that_renames_a_lot_is_asked_about_and_a_drop_is_a_slip() {
    let cellar = Cellar::furnished();
    let renamed = ["T holds 1550.0 L of the lot 'R', which would all be called 'S'."];
    assert_eq!(cellar.asks(received("T", "S", &[("block-2", LITRE)])), renamed);
    assert_eq!(cellar.asks(received("T", "R", &[("block-2", LITRE)])), Vec::<String>::new());
    let drop = received("T", "R", &[("block-2", 1_200)]);
    cellar.when(drop).then_a_slip("0.0012 L at T can hardly be meant. Check the unit: a fact counts microlitres");
}

#[test]
fn more_than_two_hundredths_above_the_capacity_is_refused_but_counted() {
    Cellar::furnished().when(received("E", "R", &[("block-1", 229_500_000)])).then_taken();
    Cellar::furnished()
        .when(received("E", "R", &[("block-1", 230 * LITRE)]))
        .then_counted_in_doubt("E would hold 230 L")
        .holds("E", 230 * LITRE);
}

#[test]
fn red_wine_is_of_no_white_lot() {
    let cellar = Cellar::furnished().given(tank_of("X", 1_000));
    cellar
        .clone()
        .when(received("X", "W", &[("block-w", LITRE), ("block-1", LITRE)]))
        .then_counted_in_doubt("The lot 'W' is white but the wine is red")
        .holds("X", 2 * LITRE);
    cellar
        .when(received("V", "W", &[("block-1", LITRE)]))
        .then_counted_in_doubt("V holds white wine and must not take red wine")
        .holds("V", 501 * LITRE);
}

#[test]
fn what_cannot_be_received_is_refused_and_has_no_effect() {
    for (fact, part) in [
        (received("nobody", "R", &[("block-1", LITRE)]), "No vessel is called 'nobody'"),
        (received("E", "nothing", &[("block-1", LITRE)]), "No lot is called 'nothing'"),
        (received("E", "R", &[("nowhere", LITRE)]), "No origin is called 'nowhere'"),
        (received("E", "R", &[]), "No volume is said"),
        (received("E", "R", &[("block-1", LITRE), ("block-2", 0)]), "No volume is said"),
        (received("E", "R", &[("block-1", Volume::MOST.as_ul() + 1)]), "more wine than any cellar holds"),
        (
            received("E", "R", &[("block-1", Volume::MOST.as_ul()), ("block-2", Volume::MOST.as_ul())]),
            "more wine than any cellar holds",
        ),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
}
