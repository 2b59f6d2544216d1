//! What additions come to against published figures, summed over a wine's life.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::reckon::material::{Class, named};
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, Told, moved, tank_of};

fn treated(vessel: &str, material: &str, milligrams: u64, solution_ml: u64) -> Value {
    json!({"kind": "treated", "vessel": vessel, "material": material, "amount_ug": milligrams * 1_000,
        "solution_ul": solution_ml * 1_000})
}

fn asked(cellar: &Cellar, fact: Value) -> Vec<String> {
    cellar.state.questions(&[fact.what()], cellar.now()).iter().map(ToString::to_string).collect()
}

fn of_rules(rules: &str) -> Cellar {
    Cellar::furnished().given(json!({"kind": "practice_set", "rules": rules}))
}

fn sum(cellar: &Cellar, vessel: &str, name: &str) -> f64 {
    let id = cellar.state.vessels.find(vessel).unwrap();
    let additions = cellar.state.additions_to(&[id]);
    additions.sums.iter().filter(|sum| sum.name == name).map(|sum| sum.amount.as_grams()).sum()
}

/// 27 CFR 24.246(a)(2): the water of all additions together at most 1 %. Three slurries of 3.7 L into 500 L bring 0.74 % each.
#[test]
fn the_water_of_all_additions_counts_together() {
    let slurry = || treated("V", "bentonite", 100_000, 3_700);
    let cellar = of_rules("us");
    assert_eq!(asked(&cellar, slurry()), Vec::<String>::new());
    let cellar = cellar.given(slurry());
    let question = asked(&cellar, slurry());
    assert!(
        question[0].starts_with(
            "The water of all additions to V would come to 1.48 % of the wine, above the 1 % of 27 CFR 24.246(a)(2)"
        ),
        "{question:?}"
    );
    let cellar = cellar.given(slurry()).given(slurry());
    let id = cellar.state.vessels.find("V").unwrap();
    let share = cellar.state.additions_to(&[id]).water_share().unwrap();
    assert!((share - 0.0222).abs() < 1e-9, "{share}");
    assert_eq!(asked(&of_rules("eu"), treated("V", "bentonite", 100_000, 9_000)), Vec::<String>::new());
}

/// 27 CFR 24.246 (2015): 6 mg/L of copper added, of its sulfate (25.45 %) and its citrate (35.3 %) together. 500 L: 3 g of copper.
#[test]
fn copper_counts_together_whatever_it_came_as_and_goes_along() {
    let cellar = of_rules("us").given(treated("V", "copper sulphate", 8_000, 0)).given(tank_of("X", 1_000));
    assert_eq!(asked(&cellar, treated("V", "copper citrate", 2_000, 0)), Vec::<String>::new());
    let question = asked(&cellar, treated("V", "copper citrate", 3_000, 0));
    assert!(
        question[0].starts_with("V, with what it was given before: 6.19 mg/L of copper is above the 6 mg/L of 27 CFR 24.246 (2015; re-issued 2022)."),
        "{question:?}"
    );
    // What was given goes along with the wine.
    let cellar = cellar.given(moved("V", "X", 250 * LITRE));
    assert!((sum(&cellar, "X", "copper sulfate") - 4.0).abs() < 1e-5);
    assert!((sum(&cellar, "V", "copper sulfate") - 4.0).abs() < 1e-5);
    assert!(!asked(&cellar, treated("X", "CuSO4", 2_500, 0)).is_empty());
}

#[test]
fn a_material_is_summed_under_all_its_names_and_what_is_declared_later_counts_from_the_first() {
    let cellar = Cellar::furnished()
        .given(treated("V", "KMBS", 20_000, 0))
        .given(treated("V", "K metabisulphite", 5_000, 0))
        .given(treated("V", "our powder", 7_000, 0));
    assert!((sum(&cellar, "V", "potassium metabisulfite") - 25.0).abs() < 1e-9);
    let cellar =
        cellar.given(json!({"kind": "material_declared", "material": "our powder", "same_as": "tartaric acid"}));
    assert!((sum(&cellar, "V", "tartaric acid") - 7.0).abs() < 1e-9);
    let id = cellar.state.vessels.find("V").unwrap();
    let classes: Vec<Class> = cellar.state.additions_to(&[id]).sums.iter().map(|sum| sum.class).collect();
    assert_eq!(classes, [Class::SulfurDioxide, Class::Acid]);
}

