//! Where vessels lie, and racks that a forklift lifts.

use barrelwalk::cellar::core::account::Entry;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, barrel_of, placed};

fn rack_moved(from: &str, to: &str) -> Value {
    json!({"kind": "rack_moved", "from": from, "to": to})
}

fn with_another_room(cellar: Cellar) -> Cellar {
    cellar.given(json!({
        "kind": "room_laid_out", "room": "cave", "rows": [{"row": "A", "stacks": 1, "tiers": 1, "sides": 2}],
    }))
}

#[test]
fn a_vessel_lies_at_one_place_and_leaves_the_other_free() {
    Cellar::furnished()
        .given(placed("B1", "long/A-02-2-b"))
        .lies_at("B1", "long/A-02-2-b")
        .given(placed("E", "long/A-01-1-a"))
        .lies_at("E", "long/A-01-1-a");
}

#[test]
fn a_vessel_may_lie_nowhere() {
    let nowhere = json!({"kind": "vessel_placed", "vessel": "B1", "place": null});
    Cellar::furnished()
        .given(nowhere.clone())
        .lies_at("B1", None)
        .given(placed("B2", "long/A-01-1-a"))
        .given(nowhere)
        .lies_at("B1", None);
}

#[test]
fn a_vessel_may_be_placed_where_it_lies() {
    Cellar::furnished().given(placed("B1", "long/A-01-1-a")).lies_at("B1", "long/A-01-1-a");
}

#[test]
fn a_full_barrel_carries_its_wine_to_another_room() {
    with_another_room(Cellar::furnished())
        .given(placed("B1", "cave/A-01-1-a"))
        .lies_at("B1", "cave/A-01-1-a")
        .booked("B1", Entry::CarriedOut, 225 * LITRE)
        .booked("B1", Entry::CarriedIn, 225 * LITRE);
}

#[test]
fn what_cannot_be_placed_is_refused_and_has_no_effect() {
    for (fact, part) in [
        (placed("B2", "long/A-01-1-a"), "long/A-01-1-a is taken by B1"),
        (placed("B2", "long/A-03-1-a"), "The room has no place long/A-03-1-a"),
        (placed("B2", "long/A-01-3-a"), "The room has no place"),
        (placed("B2", "long/A-01-1-c"), "The room has no place"),
        (placed("B2", "long/C-01-1-a"), "The room has no place"),
        (placed("B2", "attic/A-01-1-a"), "No room is called 'attic'"),
        (placed("nobody", "long/A-02-1-a"), "No vessel is called 'nobody'"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
}

#[test]
fn every_barrel_of_a_rack_lies_in_the_other_place_same_sides() {
    Cellar::furnished()
        .given(placed("E", "long/A-02-1-a"))
        .given(rack_moved("long/A-01-1", "long/A-02-2"))
        .lies_at("B1", "long/A-02-2-a")
        .lies_at("B2", "long/A-02-2-b")
        .lies_at("E", "long/A-02-1-a");
}

#[test]
fn a_lone_barrel_keeps_its_side() {
    Cellar::furnished()
        .given(placed("E", "long/A-01-2-b"))
        .given(rack_moved("long/A-01-2", "long/A-02-1"))
        .lies_at("E", "long/A-02-1-b");
}

#[test]
fn a_rack_goes_to_another_room_with_its_wine() {
    with_another_room(Cellar::furnished())
        .given(json!({"kind": "vessel_placed", "vessel": "E", "place": null}))
        .given(rack_moved("long/A-01-1", "cave/A-01-1"))
        .lies_at("B2", "cave/A-01-1-b")
        .booked("B2", Entry::CarriedOut, 225 * LITRE);
}

#[test]
fn a_rack_of_four_has_no_place_where_two_lie() {
    let cellar = Cellar::furnished().given(barrel_of("C", 225)).given(placed("C", "long/B-01-1-c"));
    cellar
        .clone()
        .when(rack_moved("long/B-01-1", "long/A-02-1"))
        .then_has_no_effect("The rack at long/A-02-1 has no side for C");
    cellar
        .given(placed("C", "long/B-01-1-b"))
        .given(rack_moved("long/B-01-1", "long/A-02-1"))
        .lies_at("C", "long/A-02-1-b");
}

#[test]
fn what_cannot_be_lifted_is_refused_and_has_no_effect() {
    for (fact, part) in [
        (rack_moved("long/A-01-2", "long/A-01-1"), "The rack at long/A-01-1 is not empty: B1 lies there"),
        (rack_moved("long/A-01-1", "long/A-01-1"), "is not empty"),
        (rack_moved("long/A-02-1", "long/A-02-2"), "The rack at long/A-02-1 is empty"),
        (rack_moved("long/A-01-1", "long/A-09-1"), "The room has no rack long/A-09-1"),
        (rack_moved("long/Z-01-1", "long/A-02-1"), "The room has no rack long/Z-01-1"),
        (rack_moved("long/A-01-1", "attic/A-01-1"), "No room is called 'attic'"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
}

/// What cannot be is refused where it is done; what another laptop said counts, and is kept for the person.
#[test]
fn no_rack_is_lifted_from_under_others_or_stands_on_air() {
    let under = "The rack at long/A-01-1 stands under E: a rack is never lifted from under others.";
    let air = "Nothing stands under long/A-02-2, and no rack stands on air.";
    for (fact, part, place) in [
        (rack_moved("long/A-01-1", "long/A-02-1"), under, "long/A-02-1-a"),
        (rack_moved("long/A-01-2", "long/A-02-2"), air, "long/A-01-1-a"),
    ] {
        Cellar::furnished().when(fact).then_counted_in_doubt(part).lies_at("B1", place);
    }
}
