//! What a laboratory found.

use barrelwalk::cellar::jobs::tests::testing::{Analyte, KeptTests};
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved};

fn tested(vessel: &str, field: &str, value: f64) -> Value {
    json!({"kind": "tested", "vessel": vessel, field: value})
}

fn sampled(vessel: &str, sample: &str) -> Value {
    json!({"kind": "sampled", "vessel": vessel, "volume_ul": 50_000, "sample": sample})
}

fn last(cellar: &Cellar, vessel: &str, analyte: Analyte) -> Option<(f64, bool)> {
    let id = cellar.state.vessels.find(vessel)?;
    cellar.state.last_reading(id, analyte).map(|(value, test)| (value, test.is_composite()))
}

#[test]
fn a_barrel_remembers_the_last_of_each_reading() {
    let cellar = Cellar::furnished()
        .given(json!({"kind": "tested", "vessel": "B1", "ph": 3.62, "free_so2_mg_l": 28}))
        .days(30)
        .given(tested("B1", "free_so2_mg_l", 21.0));
    assert_eq!(last(&cellar, "B1", Analyte::Ph), Some((3.62, false)));
    assert_eq!(last(&cellar, "B1", Analyte::FreeSo2), Some((21.0, false)));
    assert_eq!(last(&cellar, "B2", Analyte::Ph), None);
    let lot = cellar.state.lots.by_label("R").unwrap();
    assert_eq!(lot.tests.len(), 2);
}

/// A snapshot keeps the tests alone; what each tells of is found again.
#[test]
fn tests_that_are_written_and_read_again_tell_of_the_same() {
    let cellar = Cellar::furnished()
        .given(json!({"kind": "tested", "vessel": "B1", "ph": 3.62, "free_so2_mg_l": 28}))
        .given(tested("B1", "va_g_l", 0.5));
    let tests = cellar.vessel("B1").tests.as_ref();
    let again: KeptTests = serde_json::from_str(&serde_json::to_string(tests).unwrap()).unwrap();
    assert_eq!(&again, tests);
    let free: Vec<f64> = again.of(Analyte::FreeSo2).map(|(value, _)| value).collect();
    assert_eq!((again.len(), free), (2, vec![28.0]));
    assert!(again.iter().all(|(told, test)| told.analytes.iter().all(|analyte| test.readings.of(analyte).is_some())));
}

#[test]
fn a_composite_is_a_result_of_each_of_its_barrels_and_once_of_their_lot() {
    let cellar = Cellar::furnished()
        .given(sampled("B1", "lab-7"))
        .given(sampled("B2", "lab-7"))
        .given(json!({"kind": "tested", "sample": "lab-7", "va_g_l": 0.48, "lab": "valley"}));
    for barrel in ["B1", "B2"] {
        assert_eq!(last(&cellar, barrel, Analyte::VolatileAcidity), Some((0.48, true)));
    }
    assert_eq!(cellar.state.lots.by_label("R").unwrap().tests.len(), 1);
}

#[test]
fn a_result_is_not_of_the_wine_that_came_after_the_sample() {
    let cellar = Cellar::furnished()
        .given(sampled("B1", "lab-7"))
        .given(sampled("B2", "lab-7"))
        .given(json!({"kind": "wine_moved", "from": "B1", "to": "T", "volume_ul": 220 * LITRE, "purpose": "racking", "empties": true}))
        .given(moved("U", "B1", 225 * LITRE))
        .given(json!({"kind": "tested", "sample": "lab-7", "ph": 3.7}));
    assert_eq!(last(&cellar, "B1", Analyte::Ph), None);
    assert_eq!(last(&cellar, "B2", Analyte::Ph), Some((3.7, false)));
    // The lot that was sampled keeps the result, whatever became of its barrels.
    assert_eq!(["R", "S"].map(|lot| cellar.state.lots.by_label(lot).unwrap().tests.len()), [1, 0]);
}

