//! A vessel is kept out of the work until it is freed.

use serde_json::{Value, json};

use crate::support::given::Cellar;

fn held(vessel: &str, why: &str) -> Value {
    json!({"kind": "held", "vessel": vessel, "why": why})
}

fn freed(vessel: &str) -> Value {
    json!({"kind": "freed", "vessel": vessel, "why": "tested again"})
}

#[test]
fn a_held_vessel_is_held_until_it_is_freed() {
    let cellar = Cellar::furnished().given(held("B1", "volatile acidity"));
    assert_eq!(cellar.vessel("B1").held.as_ref().map(|hold| hold.why.as_str()), Some("volatile acidity"));
    assert_eq!(cellar.given(freed("B1")).vessel("B1").held, None);
}

#[test]
fn holding_twice_is_a_slip_and_the_last_reason_holds() {
    let cellar = Cellar::furnished().given(held("B1", "one")).when(held("B1", "two")).then_a_slip("B1 is held already");
    assert_eq!(cellar.vessel("B1").held.as_ref().map(|hold| hold.why.as_str()), Some("two"));
}

#[test]
fn what_is_not_held_cannot_be_freed() {
    Cellar::furnished().when(freed("B1")).then_counted_in_doubt("B1 is not held");
    Cellar::furnished().when(freed("nobody")).then_has_no_effect("No vessel is called 'nobody'");
    Cellar::furnished().when(held("nobody", "x")).then_has_no_effect("No vessel is called 'nobody'");
}
