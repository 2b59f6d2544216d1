//! Sulfur dioxide travels with the wine: every figure starts from the last test and adds what was given since.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::jobs::tests::sulfuring::{SulfurKnown, TestOf};
use barrelwalk::cellar::jobs::tests::testing::Analyte;
use barrelwalk::cellar::views::bench::blend::{BlendRequest, Component, Source};
use barrelwalk::cellar::views::books::lineage::NewWood;
use barrelwalk::cellar::views::tests::dosing::{Dosed, DosingAsked, Goal, Per};
use barrelwalk::reckon::sulfur::{Form, USUAL_BOUND_SHARE};
use barrelwalk::units::{Shares, Volume};
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved, tank_of};

fn tested(vessel: &str, free: f64, total: f64) -> Value {
    json!({"kind": "tested", "vessel": vessel, "free_so2_mg_l": free, "total_so2_mg_l": total, "ph": 3.6, "alcohol_pct": 13.5})
}

fn given_mg(vessel: &str, milligrams: u64) -> Value {
    json!({"kind": "treated", "vessel": vessel, "material": "KMBS", "amount_ug": milligrams * 1_000})
}

/// What is known of a vessel now.
fn known(cellar: &Cellar, vessel: &str) -> SulfurKnown {
    cellar.state.sulfur_known(cellar.state.vessels.find(vessel).unwrap(), USUAL_BOUND_SHARE, cellar.now())
}

#[track_caller]
fn near(found: Option<f64>, right: f64) {
    assert!(found.is_some_and(|found| (found - right).abs() < 0.05), "{found:?} is not {right}");
}

/// Tanks of 2,300 L each of lots R and S: T1 tested at 88 mg/L total and 30 free, T2 at 80 and 26; then 95.3 and 101 g of
/// metabisulfite. By hand: 95.3 · 0.576 / 2300 = 23.87 mg/L, 101 · 0.576 / 2300 = 25.29; totals 111.87 and 105.29.
fn two_tanks() -> Cellar {
    let received = |vessel: &str, lot: &str, origin: &str| json!({"kind": "wine_received", "vessel": vessel, "lot": lot, "parts": [{"origin": origin, "volume_ul": 2_300 * LITRE}]});
    let mut cellar = Cellar::furnished();
    for tank in ["T1", "T2", "T3"] {
        cellar = cellar.given(tank_of(tank, 5_000));
    }
    cellar
        .given(received("T1", "R", "block-1"))
        .given(received("T2", "S", "block-2"))
        .days(1)
        .given(tested("T1", 30.0, 88.0))
        .given(tested("T2", 26.0, 80.0))
        .days(4)
        .given(given_mg("T1", 95_300))
        .given(given_mg("T2", 101_000))
        .days(1)
}

#[test]
fn a_blend_is_forecast_with_all_that_was_given_since_the_tests() {
    let cellar = two_tanks();
    let component = |label: &str| Component {
        source: Source::Vessel(cellar.state.vessels.find(label).unwrap()),
        keep: Volume::ZERO,
        whole: false,
    };
    let request = BlendRequest {
        barrels_first: false,
        despite: false,
        components: vec![component("T1"), component("T2")],
        shares: Shares::from_millionths(vec![500_000, 500_000]).unwrap(),
        into: None,
        tolerance: None,
        litres: None,
    };
    let plan = cellar.state.plan_blend(request, &NewWood::default(), cellar.now()).unwrap();
    let of = |analyte| plan.forecast.values.iter().find(|it| it.analyte == analyte).unwrap();
    // (111.87 + 105.29) / 2, of which 24.58 was given since the tests.
    near(of(Analyte::TotalSo2).value, 108.58);
    near(of(Analyte::TotalSo2).given_since, 24.58);
    // 28 tested and two thirds of 24.58 given, less what the free loses in five days: 8 % a month of 28 is 0.4.
    let free = of(Analyte::FreeSo2).value.unwrap();
    assert!((43.5..44.4).contains(&free), "{free}");
    assert_eq!(plan.forecast.changed_since, Vec::<String>::new());
}

#[test]
fn a_blend_that_was_made_carries_the_tests_of_its_wines_and_what_they_were_given() {
    let into = |from: &str| json!({"kind": "wine_moved", "from": from, "to": "T3", "volume_ul": 1_000 * LITRE, "purpose": "blend", "lot": "S"});
    let cellar = two_tanks().given(into("T1")).given(into("T2"));
    let told = known(&cellar, "T3");
    near(told.total.map(|total| total.value), 84.0);
    near(told.total_now, 108.58);
    assert_eq!(told.total.map(|total| total.of), Some(TestOf::Carried));
    // What stays behind keeps its own.
    near(known(&cellar, "T1").total_now, 111.87);
    assert_eq!(known(&cellar, "T1").total.map(|total| total.of), Some(TestOf::Own));
    // A dose counts once, however often it is moved on and brought back.
    let cellar = cellar.given(moved("T3", "U", 500 * LITRE)).days(1).given(given_mg("U", 10_000));
    near(known(&cellar, "T3").total_now, 108.58);
    // Half of the blend came to 1,000 L of S that nobody tested: too little of U is known.
    assert_eq!(known(&cellar, "U").total.map(|total| total.of), Some(TestOf::Lot));
}

