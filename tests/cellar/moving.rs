//! Moving wine from one vessel to one other.

use barrelwalk::cellar::core::account::Entry;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, Told, barrel_of, lost, moved, tank_of};

fn with(mut fact: Value, field: &str, value: impl Into<Value>) -> Value {
    fact[field] = value.into();
    fact
}

#[test]
fn wine_leaves_one_vessel_and_comes_into_the_other() {
    Cellar::furnished()
        .given(moved("T", "E", 225 * LITRE))
        .holds("E", 225 * LITRE)
        .booked("E", Entry::MovedIn, 225 * LITRE)
        .holds("T", 1_325 * LITRE)
        .booked("T", Entry::MovedOut, 675 * LITRE);
}

#[test]
fn the_volume_is_what_arrives_and_lees_and_loss_leave_beside_it() {
    let fact = with(with(moved("B1", "U", 220 * LITRE), "lees_ul", 3 * LITRE), "loss_ul", LITRE);
    Cellar::furnished()
        .given(fact)
        .holds("U", 1_220 * LITRE)
        .holds("B1", LITRE)
        .booked("B1", Entry::Lees, 3 * LITRE)
        .booked("B1", Entry::Handling, LITRE);
}

/// Drawing 228 L from a barrel that the book gives 224 L books a gain of 4 L as its own line.
#[test]
fn a_draw_beyond_the_book_is_a_gain() {
    Cellar::furnished()
        .given(lost("B1", LITRE))
        .given(moved("B1", "U", 228 * LITRE))
        .booked("B1", Entry::Gain, 4 * LITRE)
        .holds("B1", 0)
        .holds("U", 1_228 * LITRE);
}

#[test]
fn the_gain_covers_lees_and_loss_too() {
    let fact = with(with(moved("B1", "U", 224 * LITRE), "lees_ul", 2 * LITRE), "loss_ul", LITRE);
    Cellar::furnished()
        .given(fact)
        .booked("B1", Entry::Gain, 2 * LITRE)
        .booked("B1", Entry::Lees, 2 * LITRE)
        .booked("B1", Entry::Handling, LITRE)
        .holds("B1", 0);
}

#[test]
fn a_gain_is_in_proportion_to_what_is_there() {
    let cellar = Cellar::furnished()
        .given(lost("B1", 75 * LITRE))
        .given(moved("U", "B1", 75 * LITRE))
        .given(tank_of("X", 1_000))
        .given(moved("B1", "X", 228 * LITRE));
    assert_eq!(cellar.parts("X"), [("block-1", 152 * LITRE), ("block-2", 76 * LITRE)]);
}

#[test]
fn racking_that_empties_leaves_the_rest_as_lees() {
    let fact = with(with(moved("B1", "U", 221 * LITRE), "purpose", "racking"), "empties", true);
    Cellar::furnished()
        .given(with(fact, "lees_ul", 2 * LITRE))
        .booked("B1", Entry::Lees, 4 * LITRE)
        .booked("B1", Entry::Handling, 0)
        .holds("B1", 0)
        .has_lot("B1", None);
}

#[test]
fn any_other_move_that_empties_loses_the_rest_in_handling() {
    for purpose in ["barrel_down", "blend", "filtration", "other"] {
        let fact = with(with(moved("B1", "U", 221 * LITRE), "purpose", purpose), "empties", true);
        Cellar::furnished()
            .given(fact)
            .booked("B1", Entry::Handling, 4 * LITRE)
            .booked("B1", Entry::Lees, 0)
            .holds("B1", 0);
    }
}

#[test]
fn emptying_more_than_the_book_is_a_gain_and_no_loss() {
    Cellar::furnished()
        .given(with(moved("B1", "U", 227 * LITRE), "empties", true))
        .booked("B1", Entry::Gain, 2 * LITRE)
        .booked("B1", Entry::Handling, 0)
        .holds("B1", 0);
}

#[test]
fn lees_alone_may_be_all_that_leaves() {
    Cellar::furnished()
        .given(with(moved("B1", "U", 0), "lees_ul", LITRE))
        .holds("U", 1_000 * LITRE)
        .has_lot("U", "S")
        .holds("B1", 224 * LITRE);
}

#[test]
fn an_emptied_vessel_has_no_lot_and_its_next_fill_counts() {
    let cellar = Cellar::furnished().given(moved("B1", "U", 225 * LITRE)).has_lot("B1", None);
    assert_eq!((cellar.vessel("B1").filled, cellar.vessel("B1").fills), (None, 1));
    assert_eq!(cellar.vessel("B1").emptied, Some(cellar.now()));
    let cellar = cellar.given(moved("U", "B1", 225 * LITRE)).has_lot("B1", "S");
    assert_eq!((cellar.vessel("B1").filled, cellar.vessel("B1").fills), (Some(cellar.now()), 2));
}

