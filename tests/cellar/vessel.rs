//! Vessels come and go.

use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::jobs::floor::lot::Colour;
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, barrel_of, lost, moved, placed, tank_of, topped};

fn retired(vessel: &str) -> Value {
    json!({"kind": "vessel_retired", "vessel": vessel, "why": "sold"})
}

#[test]
fn a_barrel_is_kept_full_and_others_only_where_that_is_said() {
    let mut topped_tank = tank_of("X", 1_000);
    topped_tank["topped"] = true.into();
    let mut idle_barrel = barrel_of("Y", 225);
    idle_barrel["topped"] = false.into();
    let cellar = Cellar::furnished().given(topped_tank).given(idle_barrel);
    let kept = ["B1", "T", "X", "Y"].map(|label| cellar.vessel(label).kept_full);
    assert_eq!(kept, [true, false, true, false]);
}

#[test]
fn a_barrel_brings_its_wood_its_fills_and_its_stain() {
    let cellar = Cellar::furnished().given(json!({
        "kind": "vessel_registered", "vessel": "0417", "type": "barrel", "capacity_ul": 228 * LITRE,
        "shape": "burgundy", "cooper": "C", "forest": "Tronçais", "grain": "fine", "seasoning_months": 36,
        "toast": "medium", "heads_toasted": true, "made": 2024, "price": 900, "fills": 1, "stained": "red",
    }));
    let barrel = cellar.vessel("0417");
    assert_eq!((barrel.capacity, barrel.fills, barrel.stained), (Volume::from_litres(228), 1, Some(Colour::Red)));
    assert_eq!(barrel.wood.forest.as_ref().map(Label::as_str), Some("Tronçais"));
    assert_eq!((barrel.wood.made, barrel.wood.price, barrel.wood.heads_toasted), (Some(2024), Some(900.0), Some(true)));
    let cellar = cellar.given(moved("T", "0417", 228 * LITRE));
    assert_eq!(cellar.vessel("0417").fills, 2);
}

#[test]
fn a_size_that_cannot_be_is_a_slip() {
    let of = |vessel_type: &str, microlitres: u64| json!({"kind": "vessel_registered", "vessel": "new", "type": vessel_type, "capacity_ul": microlitres});
    for (fact, part) in [
        (of("barrel", 225), "new cannot be a barrel of 0.000225 L. Check the unit: a fact counts microlitres"),
        (of("barrel", 225_000), "new cannot be a barrel of 0.225 L"),
        (of("barrel", 225_000 * LITRE), "new cannot be a barrel of 225000 L"),
        (of("tank", 3_000), "new cannot be a tank of 0.003 L"),
        (of("keg", 50_000), "new cannot be a keg of 0.05 L"),
    ] {
        Cellar::furnished().when(fact).then_a_slip(part);
    }
    for fact in [of("barrel", 28 * LITRE), of("barrel", 600 * LITRE), of("tank", 50 * LITRE), of("keg", 5 * LITRE)] {
        Cellar::furnished().when(fact).then_taken();
    }
}

#[test]
fn what_is_no_vessel_is_refused_and_has_no_effect() {
    let with = |field: &str, value: Value| {
        let mut fact = barrel_of("new", 225);
        fact[field] = value;
        fact
    };
    for (fact, part) in [
        (barrel_of("B1", 300), "A vessel is already called 'B1'"),
        (barrel_of("new", 0), "cannot hold nothing"),
        (with("capacity_ul", u64::MAX.into()), "more wine than any cellar holds"),
        (with("fills", 1_001.into()), "A number of fills of 1001 is out of range"),
        (with("seasoning_months", 601.into()), "A seasoning in months"),
        (with("made", 1_499.into()), "A year of 1499"),
        (with("price", (-1).into()), "A price of -1"),
        (with("bilge_mm", 650.into()), "Give all of them, or none"),
        (sized(65, 54, 9), "A length of 9 mm is out of range"),
        (sized(650, 0, 770), "A head of 0 mm is out of range"),
        (sized(540, 650, 770), "A head of 650 mm is wider than the bilge of 540 mm"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
}

/// A barrel of 225 L with sizes of its own.
fn sized(bilge: u32, head: u32, length: u32) -> Value {
    let mut fact = barrel_of("new", 225);
    for (field, mm) in [("bilge_mm", bilge), ("head_mm", head), ("length_mm", length)] {
        fact[field] = mm.into();
    }
    fact
}

#[test]
fn sizes_that_do_not_hold_its_litres_are_a_slip() {
    Cellar::furnished().given(sized(650, 540, 770));
    // In centimetres with a nought too few; outside sizes of another barrel.
    Cellar::furnished().when(sized(65, 54, 77)).then_a_slip("By its sizes new would hold 0 L");
    Cellar::furnished().when(sized(930, 790, 1100)).then_a_slip("its capacity is 225 L");
}

#[test]
fn a_retired_vessel_leaves_its_place_and_takes_no_part() {
    let cellar = Cellar::furnished()
        .given(lost("B1", 225 * LITRE))
        .given(json!({"kind": "held", "vessel": "B1", "why": "mould"}))
        .given(retired("B1"))
        .lies_at("B1", None)
        .given(placed("E", "long/A-01-1-a"));
    assert_eq!((cellar.vessel("B1").retired, cellar.vessel("B1").held.is_some()), (Some(at(&cellar)), false));
    for fact in [
        moved("T", "B1", LITRE),
        topped("B1", "T", LITRE),
        lost("B1", LITRE),
        placed("B1", "long/A-02-1-a"),
        retired("B1"),
        json!({"kind": "held", "vessel": "B1", "why": "x"}),
        json!({"kind": "tasted", "vessel": "B1", "score": 12}),
        json!({"kind": "gauged", "vessel": "B1", "volume_ul": 0}),
    ] {
        cellar.clone().when(fact).then_has_no_effect("B1 is retired");
    }
    cellar.when(barrel_of("B1", 225)).then_has_no_effect("already called 'B1'");
}

fn at(cellar: &Cellar) -> barrelwalk::cellar::core::moment::Moment {
    // The placing of E was a minute after the retiring.
    cellar.now().at_instant(cellar.now().instant() - 60_000_000)
}

#[test]
fn a_vessel_that_holds_wine_is_not_retired() {
    Cellar::furnished().when(retired("B1")).then_has_no_effect("B1 still holds 225 L by the book");
    Cellar::furnished().when(retired("nobody")).then_has_no_effect("No vessel is called 'nobody'");
}
