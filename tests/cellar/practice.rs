//! How a house works.

use barrelwalk::reckon::label_share::Rules;
use barrelwalk::reckon::sulfur::Model;
use serde_json::json;

use crate::support::given::Cellar;

#[test]
fn what_is_not_said_stays() {
    let cellar = Cellar::furnished()
        .given(json!({"kind": "practice_set", "so2_model": "oiv", "sulfuring_days": 42}))
        .given(json!({"kind": "practice_set", "rules": "eu"}));
    let practice = cellar.state.practice;
    assert_eq!((practice.so2_model, practice.rules, practice.sulfuring_days), (Model::Oiv, Some(Rules::Eu), 42));
}

#[test]
fn what_no_house_does_is_refused() {
    for (fact, part) in [
        (json!({"kind": "practice_set"}), "Nothing is set"),
        (json!({"kind": "practice_set", "molecular_so2_mg_l": 8}), "out of range"),
        (json!({"kind": "practice_set", "sulfuring_days": 0}), "out of range"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
}
