//! Trials at the bench: what may be set, what is rated, what stays sealed until it is revealed.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::jobs::bench::trial::Trial;
use barrelwalk::cellar::jobs::bench::trial::code::Code;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved};

/// Three glasses of T and U, of which 562 repeats 031, for two tasters; ben tastes in two flights.
pub fn trial() -> Value {
    json!({
        "kind": "trial_set", "trial": "Q", "components": [{"vessel": "T", "available_ul": 1_000 * LITRE}, {"vessel": "U"}],
        "glass_ul": 50_000,
        "glasses": [
            {"code": "562", "shares_ppm": [600_000, 400_000], "repeat_of": "031"},
            {"code": "417", "shares_ppm": [750_000, 250_000]},
            {"code": "031", "shares_ppm": [600_000, 400_000]},
        ],
        "panel": ["ben", "anna"],
        "servings": {"anna": [["417", "031", "562"]], "ben": [["562", "417"], ["031", "417"]]},
        "salt": "5a1ad",
    })
}

pub fn rated(taster: &str, code: &str, score: f64) -> Value {
    json!({"kind": "glass_rated", "trial": "Q", "taster": taster, "code": code, "score": score})
}

pub fn revealed() -> Value {
    json!({"kind": "trial_revealed", "trial": "Q"})
}

fn set() -> Cellar {
    Cellar::furnished().given(trial())
}

#[track_caller]
pub fn of(cellar: &Cellar) -> &Trial {
    cellar.state.trials.by_label("Q").unwrap()
}

fn label(text: &str) -> Label {
    Label::new(text).unwrap()
}

fn code(text: &str) -> Code {
    Code::parse(text).unwrap()
}

/// A trial that differs in one field.
fn with(path: &str, value: Value) -> Value {
    let mut fact = trial();
    *fact.pointer_mut(path).unwrap() = value;
    fact
}

#[test]
fn an_open_trial_tells_its_codes_and_orders_but_no_key() {
    let cellar = set();
    let trial = of(&cellar);
    assert_eq!(trial.codes().map(|code| code.to_string()).collect::<Vec<_>>(), ["031", "417", "562"]);
    let flights = [vec![code("562"), code("417")], vec![code("031"), code("417")]];
    assert_eq!(trial.flights_of(&label("ben")), flights);
    assert!(trial.flights_of(&label("eve")).is_empty());
    assert_eq!((trial.servings(), trial.missing().len(), trial.revealed()), (7, 7, None));
    assert!(trial.opened().is_none());
}

#[test]
fn the_reveal_tells_the_key_and_that_it_is_the_one_that_was_sealed() {
    let open = set();
    let digest = of(&open).digest().to_owned();
    let cellar = open.given(revealed());
    let key = of(&cellar).opened().unwrap();
    assert_eq!(key.glass(code("417")).unwrap().shares.millionths(), [750_000, 250_000]);
    assert_eq!(key.repeats().collect::<Vec<_>>(), [(code("562"), code("031"))]);
    assert!(key.is_as_sealed());
    assert_eq!(of(&cellar).digest(), digest);
    // The digest of the documented text as `sha256sum` reckons it.
    let text = "barrelwalk trial key 1\ntrial Q\nsalt 5a1ad\ncomponent T\ncomponent U\nglass 031 600000 400000\n\
                glass 417 750000 250000\nglass 562 600000 400000 repeats 031\n";
    assert_eq!(key.sealed_text(), text);
    assert_eq!(digest, "2d9c6382d3a74581912c6dfb9053753105be3b4e693c535163766ad3b4e0effb");
}

#[test]
fn a_digest_that_is_not_of_the_key_is_found_out() {
    let mut fact = trial();
    fact["digest"] = "0".repeat(64).into();
    Cellar::furnished().when(fact).then_counted_in_doubt("The digest is not that of this key");
}

#[test]
fn a_later_rating_of_the_same_glass_and_flight_stands_in_place_of_the_first() {
    let second = json!({"kind": "glass_rated", "trial": "Q", "taster": "ben", "code": "417", "flight": 2, "rank": 1.5});
    let cellar = set()
        .given(rated("ben", "417", 12.0))
        .given(second)
        .given(rated("anna", "417", 15.5))
        .given(rated("ben", "417", 13.0));
    let trial = of(&cellar);
    let said = |name: &str| {
        let name = label(name);
        trial.ratings_of(&name).map(|it| (it.flight, it.score, it.rank)).collect::<Vec<_>>()
    };
    assert_eq!(said("ben"), [(Some(1), Some(13.0), None), (Some(2), None, Some(1.5))]);
    assert_eq!(said("anna"), [(Some(1), Some(15.5), None)]);
    let missing: Vec<String> =
        trial.missing().iter().map(|it| format!("{} {} {}", it.taster, it.flight, it.code)).collect();
    assert_eq!(missing, ["ben 1 562", "ben 2 031", "anna 1 031", "anna 1 562"]);
}

