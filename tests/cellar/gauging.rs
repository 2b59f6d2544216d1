//! What a vessel holds was measured.

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::reckon::gauging::{LyingBarrel, Shape};
use barrelwalk::units::Volume;
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, barrel_of, moved, topped};

fn gauged(vessel: &str, microlitres: u64) -> Value {
    json!({"kind": "gauged", "vessel": vessel, "volume_ul": microlitres})
}

fn dipped(vessel: &str, mm: f64) -> Value {
    json!({"kind": "gauged", "vessel": vessel, "dip_mm": mm})
}

#[test]
fn a_shortfall_evaporated_and_a_surplus_is_a_gain() {
    Cellar::furnished()
        .given(gauged("B1", 223 * LITRE))
        .holds("B1", 223 * LITRE)
        .booked("B1", Entry::Evaporation, 2 * LITRE)
        .given(gauged("B1", 224 * LITRE))
        .holds("B1", 224 * LITRE)
        .booked("B1", Entry::Gain, LITRE)
        .booked("B1", Entry::Evaporation, 2 * LITRE);
}

#[test]
fn the_difference_is_in_proportion() {
    let mixed = Cellar::furnished().given(gauged("B1", 150 * LITRE)).given(moved("U", "B1", 75 * LITRE));
    let short = mixed.clone().given(gauged("B1", 222 * LITRE));
    assert_eq!(short.parts("B1"), [("block-1", 148 * LITRE), ("block-2", 74 * LITRE)]);
    let more = mixed.given(gauged("B1", 228 * LITRE));
    assert_eq!(more.parts("B1"), [("block-1", 152 * LITRE), ("block-2", 76 * LITRE)]);
}

/// 30 mm under the bung of the reference barrel of 228.15 L are 1.84 L; a barrel of 225 L lacks as much of its own.
#[test]
fn a_dip_says_what_a_lying_barrel_lacks() {
    let cellar = Cellar::furnished().given(dipped("B1", 30.0));
    let missing = cellar.sum("B1", Entry::Evaporation);
    let expected = 1.84 * 225.0 / 228.15 * 1e6;
    assert!((missing as f64 - expected).abs() < 6_000.0, "{missing} µL, not {expected}");
    cellar.given(dipped("B1", 0.0)).holds("B1", 225 * LITRE);
}

#[test]
fn a_dip_of_the_whole_barrel_is_an_empty_one() {
    Cellar::furnished().given(dipped("B1", 650.0)).holds("B1", 0).has_lot("B1", None);
}

#[test]
fn nothing_left_empties_the_vessel() {
    let cellar = Cellar::furnished().given(gauged("B1", 0)).holds("B1", 0).has_lot("B1", None).booked(
        "B1",
        Entry::Evaporation,
        225 * LITRE,
    );
    assert_eq!(cellar.vessel("B1").last_topped, None);
    cellar.given(gauged("B1", 0)).holds("B1", 0);
}

#[test]
fn what_is_far_from_expected_is_asked_with_the_difference() {
    let cellar = Cellar::furnished();
    assert_eq!(
        cellar.asks(gauged("B1", 22 * LITRE)),
        ["B1 gauged at 22.0 L, where 225.0 L is expected: 203.0 L less."]
    );
    // A tank of 1,550 L within 2 %, 31 L.
    assert_eq!(cellar.asks(gauged("T", 1_520 * LITRE)), Vec::<String>::new());
    let asked_of_tank = ["T gauged at 1582.0 L, where 1550.0 L is expected: 32.0 L more."];
    assert_eq!(cellar.asks(gauged("T", 1_582 * LITRE)), asked_of_tank);
    // A barrel lacks what evaporated, by estimate: two litres less after three months surprise nobody.
    let later = cellar.days(90);
    let barrel = later.vessel("B1");
    let expected = later.state.expected_in(barrel, later.now());
    assert!(expected.volume < Volume::from_litres(224) && expected.deviation > Volume::ZERO, "{expected:?}");
    assert_eq!(later.asks(gauged("B1", expected.volume.as_ul())), Vec::<String>::new());
    let beyond = expected.volume.as_ul() - expected.band.as_ul() - LITRE / 10;
    assert_eq!(later.asks(gauged("B1", beyond)).len(), 1);
    assert_eq!(later.asks(dipped("B1", 200.0)).len(), 1, "a dip too");
}

#[test]
fn litres_that_stand_for_microlitres_are_a_slip() {
    Cellar::furnished().when(gauged("B1", 217)).then_a_slip("0.000217 L at B1 can hardly be meant. Check the unit");
}

