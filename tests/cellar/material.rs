//! What a material is called, what it is, and what is asked of words that nobody knows.

use barrelwalk::reckon::material::Class;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, Told};

fn treated(vessel: &str, material: &str, grams: u64) -> Value {
    json!({"kind": "treated", "vessel": vessel, "material": material, "amount_ug": grams * 1_000_000})
}

/// What is asked before a fact is entered now.
fn asked(cellar: &Cellar, fact: Value) -> Vec<String> {
    cellar.state.questions(&[fact.what()], cellar.now()).iter().map(ToString::to_string).collect()
}

fn rise(cellar: &Cellar, vessel: &str) -> Option<f64> {
    cellar.vessel(vessel).additions[0].total_so2_rise_mg_l()
}

/// 20 g of metabisulfite in 225 L: 20 · 0.576 / 225 = 51.2 mg/L.
#[test]
fn metabisulfite_counts_under_every_name_and_too_much_of_it_is_refused_under_every_name() {
    for name in
        ["KMBS", "K metabisulphite", "potassium metabisulfite", "Meta", "PMS", "métabisulfite de potassium", "E224"]
    {
        let cellar = Cellar::furnished();
        assert_eq!(asked(&cellar, treated("B1", name, 20)), Vec::<String>::new(), "{name}");
        let cellar = cellar.given(treated("B1", name, 20));
        assert!((rise(&cellar, "B1").unwrap() - 51.2).abs() < 1e-9, "{name}");
        cellar.when(treated("B1", name, 900)).then_a_slip("can hardly be meant");
    }
    for name in ["SO2 tablet", "sulphite mix", "NaMBS", "KHSO3"] {
        Cellar::furnished().when(treated("B1", name, 900)).then_a_slip("can hardly be meant");
    }
}

/// 100 mL of a solution of 5 % hold 5 g: 22.2 mg/L in 225 L.
#[test]
fn a_solution_of_which_only_the_volume_is_said_counts() {
    let fact =
        json!({"kind": "treated", "vessel": "B1", "material": "SO2 5 %", "amount_ug": 0, "solution_ul": 100_000});
    let cellar = Cellar::furnished().given(fact);
    assert!((rise(&cellar, "B1").unwrap() - 5_000.0 / 225.0).abs() < 0.05);
}

#[test]
fn a_word_that_nobody_knows_is_asked_about_once() {
    let cellar = Cellar::furnished();
    let question = asked(&cellar, treated("B1", "Blitz S", 20));
    assert!(
        question[0].contains("'Blitz S' is not known here") && question[0].contains("declare material"),
        "{question:?}"
    );
    let cellar = cellar.given(treated("B1", "Blitz S", 20));
    assert_eq!(asked(&cellar, treated("B1", "blitz-s", 20)), Vec::<String>::new());
    assert_eq!(rise(&cellar, "B1"), None);
    // A strength that nobody said is asked for.
    let question = asked(&cellar, treated("B2", "SO2 tablets", 2));
    assert!(question[0].contains("How much sulfur dioxide 'SO2 tablets' gives is not known"), "{question:?}");
    let near = asked(&cellar, treated("B2", "betonite", 100));
    assert!(near[0].contains("'betonite' is new here; bentonite is meant?"), "{near:?}");
}

#[test]
fn what_a_house_declares_goes_before_the_trade_and_counts_for_what_was_added_before() {
    let cellar = Cellar::furnished()
        .given(treated("B1", "Blitz S", 20))
        .given(json!({"kind": "material_declared", "material": "blitz s", "same_as": "KMBS"}));
    assert!((rise(&cellar, "B1").unwrap() - 51.2).abs() < 1e-9);
    let tablet = json!({"kind": "material_declared", "material": "SO2 tablet", "class": "so2", "so2_pct": 40});
    let cellar = cellar.given(tablet).given(treated("B2", "SO2 tablet", 5));
    assert!((rise(&cellar, "B2").unwrap() - 2_000.0 / 225.0).abs() < 1e-9);
    let cellar = cellar.given(json!({"kind": "material_declared", "material": "Meta", "class": "other"}));
    let meant = cellar.state.material("meta").unwrap();
    assert_eq!((meant.class, meant.is_sulfur()), (Class::Other, false));
    assert_eq!(asked(&cellar, treated("B2", "meta", 5)), Vec::<String>::new());
}

