//! Additions to a wine.

use barrelwalk::cellar::core::account::Entry;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE};

fn treated(vessel: &str, material: &str, milligrams: u64, solution_ml: u64) -> Value {
    json!({
        "kind": "treated", "vessel": vessel, "material": material, "amount_ug": milligrams * 1_000,
        "solution_ul": solution_ml * 1_000,
    })
}

#[test]
fn a_solution_adds_volume_of_no_origin() {
    let cellar = Cellar::furnished()
        .given(json!({"kind": "lost", "vessel": "B1", "volume_ul": LITRE, "cause": "spill"}))
        .given(treated("B1", "potassium metabisulfite", 7_810, 78))
        .booked("B1", Entry::Treatment, 78_000)
        .holds("B1", 224_078_000);
    assert_eq!(cellar.parts("B1").iter().map(|(_, ul)| ul).sum::<u64>(), 224_078_000);
    let id = cellar.state.vessels.find("B1").unwrap();
    let vessel = cellar.state.vessels.get(id);
    // 57.6 % of 7.81 g in 224 L.
    let rise = vessel.additions[0].total_so2_rise_mg_l().unwrap();
    assert!((rise - 7_810.0 * 0.576 / 224.0).abs() < 1e-6, "{rise}");
    assert_eq!(cellar.state.lots.by_label("R").unwrap().additions.len(), 1);
}

#[test]
fn what_is_no_sulfur_dioxide_raises_none() {
    let cellar = Cellar::furnished().given(treated("B1", "egg white", 30_000, 0));
    assert_eq!(cellar.vessel("B1").additions[0].total_so2_rise_mg_l(), None);
}

#[test]
fn what_can_hardly_be_meant_is_refused() {
    for (fact, part) in [
        (treated("B1", "potassium metabisulfite", 1_000_000, 0), "1000 g of potassium metabisulfite into B1"),
        (treated("B1", "tartaric acid", 1_000_000, 0), "can hardly be meant"),
        (treated("B1", "bentonite", 3_000_000, 0), "can hardly be meant"),
    ] {
        Cellar::furnished().when(fact).then_a_slip(part);
    }
    for (fact, part) in [
        (treated("E", "bentonite", 1_000, 0), "E holds nothing by the book"),
        (treated("nobody", "bentonite", 1_000, 0), "No vessel is called 'nobody'"),
        (treated("B1", "bentonite", 0, 0), "Nothing is added to B1"),
        (treated("B1", "bentonite", u64::MAX / 1_000, 0), "more than any cellar adds"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
    Cellar::furnished().when(treated("B1", "bentonite", 100_000, 9_000)).then_counted_in_doubt("would hold 234 L");
}