#[test]
fn gauging_is_no_topping_but_the_level_is_known() {
    let cellar = Cellar::furnished().given(topped("B1", "T", LITRE)).days(10);
    let topped = cellar.vessel("B1").last_topped;
    let cellar = cellar.given(gauged("B1", 224_800_000));
    assert_eq!(cellar.vessel("B1").last_topped, topped);
    assert_eq!(cellar.vessel("B1").level_known, Some(cellar.now()));
    // 0.2 L in ten days and two minutes.
    assert!(cellar.vessel("B1").last_rate.is_some_and(|rate| (19_990..=20_000).contains(&rate.0)));
}

#[test]
fn more_than_a_barrel_holds_is_refused_but_counted() {
    Cellar::furnished()
        .when(gauged("B1", 230 * LITRE))
        .then_counted_in_doubt("B1 would hold 230 L but its capacity is 225 L")
        .holds("B1", 230 * LITRE);
}

#[test]
fn what_cannot_be_gauged_is_refused_and_has_no_effect() {
    let both = json!({"kind": "gauged", "vessel": "B1", "volume_ul": LITRE, "dip_mm": 3.0});
    for (fact, part) in [
        (both, "one of the two"),
        (json!({"kind": "gauged", "vessel": "B1"}), "one of the two"),
        (gauged("E", LITRE), "E holds nothing by the book"),
        (gauged("nobody", LITRE), "No vessel is called 'nobody'"),
        (gauged("T", u64::MAX), "more wine than any cellar holds"),
        (dipped("T", 30.0), "T is not a lying barrel"),
        (dipped("B1", 650.5), "A dip of 650.5 mm does not fit B1"),
        (dipped("B1", -1.0), "A dip of -1 mm does not fit B1"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
}

/// A barrel of a shape, with sizes of its own where they are given, full of R and dipped.
fn missing_at(mm: f64, shape: Option<&str>, sizes: Option<[u32; 3]>) -> f64 {
    let mut barrel = barrel_of("X", 228);
    if let Some(shape) = shape {
        barrel["shape"] = shape.into();
    }
    for (field, mm) in ["bilge_mm", "head_mm", "length_mm"].into_iter().zip(sizes.into_iter().flatten()) {
        barrel[field] = mm.into();
    }
    let cellar = Cellar::furnished().given(barrel).given(moved("T", "X", 228 * LITRE)).given(dipped("X", mm));
    cellar.sum("X", Entry::Evaporation) as f64 / 1e6
}

/// A known shape has its own table, whatever its letters; its own sizes go before its shape; else the reference serves.
#[test]
fn a_barrel_is_gauged_by_its_own_sizes_else_by_its_shape_else_by_the_reference() {
    let by = |barrel: LyingBarrel| barrel.missing_share(40.0).unwrap_or_default() * 228.0;
    let burgundy = Shape::named("burgundy").and_then(Shape::barrel).expect("a shape of ours");
    let own = LyingBarrel::new(700.0, 600.0, 640.0).expect("a barrel");
    for (missing, expected) in [
        (missing_at(40.0, Some("Burgundy"), None), by(burgundy)),
        (missing_at(40.0, Some("burgundy"), Some([700, 600, 640])), by(own)),
        (missing_at(40.0, None, Some([700, 600, 640])), by(own)),
        (missing_at(40.0, Some("egg"), None), by(LyingBarrel::reference())),
        (missing_at(40.0, None, None), by(LyingBarrel::reference())),
    ] {
        assert!((missing - expected).abs() < 2e-6, "{missing} L, not {expected} L");
    }
    assert!((by(burgundy) - by(own)).abs() > 0.01, "the example tells them apart");
}

#[test]
fn a_dip_deeper_than_its_own_shape_is_refused() {
    let mut barrel = barrel_of("X", 228);
    barrel["shape"] = "burgundy".into();
    let cellar = Cellar::furnished().given(barrel).given(moved("T", "X", 228 * LITRE));
    cellar
        .clone()
        .when(dipped("X", 666.5))
        .then_has_no_effect("A dip of 666.5 mm does not fit X, whose bilge is 666 mm");
    cellar.given(dipped("X", 666.0)).holds("X", 0);
}

proptest! {
    /// Whatever stands in a log, a vessel holds between nothing and its capacity after a dip.
    #[test]
    fn no_dip_makes_more_than_the_barrel(mm in any::<f64>(), bilge in any::<f64>(), head in any::<f64>()) {
        let mut barrel = barrel_of("X", 228);
        barrel["bilge_mm"] = bilge.into();
        barrel["head_mm"] = head.into();
        barrel["length_mm"] = head.into();
        let cellar = Cellar::furnished().loaded(barrel).loaded(moved("T", "X", 228 * LITRE)).loaded(dipped("X", mm));
        if let Some(vessel) = cellar.state.vessels.by_label("X") {
            prop_assert!(vessel.volume() <= vessel.capacity);
        }
    }
}
