//! Fining trials, and the dose that was chosen for a vessel.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::core::fact::What;
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::refusal::Refusal;
use barrelwalk::cellar::jobs::finish::fining::FiningGlass;
use barrelwalk::units::{Mass, Volume};
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved, tank_of};

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
    assert!(!plan.watered(&cellar.state).is_above_figure());
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

/// 0.5 g/L of bentonite for 500 L: 250 g in 5 L; 480 L are racked off 5 L of lees, and 20 L more are left behind: 25 of 505 L.
#[test]
fn a_fining_is_remembered_with_what_racking_it_off_cost() {
    let cellar = Cellar::furnished().given(tank_of("X", 1_000)).given(tried(Some(0.5)));
    let trial = cellar.state.finings.find("F1").unwrap();
    let plan = cellar.state.plan_fining(trial, cellar.state.vessels.find("V").unwrap()).unwrap();
    let batch = Label::new("24-118").unwrap();
    let treated = plan.treated(&cellar.state, None, Some(batch.clone()));
    assert_eq!((treated.amount, treated.solution), (Mass::from_grams(250), Volume::from_ml(5_000)));
    let half = plan.treated(&cellar.state, Some(Volume::from_ml(2_500)), None);
    assert_eq!((half.amount, half.solution), (Mass::from_grams(125), Volume::from_ml(2_500)));
    let fined = cellar.given(What::Treated(Box::new(treated)));
    let done = |cellar: &Cellar| cellar.state.finings.get(trial).followed_by(&cellar.state).next().unwrap().clone();
    assert_eq!((done(&fined).batch, done(&fined).racked, done(&fined).dose_g_l()), (Some(batch), None, 0.5));
    let racked = fined.days(10).given(json!({
        "kind": "wine_moved", "from": "V", "to": "X", "volume_ul": 480 * LITRE, "lees_ul": 5 * LITRE, "purpose": "racking",
        "empties": true,
    }));
    let cost = done(&racked).racked.unwrap();
    assert_eq!((cost.moved, cost.lost), (Volume::from_litres(480), Volume::from_litres(25)));
    assert!((cost.lost_share().unwrap() - 25.0 / 505.0).abs() < 1e-12);
    // What lies in the vessel afterwards is another wine.
    let refilled = racked.given(moved("X", "V", 100 * LITRE)).given(json!({
        "kind": "lost", "vessel": "V", "volume_ul": 3 * LITRE, "cause": "lees",
    }));
    assert_eq!(done(&refilled).racked, Some(cost));
}

#[test]
fn an_addition_is_a_fining_where_its_material_is_an_agent() {
    let treated =
        |material: &str| json!({"kind": "treated", "vessel": "V", "material": material, "amount_ug": 1_000_000});
    let count = |cellar: &Cellar| cellar.state.finings_done.len();
    let cellar = Cellar::furnished().given(treated("SO2")).given(treated("Gelatine")).given(treated("our own clay"));
    assert_eq!(count(&cellar), 1);
    let mut ours = tried(Some(0.5));
    ours["material"] = "our own clay".into();
    assert_eq!(count(&cellar.given(ours).given(treated("our own clay"))), 2);
}

#[test]
fn a_glass_is_written_down_anew_with_more_of_it() {
    let cellar = Cellar::furnished().given(tried(Some(0.5)));
    let trial = cellar.state.finings.get(cellar.state.finings.find("F1").unwrap());
    let mut anew = trial.as_tried(&cellar.state);
    anew.take(&FiningGlass::read("0.5: 0.8 NTU").unwrap());
    anew.take(&FiningGlass::read("0.25: hazy").unwrap());
    let doses: Vec<f64> = anew.glasses.iter().map(|glass| glass.dose_g_l).collect();
    assert_eq!(doses, [0.0, 0.25, 0.5, 1.0]);
    let glass = &anew.glasses[2];
    assert_eq!((glass.turbidity_ntu, glass.score), (Some(0.8), Some(15.0)));
    assert_eq!(glass.text.as_ref().unwrap().as_str(), "clear");
}