#[test]
fn the_lot_of_the_wine_where_it_arrives() {
    let cellar = Cellar::furnished();
    cellar.clone().given(moved("T", "E", 100 * LITRE)).has_lot("E", "R");
    cellar.clone().given(moved("B1", "U", 100 * LITRE)).has_lot("U", "S").has_lot("B1", "R");
    cellar.clone().given(with(moved("T", "E", 100 * LITRE), "lot", "S")).has_lot("E", "S").has_lot("T", "R");
    cellar.given(with(moved("B1", "U", 100 * LITRE), "lot", "R")).has_lot("U", "R");
}

#[test]
fn a_draw_takes_every_origin_by_largest_remainder() {
    // 1 L of three origins, 1, 2 and 3 parts in 6, is 166,666.67, 333,333.33 and 500,000 µL.
    let cellar = Cellar::furnished().given(tank_of("X", 1_000)).given(json!({
        "kind": "wine_received", "vessel": "X", "lot": "R",
        "parts": [{"origin": "block-1", "volume_ul": 10 * LITRE}, {"origin": "block-2", "volume_ul": 20 * LITRE},
                  {"origin": "block-w", "volume_ul": 30 * LITRE}],
    }));
    let cellar = cellar.given(moved("X", "E", LITRE));
    assert_eq!(cellar.parts("E"), [("block-1", 166_667), ("block-2", 333_333), ("block-w", 500_000)]);
    assert_eq!(cellar.parts("X"), [("block-1", 9_833_333), ("block-2", 19_666_667), ("block-w", 29_500_000)]);
}

#[test]
fn a_vessel_may_be_filled_to_two_hundredths_above_its_capacity() {
    Cellar::furnished().when(moved("T", "E", 229_500_000)).then_taken().holds("E", 229_500_000);
    Cellar::furnished()
        .when(moved("T", "E", 229_500_001))
        .then_counted_in_doubt("E would hold 229.5 L but its capacity is 225 L")
        .holds("E", 229_500_001);
}

#[test]
fn what_would_stand_above_the_capacity_counts_with_what_is_there() {
    Cellar::furnished()
        .when(moved("T", "B1", 5 * LITRE))
        .then_counted_in_doubt("B1 would hold 230 L")
        .holds("B1", 230 * LITRE);
}

#[test]
fn no_barrel_gives_more_than_it_holds() {
    Cellar::furnished()
        .when(moved("B1", "U", 2_250 * LITRE))
        .then_counted_in_doubt("B1 cannot have given 2250 L: its capacity is 225 L")
        .booked("B1", Entry::Gain, 2_025 * LITRE)
        .holds("U", 3_250 * LITRE);
}

#[test]
fn an_overfull_vessel_gives_what_it_holds() {
    Cellar::furnished().loaded(moved("T", "B1", 25 * LITRE)).when(moved("B1", "U", 250 * LITRE)).then_taken();
}

#[test]
fn what_cannot_be_moved_is_refused_and_has_no_effect() {
    let cellar = Cellar::furnished().given(barrel_of("E2", 225));
    for (fact, part) in [
        (moved("E", "E2", LITRE), "E holds nothing by the book"),
        (moved("T", "T", LITRE), "cannot be filled from itself"),
        (moved("nobody", "T", LITRE), "No vessel is called 'nobody'"),
        (moved("T", "nobody", LITRE), "No vessel is called 'nobody'"),
        (moved("T", "E", 0), "No volume is said"),
        (with(moved("T", "E", LITRE), "lot", "nothing"), "No lot is called 'nothing'"),
        (with(moved("T", "E", LITRE), "loss_ul", u64::MAX), "more wine than any cellar holds"),
    ] {
        cellar.clone().when(fact).then_has_no_effect(part);
    }
}

/// 27 CFR 4.21 and 26 USC 5041(b): 1,000 L of 13.9 % and 500 L of 14.5 are about 14.1, no table wine any more. Not known, or not
/// held to the rules of the United States, nothing is asked; nor into an empty vessel.
#[test]
fn a_move_that_brings_wine_into_another_class_of_alcohol_is_asked_about() {
    let tested = |vessel: &str, pct: f64| json!({"kind": "tested", "vessel": vessel, "alcohol_pct": pct});
    let cellar = Cellar::furnished().given(tested("U", 13.9));
    let asked = |cellar: &Cellar, to: &str| {
        let mut fact = moved("T", to, 500 * LITRE);
        fact["purpose"] = "other".into();
        let asked = cellar.state.questions(&[fact.what()], cellar.now());
        asked.iter().map(ToString::to_string).find(|it| it.contains("% vol"))
    };
    assert_eq!(asked(&cellar, "U"), None);
    let cellar = cellar.given(tested("T", 14.5));
    assert_eq!(
        asked(&cellar, "U").as_deref(),
        Some(
            "The wine in U would come from 13.9 to about 14.1 % vol: up to and with 14 % vol it is table wine (27 CFR 4.21)."
        )
    );
    assert_eq!(asked(&cellar.clone().given(json!({"kind": "practice_set", "rules": "eu"})), "U"), None);
    assert_eq!(asked(&cellar.given(tested("U", 13.7)), "U"), None, "13.97 is table wine");
}
