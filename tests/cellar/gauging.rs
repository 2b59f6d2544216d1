//! What a vessel holds was measured.

use barrelwalk::cellar::account::Entry;
use barrelwalk::reckon::gauging::LyingBarrel;
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved, topped};

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

/// Charles Hutton's worked example: length 20, bung 16, head 12 inches hold 14.724 wine gallons of 231 cubic inches as
/// a parabolic spindle.
#[test]
fn an_old_cask_holds_what_the_old_book_says() {
    let inch = 25.4;
    let litres = LyingBarrel::new(16.0 * inch, 12.0 * inch, 20.0 * inch).map(|cask| cask.litres());
    let gallons = litres.unwrap_or_default() / 3.785_411_784;
    assert!((gallons - 14.724).abs() < 0.001, "{gallons}");
}

/// The old ullage rule, good between a quarter and three quarters of the depth: 17 and 15 of 32 inches wet are 64.040625
/// and 54.759375 of 118.80 gallons. Any barrel agrees with it to a hundredth there.
#[test]
fn the_old_rule_agrees_near_the_middle() {
    let barrel = LyingBarrel::reference();
    for (wet, of_118_80) in [(17.0 / 32.0, 64.040_625), (15.0 / 32.0, 54.759_375)] {
        let share = 1.0 - barrel.missing_share(650.0 * (1.0 - wet)).unwrap_or_default();
        assert!((share - of_118_80 / 118.80).abs() < 0.01, "{wet}: {share}");
    }
}

proptest! {
    #[test]
    fn a_deeper_dip_never_says_less(dip in 0.0_f64..650.0, more in 0.0_f64..50.0) {
        let barrel = LyingBarrel::reference();
        let (shallow, deep) = (barrel.missing_share(dip), barrel.missing_share((dip + more).min(650.0)));
        prop_assert!(shallow <= deep && deep <= Some(1.0));
    }
}
