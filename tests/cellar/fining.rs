//! Fining trials, and the dose that was chosen for a vessel.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::fact::What;
use barrelwalk::cellar::label::Label;
use barrelwalk::cellar::refusal::Refusal;
use barrelwalk::units::{Mass, Volume};
use serde_json::{Value, json};

use crate::support::given::Cellar;

fn tried(chosen: Option<f64>) -> Value {
    json!({
        "kind": "fining_trial", "trial": "F1", "vessel": "V", "material": "bentonite", "stock_pct": 5.0,
        "glasses": [
            {"dose_g_l": 0.0, "text": "cloudy", "turbidity_ntu": 12.0},
            {"dose_g_l": 0.5, "text": "clear", "turbidity_ntu": 1.1, "score": 15.0},
            {"dose_g_l": 1.0, "text": "clear, thin", "turbidity_ntu": 0.9},
        ],
        "chosen_g_l": chosen,
    })
}

/// 0.5 g/L of bentonite for the 500 L of V is 250 g: 5 L of 5 % stock.
#[test]
fn the_chosen_dose_is_scaled_and_its_work_is_ticked() {
    let cellar = Cellar::furnished().given(tried(Some(0.5)));
    let trial = cellar.state.finings.find("F1").unwrap();
    let plan = cellar.state.plan_fining(trial, cellar.state.vessels.find("V").unwrap()).unwrap();
    assert_eq!((plan.given.amount, plan.given.stock), (Mass::from_grams(250), Volume::from_ml(5_000)));
    assert!(!plan.given.is_above_water_allowed());
    let work = plan.begin(&cellar.state, Label::new("fine V").unwrap());
    let cellar = cellar.given(What::WorkSet(Box::new(work))).given(json!({
        "kind": "treated", "vessel": "V", "material": "bentonite", "amount_ug": 250_000_000, "solution_ul": 5_000_000,
    }));
    assert_eq!(cellar.vessel("V").volume(), Volume::from_ml(505_000));
    let work = cellar.state.works.by_label("fine V").unwrap();
    assert!(work.stops.iter().all(|stop| stop.tick.is_some()));
}

#[test]
fn nothing_is_planned_before_a_dose_is_chosen_and_a_later_word_stands() {
    let cellar = Cellar::furnished().given(tried(None));
    let (trial, vessel) = (cellar.state.finings.find("F1").unwrap(), cellar.state.vessels.find("V").unwrap());
    let refusal = cellar.state.plan_fining(trial, vessel).unwrap_err();
    assert_eq!(refusal, Refusal::NoDoseChosen(Label::new("F1").unwrap()));
    let cellar = cellar.given(tried(Some(1.0)));
    assert_eq!(cellar.state.finings.len(), 1);
    assert!(cellar.state.plan_fining(trial, vessel).is_ok());
    assert!(cellar.state.plan_fining(trial, cellar.state.vessels.find("E").unwrap()).is_err());
}

#[test]
fn what_is_no_trial_is_refused() {
    let changed = |field: &str, value: Value| {
        let mut fact = tried(Some(0.5));
        fact[field] = value;
        fact
    };
    for (fact, part) in [
        (changed("chosen_g_l", json!(0.7)), "0.7 g/L was not tried"),
        (changed("chosen_g_l", json!(0.0)), "0 g/L was not tried"),
        (changed("glasses", json!([])), "has no glass"),
        (changed("glasses", json!([{"dose_g_l": 50.0}])), "A dose of 50 g/L"),
        (changed("stock_pct", json!(0.0)), "A stock of 0 %"),
        (changed("vessel", json!("X9")), "No vessel is called 'X9'"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
}
