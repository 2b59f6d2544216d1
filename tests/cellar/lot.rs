//! Lots, their stages, and origins.

use barrelwalk::cellar::jobs::floor::lot::Stage;
use serde_json::{Value, json};

use crate::support::given::Cellar;

fn staged(lot: &str, stage: &str) -> Value {
    json!({"kind": "stage_set", "lot": lot, "stage": stage})
}

#[test]
fn a_label_names_one_lot_and_one_origin() {
    let origin = json!({
        "kind": "origin_declared", "origin": "block-1", "block": "x", "variety": "x", "vintage": 2020,
        "appellation": "x", "colour": "white",
    });
    let lot = json!({"kind": "lot_opened", "lot": "R", "colour": "white"});
    Cellar::furnished().when(lot).then_has_no_effect("A lot is already called 'R'");
    Cellar::furnished().when(origin).then_has_no_effect("An origin is already called 'block-1'");
}

#[test]
fn a_vintage_is_a_year() {
    for vintage in [0, 1_799, 3_000] {
        let origin = json!({
            "kind": "origin_declared", "origin": "x", "block": "x", "variety": "x", "vintage": vintage,
            "appellation": "x", "colour": "red",
        });
        Cellar::furnished().when(origin).then_has_no_effect("A vintage of");
    }
}

#[test]
fn the_last_stage_holds() {
    let cellar = Cellar::furnished().given(staged("R", "soaking")).given(staged("R", "malolactic"));
    let stage = cellar.state.lots.by_label("R").and_then(|lot| lot.stage);
    assert_eq!(stage, Some((Stage::Malolactic, cellar.now())));
    assert_eq!(cellar.state.lots.by_label("S").and_then(|lot| lot.stage), None);
}

#[test]
fn what_is_no_stage_is_refused_and_has_no_effect() {
    let mut often = staged("R", "rolled");
    often["round_days"] = 0.into();
    Cellar::furnished().when(staged("nothing", "rolled")).then_has_no_effect("No lot is called 'nothing'");
    Cellar::furnished().when(often).then_has_no_effect("An interval in days of 0 is out of range");
}