/// 1,000 L of T1 (88 tested, 23.87 given) come to 2,300 L of T2 (80, 25.29), which was tested itself: 82.42 and 24.86.
#[test]
fn other_wine_that_comes_to_a_tested_tank_is_counted_by_litres() {
    let cellar = two_tanks().given(moved("T1", "T2", 1_000 * LITRE));
    let told = known(&cellar, "T2");
    near(told.total.map(|total| total.value), (88.0 * 1_000.0 + 80.0 * 2_300.0) / 3_300.0);
    near(Some(told.given_since_total), (23.866 * 1_000.0 + 25.294 * 2_300.0) / 3_300.0);
    // A test of the tank has it all.
    let cellar = cellar.days(1).given(tested("T2", 40.0, 107.0));
    near(known(&cellar, "T2").total_now, 107.0);
    near(known(&cellar, "T2").free_now.map(|now| now.free_mg_l), 40.0);
}

#[test]
fn what_was_given_before_a_move_within_the_lot_counts_to_the_checklist() {
    let lot_of = |cellar: &Cellar| {
        let lot = cellar.state.lots.find("R").unwrap();
        let checks = cellar.state.checklist(lot);
        let total = checks.into_iter().find(|check| check.item.to_string() == "total SO2").unwrap();
        total.words.unwrap()
    };
    // Tank T and the barrels B1 and B2 are of lot R too: what is tested in them is below.
    let cellar = two_tanks();
    assert_eq!(lot_of(&cellar), "111.9 mg/L (88 on 2 Sep + 24 given since)");
    let cellar = cellar.given(moved("T1", "T3", 2_300 * LITRE));
    assert_eq!(cellar.lot("T3"), Some("R"));
    assert_eq!(lot_of(&cellar), "111.9 mg/L (88 on 2 Sep + 24 given since)");
}

#[test]
fn a_dose_of_yesterday_stands_beside_the_test_in_words_and_in_the_next_dose() {
    let cellar = two_tanks();
    let told = known(&cellar, "T1").words().unwrap();
    assert_eq!(told, "30 mg/L on 2 Sep + 24 given since: free about 45, total 112");
    let id = cellar.state.vessels.find("T1").unwrap();
    let state = cellar.state.sulfur_state(id, cellar.now()).unwrap();
    let molecular_of_30 = 30.0 * state.molecular_mg_l.unwrap() / state.known.free_now.unwrap().free_mg_l;
    assert!(state.molecular_mg_l.unwrap() > molecular_of_30 * 1.4);
    let asked = DosingAsked {
        of: Dosed { vessels: vec![id], ..Dosed::default() },
        goal: Goal::Add(10.0),
        form: Form::Powder,
        per: Per::Barrel,
        bound_share: USUAL_BOUND_SHARE,
    };
    let plan = cellar.state.plan_dosing(asked, cellar.now()).unwrap();
    near(plan.stops[0].total_then_mg_l, 121.87);
    // Without a dose the day of the test stands there, and what is left of it.
    let untouched = two_tanks().given(tested("U", 24.0, 78.0)).days(30);
    assert_eq!(known(&untouched, "U").words().unwrap(), "24 mg/L on 7 Sep: free about 22, total 78");
}

/// A sample that was drawn before a dose does not know it, though its result comes after.
#[test]
fn a_result_counts_from_the_day_on_which_its_sample_was_drawn() {
    let sample = json!({"kind": "sampled", "vessel": "T1", "volume_ul": 100_000, "sample": "s1"});
    let result = json!({"kind": "tested", "sample": "s1", "free_so2_mg_l": 29.0, "total_so2_mg_l": 87.0});
    let cellar = two_tanks().given(sample).given(given_mg("T1", 40_000)).days(9).given(result);
    let told = known(&cellar, "T1");
    // 40 · 0.576 / 2299.9 = 10.02, given after the sample was drawn.
    near(told.total_now, 97.02);
    near(Some(told.given_since_free), 10.02);
}

/// Litres that evaporate take nothing of what was given, and topping with wine that nobody tested changes no test.
#[test]
fn a_barrel_that_is_topped_keeps_its_test_and_its_dose() {
    let topped = json!({"kind": "topped", "vessel": "B1", "from": "T", "volume_ul": 2 * LITRE});
    let cellar = Cellar::furnished()
        .given(tested("B1", 20.0, 60.0))
        .days(1)
        .given(given_mg("B1", 10_000))
        .days(20)
        .given(topped);
    let told = known(&cellar, "B1");
    near(told.total.map(|total| total.value), 60.0);
    assert_eq!(told.total.map(|total| total.of), Some(TestOf::Own));
    // 10 · 0.576 / 225.
    near(Some(told.given_since_total), 25.6);
}

#[test]
fn a_word_that_is_declared_later_counts_where_the_wine_is_by_then() {
    let blitz = json!({"kind": "treated", "vessel": "T1", "material": "Blitz S", "amount_ug": 100_000_000});
    let cellar = two_tanks().given(blitz).given(moved("T1", "T3", 1_150 * LITRE));
    near(known(&cellar, "T3").total_now, 111.87);
    let cellar = cellar.given(json!({"kind": "material_declared", "material": "Blitz S", "same_as": "KMBS"}));
    // 100 · 0.576 / 2300 = 25.04 more.
    near(known(&cellar, "T3").total_now, 136.91);
    near(known(&cellar, "T1").total_now, 136.91);
}
