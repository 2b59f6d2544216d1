//! Care of empty wood.

use barrelwalk::cellar::care::Care;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved};

fn cared(vessel: &str, care: &str) -> Value {
    json!({"kind": "barrel_cared", "vessel": vessel, "care": care})
}

#[test]
fn each_care_is_remembered_until_the_barrel_is_emptied_again() {
    let cellar = Cellar::furnished().given(cared("E", "rinsed")).days(1).given(cared("E", "sulfured"));
    let vessel = cellar.vessel("E");
    assert!(vessel.cared(Care::Rinsed).unwrap().instant() < vessel.cared(Care::Sulfured).unwrap().instant());
    assert_eq!(vessel.cared(Care::Soaked), None);
    let again = cellar.given(moved("U", "E", 225 * LITRE)).given(moved("E", "U", 225 * LITRE));
    assert_eq!(again.vessel("E").cared(Care::Sulfured), None);
}

#[test]
fn full_barrels_and_tanks_are_not_cared_for() {
    Cellar::furnished().when(cared("T", "rinsed")).then_has_no_effect("T is not a barrel");
    Cellar::furnished().when(cared("B1", "steamed")).then_counted_in_doubt("B1 holds 225 L by the book");
}
