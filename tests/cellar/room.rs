//! A room laid out, and laid out anew.

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, topped};

fn laid_out(room: &str, rows: &[(&str, u32, u32, u32)]) -> Value {
    let rows: Vec<Value> = rows
        .iter()
        .map(|(row, stacks, tiers, sides)| json!({"row": row, "stacks": stacks, "tiers": tiers, "sides": sides}))
        .collect();
    json!({"kind": "room_laid_out", "room": room, "rows": rows})
}

#[test]
fn places_are_written_with_two_digits_for_the_stack_and_a_letter_for_the_side() {
    let cellar = Cellar::new().given(laid_out("long", &[("A", 12, 3, 2), ("B-west", 1, 1, 4)]));
    let Some(room) = cellar.state.rooms.by_label("long") else { panic!("no room") };
    let written = |slot| room.place(slot).map(|place| place.to_string());
    assert_eq!(room.slots.len(), 12 * 3 * 2 + 4);
    assert_eq!(written(0).as_deref(), Some("long/A-01-1-a"));
    assert_eq!(written(7).as_deref(), Some("long/A-02-1-b"));
    assert_eq!(written(71).as_deref(), Some("long/A-12-3-b"));
    assert_eq!(written(75).as_deref(), Some("long/B-west-01-1-d"));
    assert_eq!(written(76), None);
    for slot in 0..room.slots.len() {
        assert_eq!(room.place(slot).and_then(|place| room.slot(&place)), Some(slot));
    }
}

#[test]
fn a_room_laid_out_anew_keeps_its_barrels_where_they_lie() {
    Cellar::furnished()
        .given(laid_out("long", &[("0", 1, 1, 2), ("A", 3, 3, 2)]))
        .lies_at("B1", "long/A-01-1-a")
        .lies_at("B2", "long/A-01-1-b")
        .lies_at("E", "long/A-01-2-a")
        .booked("B1", Entry::CarriedOut, 0);
}

#[test]
fn a_room_keeps_what_the_new_plan_does_not_say() {
    let mut first = laid_out("cave", &[("A", 1, 1, 2)]);
    first["temperature_c"] = 13.5.into();
    first["round_days"] = 14.into();
    first["tolerated_ul"] = (3 * LITRE).into();
    let mut second = laid_out("cave", &[("A", 2, 1, 2)]);
    second["humidity_pct"] = 85.into();
    let cellar = Cellar::new().given(first).given(second);
    let Some(room) = cellar.state.rooms.by_label("cave") else { panic!("no room") };
    assert_eq!((room.temperature_c, room.humidity_pct), (Some(13.5), Some(85.0)));
    assert_eq!((room.round_days, room.tolerated), (Some(14), Some(Volume::from_litres(3))));
}

#[test]
fn a_plan_without_a_barrels_place_is_refused_and_the_barrel_lies_nowhere() {
    let begun = json!({"kind": "round_begun", "round": "r", "room": "long"});
    Cellar::furnished()
        .given(begun)
        .when(laid_out("long", &[("A", 1, 1, 2)]))
        .then_counted_in_doubt("E lies at long/A-01-2-a, which the new plan of the room has not")
        .lies_at("E", None)
        .lies_at("B1", "long/A-01-1-a")
        .given(topped("B1", "T", LITRE))
        .given(json!({"kind": "round_ended", "round": "r", "room": "long"}));
}

#[test]
fn what_is_no_room_is_refused_and_has_no_effect() {
    let with = |field: &str, value: Value| {
        let mut fact = laid_out("x", &[("A", 1, 1, 2)]);
        fact[field] = value;
        fact
    };
    let names: Vec<String> = (0..1_001).map(|row| format!("row {row}")).collect();
    let many: Vec<(&str, u32, u32, u32)> = names.iter().map(|name| (name.as_str(), 1, 1, 2)).collect();
    let large = [("A", 999, 9, 4), ("B", 999, 9, 4), ("C", 999, 9, 4)];
    for (fact, part) in [
        (laid_out("x", &[]), "A room needs rows"),
        (laid_out("x", &[("A", 1, 1, 2), ("A", 1, 1, 2)]), "A room needs rows"),
        (laid_out("x", &[("A/B", 1, 1, 2)]), "A room needs rows"),
        (laid_out("x", &[("A", 0, 1, 2)]), "A room needs rows"),
        (laid_out("x", &[("A", 1_000, 1, 2)]), "A room needs rows"),
        (laid_out("x", &[("A", 1, 0, 2)]), "A room needs rows"),
        (laid_out("x", &[("A", 1, 10, 2)]), "A room needs rows"),
        (laid_out("x", &[("A", 1, 1, 3)]), "A room needs rows"),
        (laid_out("x", &large), "at most 100,000 places"),
        (laid_out("x", &many), "1,000 rows"),
        (with("temperature_c", 61.into()), "A temperature of 61 is out of range"),
        (with("humidity_pct", 101.into()), "A humidity of 101 is out of range"),
        (with("round_days", 0.into()), "An interval in days of 0 is out of range"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
}