/// Regulation (EU) 2019/934 and the code of the OIV name carbon for white wine only; carboxymethyl cellulose not for red.
#[test]
fn what_is_named_for_other_wines_is_asked() {
    let question = asked(&of_rules("eu"), treated("T", "charcoal", 200_000, 0));
    assert!(
        question[0].contains("names activated carbon for must, wine that still ferments and white wine only"),
        "{question:?}"
    );
    assert_eq!(asked(&of_rules("us"), treated("T", "charcoal", 200_000, 0)), Vec::<String>::new());
}

/// (EU) 2019/934 Annex I B: 150 mg/L of red wine. 1550 L, nobody tested: 300 g of metabisulfite are 172.8 g, 111 mg/L; 100 g more
/// make 149, 106 g more 151.
#[test]
fn the_total_of_sulfur_dioxide_is_summed_where_nobody_tested_it() {
    let cellar = of_rules("eu").given(treated("T", "KMBS", 300_000, 0));
    assert_eq!(asked(&cellar, treated("T", "KMBS", 100_000, 0)), Vec::<String>::new());
    let question = asked(&cellar, treated("T", "E224", 106_000, 0));
    let said = "The total SO2 of T would come to up to 151 mg/L, above the 150 mg/L of EU 2019/934 Annex I B.";
    assert!(question[0].starts_with(said), "{question:?}");
}

#[test]
fn a_dose_a_thousandfold_and_what_is_weighed_but_measured_are_slips() {
    // 1.5 kg of copper sulfate in 500 L: 3 g/L, where 0.02 is the most.
    of_rules("us").when(treated("V", "copper sulfate", 1_500_000, 0)).then_a_slip("can hardly be meant");
    of_rules("us").when(treated("V", "KMBS", 0, 100)).then_a_slip("KMBS is weighed");
    let thiamine = treated("V", "thiamine", 300_000, 0);
    of_rules("us").when(thiamine).then_a_slip("can hardly be meant");
}

#[test]
fn what_does_not_dissolve_is_asked() {
    let question = asked(&of_rules("us"), treated("V", "KMBS", 30_000, 50));
    assert_eq!(question, ["KMBS of 600 g/L: only about 450 g/L of it dissolve at 20 °C. Check the unit."]);
}

#[test]
fn what_a_work_plans_is_asked_when_it_is_set_and_not_again_at_its_steps() {
    let work = json!({"kind": "work_set", "work": "Cu", "task": "treating", "material": "copper sulfate",
        "stops": [{"vessel": "V", "amount_ug": 20_000_000}]});
    let cellar = of_rules("us");
    assert!(asked(&cellar, work.clone())[0].contains("above the 6 mg/L"));
    let cellar = cellar.given(work);
    assert_eq!(asked(&cellar, treated("V", "copper sulfate", 20_000, 0)), Vec::<String>::new());
    assert!(!asked(&cellar, treated("V", "copper sulfate", 30_000, 0)).is_empty());
}

#[test]
fn evaporation_takes_nothing_of_what_was_added() {
    let cellar = Cellar::furnished().given(treated("B1", "tartaric acid", 100_000, 0)).days(60);
    let cellar = cellar.given(json!({"kind": "gauged", "vessel": "B1", "volume_ul": 220 * LITRE}));
    assert!((sum(&cellar, "B1", "tartaric acid") - 100.0).abs() < 1e-9);
    assert_eq!(cellar.vessel("B1").volume(), Volume::from_litres(220));
    assert!(named("tartaric acid").is_some());
}