#[test]
fn what_is_no_rating_is_refused() {
    let ranked =
        |rank: f64| json!({"kind": "glass_rated", "trial": "Q", "taster": "anna", "code": "417", "rank": rank});
    for (fact, part) in [
        (rated("anna", "417", 20.5), "A score lies between 0 and 20"),
        (rated("eve", "417", 12.0), "eve is not in the panel of 'Q'"),
        (rated("anna", "418", 12.0), "No glass of 'Q' has the code 418"),
        (ranked(0.5), "between 1 and 3"),
        (ranked(4.0), "between 1 and 3"),
        (
            json!({"kind": "glass_rated", "trial": "Q", "taster": "anna", "code": "417"}),
            "Nothing is said about the glass",
        ),
        (
            json!({"kind": "glass_rated", "trial": "P", "taster": "anna", "code": "417", "score": 3}),
            "No trial is called 'P'",
        ),
        (json!({"kind": "trial_revealed", "trial": "P"}), "No trial is called 'P'"),
    ] {
        set().when(fact).then_has_no_effect(part);
    }
    let elsewhere =
        json!({"kind": "glass_rated", "trial": "Q", "taster": "ben", "code": "562", "flight": 2, "score": 9});
    set().when(elsewhere).then_counted_in_doubt("ben has no glass 562 in flight 2");
}

#[test]
fn a_trial_is_opened_once_and_nothing_is_rated_after_it() {
    let opened = set().given(rated("anna", "417", 12.0)).given(revealed());
    opened.clone().when(revealed()).then_has_no_effect("'Q' is revealed already");
    opened.clone().when(trial()).then_has_no_effect("already called 'Q'");
    opened.when(rated("anna", "417", 19.0)).then_counted_in_doubt("nothing is rated after it");
}

#[test]
fn what_cannot_be_laid_out_is_refused() {
    for (fact, part) in [
        (with("/components", json!([])), "has no components"),
        (with("/components/1/vessel", json!("T")), "T stands twice among the components"),
        (with("/components/1/vessel", json!("nobody")), "No vessel is called 'nobody'"),
        (with("/glass_ul", json!(0)), "No volume is said"),
        (with("/glasses", json!([])), "has no glasses"),
        (with("/glasses/1/code", json!("031")), "The code 031 stands on two glasses"),
        (with("/glasses/1/shares_ppm", json!([1_000_000])), "has 1 shares for 2 components"),
        (with("/glasses/0/repeat_of", json!("417")), "The glass 562 is said to repeat 417"),
        (with("/glasses/0/repeat_of", json!("562")), "The glass 562 is said to repeat 562"),
        (with("/panel", json!([])), "has no panel"),
        (with("/panel", json!(["anna", "anna"])), "anna stands twice in the panel"),
        (with("/panel", json!(["anna"])), "ben is served, but is not in the panel"),
        (with("/servings/anna/0/0", json!("999")), "anna is served the code 999"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
    for (fact, part) in [
        (with("/components/0/available_ul", json!(3_000 * LITRE)), "are said to be there for the blend"),
        (with("/components/1/vessel", json!("E")), "E holds nothing by the book"),
        (with("/servings/anna/0/0", json!("031")), "anna is served the glass 031 twice in one flight"),
        (with("/servings/anna", json!([[]])), "anna is in the panel, but is served nothing"),
        (with("/servings", json!({"anna": [["417"]], "ben": [["417"]]})), "The glass 562 is served to nobody"),
    ] {
        Cellar::furnished().when(fact).then_counted_in_doubt(part);
    }
}

#[test]
fn the_wine_of_a_trial_may_go_elsewhere_while_it_is_tasted() {
    let cellar = set().given(moved("U", "E", 200 * LITRE)).given(rated("anna", "417", 12.0));
    assert_eq!(of(&cellar).ratings().len(), 1);
}