#[test]
fn a_test_of_a_lot_is_a_result_of_each_vessel_that_holds_it_then() {
    let of_lot = |lot: &str| json!({"kind": "tested", "lot": lot, "free_so2_mg_l": 24, "lab": "valley"});
    let cellar = Cellar::furnished().given(of_lot("R")).given(moved("U", "E", 225 * LITRE));
    for vessel in ["B1", "B2", "T"] {
        assert_eq!(last(&cellar, vessel, Analyte::FreeSo2), Some((24.0, true)), "{vessel}");
    }
    for vessel in ["U", "V", "E"] {
        assert_eq!(last(&cellar, vessel, Analyte::FreeSo2), None, "{vessel}");
    }
    assert_eq!(["R", "S"].map(|lot| cellar.state.lots.by_label(lot).unwrap().tests.len()), [1, 0]);
    // In one vessel it hides nothing.
    let alone = Cellar::furnished().given(of_lot("S"));
    assert_eq!(last(&alone, "U", Analyte::FreeSo2), Some((24.0, false)));
    Cellar::furnished().when(of_lot("nothing")).then_has_no_effect("No lot is called 'nothing'");
    Cellar::furnished()
        .given(json!({"kind": "lot_opened", "lot": "N", "colour": "red"}))
        .when(of_lot("N"))
        .then_counted_in_doubt("No vessel holds the lot 'N'");
}

#[test]
fn an_emptied_barrel_forgets_its_tests() {
    let cellar = Cellar::furnished()
        .given(tested("B1", "ph", 3.6))
        .given(json!({"kind": "wine_moved", "from": "B1", "to": "T", "volume_ul": 225 * LITRE, "purpose": "racking"}));
    assert_eq!(last(&cellar, "B1", Analyte::Ph), None);
}

/// The plain table (University of California Cooperative Extension, Enology Briefs 1982): 0.5 mg/L molecular at pH 3.6
/// wants 31 mg/L free.
#[test]
fn molecular_sulfur_dioxide_follows_the_last_tests_by_the_house_model() {
    let cellar = Cellar::furnished().given(tested("B1", "ph", 3.6)).days(20).given(tested("B1", "free_so2_mg_l", 31.0));
    let sulfur =
        |cellar: &Cellar, vessel: &str| cellar.state.sulfur_state(cellar.state.vessels.find(vessel)?, cellar.now());
    let found = sulfur(&cellar, "B1").unwrap();
    assert!((found.molecular_mg_l.unwrap() - 0.5).abs() < 0.01, "{found:?}");
    assert_eq!(sulfur(&cellar, "B2"), None);
    let oiv = cellar
        .given(json!({"kind": "practice_set", "so2_model": "oiv"}))
        .given(json!({"kind": "tested", "vessel": "B1", "alcohol_pct": 13, "temperature_c": 20}));
    let molecular = sulfur(&oiv, "B1").unwrap().molecular_mg_l.unwrap();
    assert!(molecular > 0.65 && molecular < 0.8, "the OIV method finds about a third more: {molecular}");
}

#[test]
fn what_no_wine_reads_is_refused() {
    for (fact, part) in [
        (tested("B1", "ph", 35.0), "pH of 35 is out of range. It must lie between 2 and 5.5"),
        (tested("B1", "alcohol_pct", 140.0), "alcohol of 140 is out of range"),
        (tested("nobody", "ph", 3.5), "No vessel is called 'nobody'"),
        (json!({"kind": "tested", "sample": "lab-9", "ph": 3.5}), "No sample is called 'lab-9'"),
        (json!({"kind": "tested", "ph": 3.5}), "Name the vessel, the sample or the lot"),
        (json!({"kind": "tested", "vessel": "B1"}), "No result is said"),
        (
            json!({"kind": "tested", "vessel": "B1", "free_so2_mg_l": 80, "total_so2_mg_l": 60}),
            "free SO2 of 80 mg/L is above the total of 60 mg/L",
        ),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
    let slipped = "It must lie between 0 and 20 g/L. Perhaps 0.12 g/L is meant.";
    Cellar::furnished().when(tested("B1", "malic_g_l", 120.0)).then_has_no_effect(slipped);
    Cellar::furnished().when(tested("E", "ph", 3.5)).then_counted_in_doubt("E holds nothing by the book");
}
