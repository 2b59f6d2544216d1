//! What the wood has drunk: red stains it, and stained wood takes no other wine.

use barrelwalk::cellar::jobs::floor::lot::Colour;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, lost, moved, tank_of, topped};

fn stained(label: &str, colour: &str) -> Value {
    json!({
        "kind": "vessel_registered", "vessel": label, "type": "barrel", "capacity_ul": 225 * LITRE, "stained": colour,
        "fills": 2,
    })
}

fn with_rose() -> Cellar {
    Cellar::furnished()
        .given(json!({
            "kind": "origin_declared", "origin": "block-r", "block": "Foot", "variety": "Syrah", "vintage": 2026,
            "appellation": "Hillside", "colour": "rose",
        }))
        .given(json!({"kind": "lot_opened", "lot": "P", "colour": "rose"}))
        .given(tank_of("X", 1_000))
        .given(json!({
            "kind": "wine_received", "vessel": "X", "lot": "P",
            "parts": [{"origin": "block-r", "volume_ul": 400 * LITRE}],
        }))
}

#[test]
fn red_wine_stains_new_wood_and_white_stained_wood() {
    let cellar = Cellar::furnished().given(stained("white", "white"));
    assert_eq!(cellar.vessel("E").stained, None);
    let cellar = cellar.given(moved("T", "E", LITRE)).given(moved("T", "white", LITRE));
    assert_eq!((cellar.vessel("E").stained, cellar.vessel("white").stained), (Some(Colour::Red), Some(Colour::Red)));
}

#[test]
fn red_stained_wood_refuses_white_and_rose_for_ever() {
    let emptied = with_rose().given(stained("old", "red")).given(lost("B1", 225 * LITRE));
    for barrel in ["old", "B1"] {
        for (tank, sentence) in [("V", "must not take white wine"), ("X", "must not take rosé wine")] {
            emptied
                .clone()
                .when(moved(tank, barrel, 100 * LITRE))
                .then_counted_in_doubt("has red wine in its wood")
                .holds(barrel, 100 * LITRE);
            emptied.clone().when(moved(tank, barrel, 100 * LITRE)).then_refused(sentence);
        }
    }
    let kept = emptied.loaded(moved("V", "old", 100 * LITRE));
    assert_eq!(kept.vessel("old").stained, Some(Colour::Red), "white does not wash red out");
}

#[test]
fn new_and_white_stained_wood_takes_white_and_rose() {
    let cellar = with_rose().given(stained("white", "white"));
    for barrel in ["E", "white"] {
        for tank in ["V", "X"] {
            cellar.clone().when(moved(tank, barrel, 100 * LITRE)).then_taken();
        }
    }
    let white = cellar.given(moved("V", "E", 100 * LITRE));
    assert_eq!(white.vessel("E").stained, Some(Colour::White));
}

#[test]
fn steel_is_never_stained() {
    let cellar = Cellar::furnished();
    assert_eq!(cellar.vessel("T").stained, None);
    cellar.given(lost("T", 1_550 * LITRE)).when(moved("V", "T", 100 * LITRE)).then_taken();
}

#[test]
fn no_white_barrel_is_topped_with_red_and_no_red_one_with_white() {
    let cellar = Cellar::furnished().given(moved("V", "E", 225 * LITRE));
    cellar.clone().when(topped("E", "T", LITRE)).then_counted_in_doubt("E holds white wine and must not take red wine");
    cellar.when(topped("B1", "V", LITRE)).then_counted_in_doubt("must not take white wine");
}

#[test]
fn red_wine_takes_no_white_lot_by_a_move() {
    let mut fact = moved("T", "E", LITRE);
    fact["lot"] = "W".into();
    let cellar = Cellar::furnished().when(fact).then_counted_in_doubt("The lot 'W' is white but the wine is red");
    assert_eq!(cellar.vessel("E").stained, Some(Colour::Red), "the wood knows better than the name");
}