#[test]
fn a_declaration_that_says_too_little_or_too_much_is_refused() {
    let declared = |fields: Value| {
        let mut fact = json!({"kind": "material_declared", "material": "X1"});
        fact.as_object_mut().unwrap().extend(fields.as_object().unwrap().clone());
        fact
    };
    for (fields, part) in [
        (json!({}), "either what it is the same as, or its class"),
        (json!({"same_as": "KMBS", "class": "so2"}), "either what it is the same as, or its class"),
        (json!({"same_as": "nobody's"}), "No material is called 'nobody's'"),
        (json!({"same_as": "x1"}), "No material is called 'x1'"),
        (json!({"class": "acid", "so2_pct": 5}), "X1 is no sulfur dioxide"),
        (json!({"same_as": "bentonite", "so2_pct": 5}), "X1 is no sulfur dioxide"),
        (json!({"class": "so2", "so2_pct": 900}), "Sulfur dioxide in %"),
    ] {
        Cellar::furnished().when(declared(fields)).then_has_no_effect(part);
    }
}

#[test]
fn a_work_is_done_under_any_name_of_its_material() {
    let work = json!({"kind": "work_set", "work": "SO2", "task": "treating", "material": "potassium metabisulfite",
        "stops": [{"vessel": "B1", "amount_ug": 7_800_000}]});
    let cellar = Cellar::furnished().given(work).given(treated("B1", "KMBS", 8));
    assert!(cellar.state.works.by_label("SO2").unwrap().stops[0].tick.is_some());
}

#[test]
fn egg_albumen_is_egg_white_and_a_fining() {
    let cellar = Cellar::furnished().given(treated("B1", "egg albumen", 20));
    assert_eq!(cellar.state.finings_done.len(), 1);
    let tried = json!({"kind": "fining_trial", "trial": "F", "vessel": "B1", "material": "egg whyte", "stock_pct": 5,
        "glasses": [{"dose_g_l": 0.05}]});
    assert!(asked(&cellar, tried)[0].contains("egg white is meant?"));
}

#[test]
fn near_misses_of_coopers_forests_toasts_and_varieties_are_asked_about() {
    let barrel = |label: &str, cooper: &str, forest: &str, toast: &str| {
        json!({"kind": "vessel_registered", "vessel": label, "type": "barrel", "capacity_ul": 225 * LITRE,
            "cooper": cooper, "forest": forest, "toast": toast})
    };
    let cellar = Cellar::furnished();
    assert_eq!(asked(&cellar, barrel("N1", "Oakes", "Tronçais", "medium")), Vec::<String>::new());
    let cellar = cellar.given(barrel("N1", "Oakes", "Tronçais", "medium"));
    assert_eq!(
        asked(&cellar, barrel("N2", "oakes", "Trnçais", "Medum")),
        [
            "'oakes' is new here; Oakes is meant?",
            "'Trnçais' is new here; Tronçais is meant?",
            "'Medum' is new here; medium is meant?",
        ]
    );
    // What was said to be so is known from then on.
    let cellar = cellar.given(barrel("N2", "oakes", "Trnçais", "Medum"));
    assert_eq!(asked(&cellar, barrel("N3", "oakes", "Trnçais", "Medum")), Vec::<String>::new());
    let origin = |label: &str, variety: &str| {
        json!({"kind": "origin_declared", "origin": label, "block": "Mill", "variety": variety, "vintage": 2026,
            "appellation": "Hillside", "colour": "red"})
    };
    assert_eq!(
        asked(&cellar, origin("o1", "Cabernet Sauvginon")),
        ["'Cabernet Sauvginon' is new here; Cabernet Sauvignon is meant?"]
    );
    assert_eq!(asked(&cellar, origin("o2", "Pinot Noir")), Vec::<String>::new());
}
