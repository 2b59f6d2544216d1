//! The checklist before bottling.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::jobs::finish::checklist::{Check, Standing};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved, tank_of, topped_in_part};

/// The lot W lies in tank V alone.
fn cellar() -> Cellar {
    Cellar::furnished()
}

fn tested(vessel: &str, readings: &Value) -> Value {
    let mut fact = json!({"kind": "tested", "vessel": vessel});
    for (name, value) in readings.as_object().unwrap() {
        fact[name] = value.clone();
    }
    fact
}

fn ticked(item: &str, met: bool) -> Value {
    json!({"kind": "checked", "lot": "W", "item": item, "met": met})
}

fn waived(item: &str) -> Value {
    json!({"kind": "check_waived", "lot": "W", "item": item, "why": "sold as it is"})
}

#[track_caller]
fn check(cellar: &Cellar, lot: &str, item: &str) -> Check {
    let lot = cellar.state.lots.find(lot).unwrap();
    cellar.state.checklist(lot).into_iter().find(|check| check.item.to_string() == item).unwrap()
}

#[track_caller]
fn standing(cellar: &Cellar, item: &str) -> Standing {
    check(cellar, "W", item).standing
}

/// Limits from EU 2019/934 (white: volatile acidity 1.08 g/L as acetic, total SO2 200 mg/L) and 27 CFR (1.2, 350), of which the stricter
/// binds; sugar 2 g/L, malic acid 0.3 g/L, oxygen 1.0 mg/L, turbidity 1 NTU by common practice.
#[test]
fn tests_answer_to_the_limit_itself_and_not_beyond() {
    for (reading, item, most, beyond) in [
        ("va_g_l", "volatile acidity", 1.08, 1.081),
        ("total_so2_mg_l", "total SO2", 200.0, 200.1),
        ("sugar_g_l", "dry", 2.0, 2.1),
        ("malic_g_l", "malic", 0.3, 0.31),
        ("oxygen_mg_l", "oxygen", 1.0, 1.1),
        ("turbidity_ntu", "turbidity", 1.0, 1.1),
    ] {
        assert_eq!(standing(&cellar(), item), Standing::NotTested, "{item}");
        for (value, is) in [(most, Standing::Met), (beyond, Standing::NotMet)] {
            let cellar = cellar().given(tested("V", &json!({reading: value})));
            assert_eq!(standing(&cellar, item), is, "{item} of {value}");
        }
    }
}

/// From 5 g/L of sugar on a white may hold 250 mg/L (EU 2019/934 Annex I B).
#[test]
fn a_sweet_wine_is_held_to_the_limit_of_sweet_wines() {
    let cellar = cellar().given(tested("V", &json!({"sugar_g_l": 40.0, "total_so2_mg_l": 240.0})));
    let total = check(&cellar, "W", "total SO2");
    assert_eq!((total.standing, total.rule.contains("250")), (Standing::Met, true));
}

/// The plain table (University of California Cooperative Extension, 1982): 0.5 mg/L molecular at pH 3.6 asks for 31 free.
#[test]
fn molecular_sulfur_dioxide_is_by_the_houses_model() {
    for (free, is) in [(31.0, Standing::NotMet), (32.0, Standing::Met)] {
        let cellar = cellar().given(tested("V", &json!({"ph": 3.6, "free_so2_mg_l": free})));
        assert_eq!(standing(&cellar, "molecular SO2"), is, "{free}");
    }
    let no_ph = cellar().given(tested("V", &json!({"free_so2_mg_l": 40.0})));
    assert_eq!(standing(&no_ph, "molecular SO2"), Standing::NotTested);
}

#[test]
fn sulfur_dioxide_added_since_the_test_counts_to_the_total() {
    let treated = json!({"kind": "treated", "vessel": "V", "material": "so2", "amount_ug": 15_000_000});
    let cellar = cellar().given(tested("V", &json!({"total_so2_mg_l": 180.0}))).given(treated);
    assert_eq!(check(&cellar, "W", "total SO2").words.as_deref(), Some("210 mg/L (180 on 1 Sep + 30 given since)"));
    assert_eq!(standing(&cellar, "total SO2"), Standing::NotMet);
}

/// 27 CFR 4.36 and EU 2019/33 art. 44 hang on what the label states.
#[test]
fn alcohol_hangs_on_the_label() {
    let cellar = cellar().given(tested("V", &json!({"alcohol_pct": 13.4})));
    assert_eq!(standing(&cellar, "alcohol"), Standing::NotTested);
    let label = |pct: f64| json!({"kind": "checked", "lot": "W", "item": "alcohol", "met": true, "value": pct});
    for (pct, is) in [(13.0, Standing::Met), (13.5, Standing::Met), (12.5, Standing::NotMet), (13.4, Standing::NotMet)]
    {
        assert_eq!(standing(&cellar.clone().given(label(pct)), "alcohol"), is, "{pct}");
    }
    cellar.when(ticked("alcohol", true)).then_a_slip("The alcohol on the label is not said");
}

#[test]
fn the_vessel_that_stands_worst_speaks_for_the_lot() {
    let cellar =
        cellar().given(tested("T", &json!({"malic_g_l": 0.1}))).given(tested("B1", &json!({"malic_g_l": 0.9})));
    let malic = check(&cellar, "R", "malic");
    assert_eq!(malic.standing, Standing::NotMet);
    assert_eq!(malic.vessel, cellar.state.vessels.find("B1"));
}

#[test]
fn what_a_move_changes_is_tested_anew_where_the_wine_lies() {
    let cellar =
        cellar().given(tested("T", &json!({"oxygen_mg_l": 0.3, "malic_g_l": 0.1}))).given(moved("T", "E", 225 * LITRE));
    assert_eq!(check(&cellar, "R", "malic").standing, Standing::Met);
    let oxygen = check(&cellar, "R", "oxygen");
    assert_eq!((oxygen.standing, oxygen.vessel.is_some()), (Standing::NotTested, true));
}

#[test]
fn a_fault_or_a_hold_opens_the_list() {
    let tasted = |marks: &[&str]| json!({"kind": "tasted", "vessel": "V", "marks": marks});
    assert_eq!(standing(&cellar(), "taste"), Standing::NotTested);
    assert_eq!(standing(&cellar().given(tasted(&["plum"])), "taste"), Standing::Met);
    let faulty = cellar().given(tasted(&["plum", "mousy"]));
    assert_eq!(standing(&faulty, "taste"), Standing::NotMet);
    assert_eq!(standing(&cellar(), "holds"), Standing::Met);
    let held = cellar().given(json!({"kind": "held", "vessel": "V", "why": "reduced"}));
    assert_eq!(
        (standing(&held, "holds"), check(&held, "W", "holds").words.as_deref()),
        (Standing::NotMet, Some("reduced"))
    );
}

#[test]
fn what_no_test_answers_is_ticked_and_the_last_word_counts() {
    let cellar = cellar().given(ticked("Heat", true));
    assert_eq!(standing(&cellar, "heat"), Standing::Met);
    let cellar = cellar.given(ticked("heat", false));
    assert_eq!(standing(&cellar, "heat"), Standing::NotMet);
    let cellar = cellar.given(waived("heat"));
    let heat = check(&cellar, "W", "heat");
    assert_eq!((heat.standing, heat.words.as_deref()), (Standing::Waived, Some("sold as it is")));
    assert!(heat.said.is_some());
}

#[test]
fn what_was_found_is_not_ticked_away_but_waived() {
    let cellar = cellar().given(tested("V", &json!({"turbidity_ntu": 5.0})));
    cellar.clone().when(ticked("turbidity", true)).then_a_slip("'turbidity' cannot be ticked as met: 5 NTU was found.");
    assert_eq!(standing(&cellar.clone().loaded(ticked("turbidity", true)), "turbidity"), Standing::NotMet);
    assert_eq!(standing(&cellar.given(waived("turbidity")), "turbidity"), Standing::Waived);
}

#[test]
fn a_later_word_that_it_is_not_met_goes_before_a_good_test() {
    let cellar = cellar().given(tested("V", &json!({"turbidity_ntu": 0.5}))).given(ticked("turbidity", false));
    assert_eq!(standing(&cellar, "turbidity"), Standing::NotMet);
    let cellar = cellar.given(tested("V", &json!({"turbidity_ntu": 0.5})));
    assert_eq!(standing(&cellar, "turbidity"), Standing::Met);
}

#[test]
fn the_house_adds_items_and_says_what_is_required() {
    let cellar = cellar()
        .given(json!({"kind": "check_declared", "item": "filterability", "required": true, "text": "index below 20"}))
        .given(json!({"kind": "check_declared", "item": "Malic", "required": false}));
    let own = check(&cellar, "W", "filterability");
    assert_eq!((own.standing, own.required, own.asks.as_str()), (Standing::NotTested, true, "index below 20"));
    assert!(!check(&cellar, "W", "malic").required);
    assert_eq!(standing(&cellar.given(ticked("filterability", true)), "filterability"), Standing::Met);
}

/// The lot W looked at in the tank V, but for its dry goods.
fn looked_at(cellar: Cellar) -> Cellar {
    let readings = json!({
        "va_g_l": 0.5, "sugar_g_l": 1.0, "malic_g_l": 0.1, "turbidity_ntu": 0.6, "oxygen_mg_l": 0.4, "ph": 3.3,
        "free_so2_mg_l": 30.0, "total_so2_mg_l": 100.0, "alcohol_pct": 13.1,
    });
    let mut cellar = cellar
        .given(tested("V", &readings))
        .given(json!({"kind": "tasted", "vessel": "V", "score": 15.0}))
        .given(json!({"kind": "checked", "lot": "W", "item": "alcohol", "met": true, "value": 13.0}));
    for item in ["heat", "cold", "claims", "label"] {
        cellar = cellar.given(ticked(item, true));
    }
    cellar
}

#[test]
fn a_lot_is_ready_when_no_required_item_is_open() {
    let cellar = looked_at(cellar());
    let lot = cellar.state.lots.find("W").unwrap();
    let vessel = cellar.state.vessels.find("V").unwrap();
    let refusal = cellar.state.not_ready_to_bottle(vessel).unwrap().to_string();
    assert!(
        refusal.starts_with("W is not to be bottled yet: 1 required item is open: dry goods (not tested)."),
        "{refusal}"
    );
    let sentence = |cellar: &Cellar| cellar.state.bottling_verdict(lot, &cellar.state.checklist(lot));
    assert_eq!(sentence(&cellar), "W is not to be bottled yet: 1 required item is open.");
    let warns = cellar.clone().given(json!({"kind": "practice_set", "checklist": "warns"}));
    assert_eq!(sentence(&warns), "W may be bottled, though 1 required item is open: this house's list only warns.");
    let cellar = cellar.given(waived("dry_goods"));
    assert_eq!(cellar.state.open_checks(lot), Vec::new());
    assert_eq!(sentence(&cellar), "W may be bottled: no required item is open.");
}

/// A house's own figure is told as such; where it has said none it is that of common practice.
#[test]
fn a_house_has_its_own_figures() {
    let own = json!({"kind": "practice_set", "malic_done_g_l": 0.1, "most_oxygen_mg_l": 0.6, "most_turbidity_ntu": 0.5, "dry_g_l": 1.0});
    let rules = |cellar: &Cellar| {
        let lot = cellar.state.lots.find("W").unwrap();
        cellar.state.checklist(lot).into_iter().map(|check| check.rule).collect::<Vec<_>>().join("; ")
    };
    let (before, after) = (cellar(), cellar().given(own));
    for (common, house) in [
        ("at most 0.3 g/L malic acid (common practice)", "at most 0.1 g/L malic acid (this house)"),
        ("at most 1 mg/L (common practice)", "at most 0.6 mg/L (this house)"),
        ("NTU (common practice, unverified)", "at most 0.5 NTU (this house)"),
        ("at most 2 g/L sugar (common practice", "at most 1 g/L sugar (this house"),
    ] {
        assert!(rules(&before).contains(common) && !rules(&before).contains(house), "{}", rules(&before));
        assert!(rules(&after).contains(house) && !rules(&after).contains(common), "{}", rules(&after));
    }
}

/// What is kept of a lot for topping, held and never looked at, is no matter of a run from its tank.
#[test]
fn a_run_answers_for_what_is_at_the_filler() {
    let keg = json!({"kind": "vessel_registered", "vessel": "K", "type": "keg", "capacity_ul": 50 * LITRE});
    let kept = json!({"kind": "wine_received", "vessel": "K", "lot": "W",
        "parts": [{"origin": "block-w", "volume_ul": 20 * LITRE}]});
    let held = json!({"kind": "held", "vessel": "K", "why": "kept for topping"});
    let cellar = looked_at(cellar().given(keg).given(kept).given(held)).given(waived("dry_goods"));
    let lot = cellar.state.lots.find("W").unwrap();
    let open: Vec<String> = cellar.state.open_checks(lot).iter().map(|check| check.item.to_string()).collect();
    assert!(open.contains(&"holds".to_owned()) && open.contains(&"turbidity".to_owned()), "{open:?}");
    let verdict = cellar.state.bottling_verdict(lot, &cellar.state.checklist(lot));
    assert_eq!(verdict, "W may be bottled from V, where no required item is open.");
    let run = |vessel: &str| json!({"kind": "bottled", "vessel": vessel, "run": "W26", "bottles": 10, "bottle_ul": 750_000, "lot_code": "L1"});
    cellar.clone().when(run("V")).then_taken();
    cellar.when(run("K")).then_counted_in_doubt("K is held");
}

#[test]
fn an_item_that_nobody_knows_is_refused() {
    cellar()
        .when(ticked("labels proofread", true))
        .then_has_no_effect("No item of the checklist is called 'labels proofread'");
    let declared = json!({"kind": "check_declared", "item": "1, 2", "required": true});
    cellar().when(declared).then_has_no_effect("'1, 2' cannot be an item");
}

/// A list holds a run that is entered here whether anybody looked at it or not. A run of the log is never held: logs that know no
/// lists fold without a word, and against a list that somebody looked at it is kept as a discrepancy.
#[test]
fn a_run_waits_for_the_list_of_its_lot() {
    let run =
        json!({"kind": "bottled", "vessel": "V", "run": "W26", "bottles": 10, "bottle_ul": 750_000, "lot_code": "L1"});
    cellar().when(run.clone()).then_a_slip("W is not to be bottled yet: ");
    cellar().given(ticked("heat", true)).when(run.clone()).then_counted_in_doubt("cold");
    let warned = cellar().given(json!({"kind": "practice_set", "checklist": "warns"})).given(run.clone());
    assert_eq!(warned.discrepancies(), []);
    let kept = cellar().given(ticked("heat", true)).when(run.clone()).then_refused("cold");
    let kept = kept.given(json!({"kind": "lost", "vessel": "T", "volume_ul": LITRE, "cause": "spill"}));
    let lot = kept.state.lots.find("W").unwrap();
    let open: Vec<String> = kept.state.open_checks(lot).iter().map(|check| check.item.to_string()).collect();
    open.iter().fold(kept, |cellar, item| cellar.given(waived(item))).given(run);
}

/// What the house declares is kept for every lot.
#[test]
fn an_item_of_the_house_keeps_every_list() {
    let run =
        json!({"kind": "bottled", "vessel": "T", "run": "R26", "bottles": 10, "bottle_ul": 750_000, "lot_code": "L1"});
    let house = cellar().given(json!({"kind": "check_declared", "item": "filterability", "required": true}));
    house.when(run).then_refused("filterability");
}

/// The white lot W with a red tank beside it, an empty tank X, and every item ticked or waived.
fn said_of_all() -> Cellar {
    let mut cellar =
        cellar().given(tank_of("X", 3_000)).given(json!({"kind": "check_declared", "item": "filterability",
        "required": true}));
    for item in ["heat", "cold", "claims", "label", "dry goods", "filterability", "oxygen"] {
        cellar = cellar.given(ticked(item, true));
    }
    ["taste", "dry", "turbidity"].into_iter().fold(cellar, |cellar, item| cellar.given(waived(item)))
}

/// The items of which nothing that was said counts any more.
fn lapsed(cellar: &Cellar) -> Vec<String> {
    let lot = cellar.state.lots.find("W").unwrap();
    let lapsed = cellar.state.checklist(lot).into_iter().filter(|check| {
        let words = check.words.as_deref().unwrap_or_default();
        words.contains(" lapsed: ") && check.standing == Standing::NotTested && check.said.is_none()
    });
    lapsed.map(|check| check.item.to_string()).collect()
}

const OF_THE_WINE: [&str; 8] = ["taste", "dry", "heat", "cold", "filterability", "turbidity", "oxygen", "claims"];

fn moved_for(purpose: &str) -> Value {
    let mut fact = moved("V", "X", 100 * LITRE);
    fact["purpose"] = json!(purpose);
    fact
}

#[test]
fn what_was_said_of_a_wine_lapses_with_an_addition_a_filtration_and_other_wine() {
    let received = json!({"kind": "wine_received", "vessel": "V", "lot": "W",
        "parts": [{"origin": "block-w", "volume_ul": LITRE}]});
    let bentonite = json!({"kind": "treated", "vessel": "V", "material": "bentonite", "amount_ug": 100_000_000});
    assert_eq!(lapsed(&said_of_all()), [""; 0]);
    for (change, word) in [(received, "blended"), (bentonite, "fined"), (moved_for("filtration"), "filtered")] {
        let after = said_of_all().given(change);
        assert_eq!(lapsed(&after), OF_THE_WINE, "{word}");
        let heat = check(&after, "W", "heat").words.unwrap();
        assert!(heat.starts_with(&format!("tick lapsed: {word} ")), "{heat}");
        assert!(check(&after, "W", "dry").words.unwrap().starts_with("waiver lapsed: "));
        assert_eq!([standing(&after, "label"), standing(&after, "dry goods")], [Standing::Met; 2]);
        let again = after.given(ticked("heat", true));
        assert_eq!(standing(&again, "heat"), Standing::Met, "a new word counts");
    }
}

#[test]
fn a_move_within_the_lot_ends_only_what_air_changes() {
    let after = said_of_all().given(moved_for("racking"));
    assert_eq!(lapsed(&after), ["turbidity", "oxygen"]);
}

/// A topping from the lot itself changes nothing, one from another lot is other wine.
#[test]
fn a_topping_from_another_lot_is_other_wine() {
    let list = |from: &str| {
        let said = cellar().given(json!({"kind": "checked", "lot": "R", "item": "heat", "met": true}));
        let after = said.given(json!({"kind": "lost", "vessel": "B1", "volume_ul": 2 * LITRE, "cause": "spill"}));
        check(&after.given(topped_in_part("B1", from, LITRE)), "R", "heat").standing
    };
    assert_eq!([list("T"), list("U")], [Standing::Met, Standing::NotTested]);
}

fn added(material: &str) -> Value {
    json!({"kind": "treated", "vessel": "V", "material": material, "amount_ug": 1_000_000})
}

/// All that tests answer, and how each stands after something that happened to the wine.
fn tested_then(change: &Value) -> Vec<String> {
    let readings = json!({
        "va_g_l": 0.5, "sugar_g_l": 1.0, "malic_g_l": 0.1, "turbidity_ntu": 0.6, "oxygen_mg_l": 0.4, "ph": 3.3,
        "free_so2_mg_l": 30.0, "total_so2_mg_l": 100.0, "alcohol_pct": 13.1,
    });
    let label = json!({"kind": "checked", "lot": "W", "item": "alcohol", "met": true, "value": 13.0});
    let cellar = cellar().given(label).given(tested("V", &readings)).given(change.clone());
    let lot = cellar.state.lots.find("W").unwrap();
    let asked = cellar.state.checklist(lot).into_iter().filter(|check| {
        let again = check.words.as_deref().is_some_and(|words| words.starts_with("test again: "));
        assert_eq!(again, again && check.standing == Standing::NotTested, "{check:?}");
        again
    });
    asked.map(|check| check.item.to_string()).collect()
}

#[test]
fn a_test_answers_for_the_wine_as_it_was() {
    let all =
        ["volatile acidity", "dry", "malic", "turbidity", "oxygen", "molecular SO2", "total SO2", "alcohol"].to_vec();
    let received = json!({"kind": "wine_received", "vessel": "V", "lot": "W",
        "parts": [{"origin": "block-w", "volume_ul": LITRE}]});
    assert_eq!(tested_then(&received), all, "other wine");
    assert_eq!(tested_then(&added("tartaric acid")), all, "what may change all");
    assert_eq!(tested_then(&added("bentonite")), ["turbidity", "oxygen", "molecular SO2"]);
    assert_eq!(tested_then(&added("so2")), ["oxygen", "molecular SO2"]);
    let slurry = json!({"kind": "treated", "vessel": "V", "material": "bentonite", "amount_ug": 1_000_000,
        "solution_ul": 100 * LITRE});
    assert_eq!(tested_then(&slurry), all, "a slurry of much water");
    assert_eq!(tested_then(&json!({"kind": "sampled", "vessel": "V", "volume_ul": 100_000})), [""; 0]);
    assert_eq!(tested_then(&json!({"kind": "treated", "vessel": "T", "material": "so2", "amount_ug": 1_000})), [""; 0]);
}

#[test]
fn what_was_found_before_is_told_and_asked_again() {
    let cellar = cellar().given(tested("V", &json!({"turbidity_ntu": 5.0}))).given(added("bentonite"));
    let turbidity = check(&cellar, "W", "turbidity");
    let words = turbidity.words.unwrap();
    assert!(words.starts_with("test again: fined ") && words.contains(", tested "), "{words}");
    assert_eq!((turbidity.standing, turbidity.vessel), (Standing::NotTested, cellar.state.vessels.find("V")));
    let bright = cellar.given(tested("V", &json!({"turbidity_ntu": 0.5})));
    assert_eq!(standing(&bright, "turbidity"), Standing::Met);
}

/// What happened to a wine goes with it into the next tank, where only tests of its lot tell of it.
#[test]
fn what_happened_to_a_wine_moves_with_it() {
    let malic = |changes: &[Value]| {
        let cellar = cellar().given(tank_of("X", 3_000)).given(tested("V", &json!({"malic_g_l": 0.1})));
        let cellar = changes.iter().fold(cellar, |cellar, change| cellar.given(change.clone()));
        standing(&cellar, "malic")
    };
    assert_eq!(malic(&[moved_for("racking")]), Standing::Met);
    assert_eq!(malic(&[added("tartaric acid"), moved_for("racking")]), Standing::NotTested);
}

/// A laboratory tells of the wine of the day on which the sample was drawn.
#[test]
fn a_sample_is_of_the_wine_as_it_was_drawn() {
    let drawn = json!({"kind": "sampled", "vessel": "V", "volume_ul": 100_000, "sample": "S1"});
    let result = json!({"kind": "tested", "sample": "S1", "malic_g_l": 0.1, "turbidity_ntu": 0.5});
    let cellar = cellar().given(drawn);
    assert_eq!(standing(&cellar.clone().given(result.clone()), "turbidity"), Standing::Met);
    let late = cellar.given(added("bentonite")).given(result);
    let turbidity = check(&late, "W", "turbidity");
    assert!(turbidity.words.unwrap().contains(", drawn "));
    assert_eq!((turbidity.standing, standing(&late, "malic")), (Standing::NotTested, Standing::Met));
}

/// The label did not change with the wine: tests answer to its figure anew.
#[test]
fn the_alcohol_on_the_label_outlasts_the_wine() {
    let label = json!({"kind": "checked", "lot": "W", "item": "alcohol", "met": true, "value": 13.0});
    let tested = tested("V", &json!({"alcohol_pct": 13.1}));
    let cellar = cellar().given(tank_of("X", 3_000)).given(label).given(tested).given(moved_for("filtration"));
    assert_eq!(standing(&cellar, "alcohol"), Standing::Met);
}

/// What may happen to the lot W in tank V: the fact, and whether a tick of the wine and one of its air stand afterwards as
/// they stood before.
fn happening(number: usize) -> (Value, bool, bool) {
    match number {
        0 => (json!({"kind": "sampled", "vessel": "V", "volume_ul": 100_000}), true, true),
        1 => (json!({"kind": "lost", "vessel": "V", "volume_ul": 100_000, "cause": "spill"}), true, true),
        2 => (json!({"kind": "treated", "vessel": "T", "material": "so2", "amount_ug": 1_000_000}), true, true),
        3 => (json!({"kind": "tasted", "vessel": "V", "marks": ["plum"]}), true, true),
        4 => (moved("V", "X", LITRE), true, false),
        5 => (json!({"kind": "treated", "vessel": "V", "material": "so2", "amount_ug": 1_000_000}), false, false),
        _ => (
            json!({"kind": "wine_received", "vessel": "V", "lot": "W",
            "parts": [{"origin": "block-w", "volume_ul": LITRE}]}),
            false,
            false,
        ),
    }
}

proptest! {
    /// A tick counts exactly until the first thing that makes another wine of it.
    #[test]
    fn a_tick_counts_until_the_wine_is_another(numbers in prop::collection::vec(0_usize..7, 0..8)) {
        let ticked = cellar().given(tank_of("X", 3_000)).given(ticked("heat", true)).given(ticked("oxygen", true));
        let (after, wine, air) = numbers.into_iter().fold((ticked, true, true), |(cellar, wine, air), number| {
            let (fact, same_wine, same_air) = happening(number);
            (cellar.given(fact), wine && same_wine, air && same_air)
        });
        let counts = |item| standing(&after, item) == Standing::Met;
        prop_assert_eq!([counts("heat"), counts("oxygen")], [wine, air]);
    }
}

/// Heat in white and rosé, malolactic fermentation in reds and where it was begun: common practice. That a wine is meant sweet the house
/// says of its lot.
#[test]
fn what_a_run_waits_for_hangs_on_what_the_wine_means_to_be() {
    let required = |cellar: &Cellar, lot: &str, item: &str| check(cellar, lot, item).required;
    let cellar = cellar();
    assert_eq!(["heat", "malic", "dry"].map(|item| required(&cellar, "R", item)), [false, true, true]);
    assert_eq!(["heat", "malic", "dry"].map(|item| required(&cellar, "W", item)), [true, false, true]);
    for item in ["filterability", "microbiology", "CO2", "allergens", "ingredients"] {
        assert!(!required(&cellar, "W", item), "{item}");
    }
    let begun = json!({"kind": "treated", "vessel": "V", "material": "malolactic bacteria", "amount_ug": 1_000_000});
    assert!(required(
        &cellar.clone().given(json!({"kind": "stage_set", "lot": "W", "stage": "malolactic"})),
        "W",
        "malic"
    ));
    assert!(required(&cellar.clone().given(begun), "W", "malic"));
    let sweet = cellar.given(json!({"kind": "check_declared", "item": "dry", "required": false, "lot": "W"}));
    assert_eq!(["W", "R"].map(|lot| required(&sweet, lot, "dry")), [false, true]);
    let house =
        sweet.given(json!({"kind": "check_declared", "item": "dry", "required": true, "text": "no sugar left"}));
    assert_eq!(["W", "R"].map(|lot| required(&house, lot, "dry")), [false, true], "the lot's own word goes first");
    assert_eq!(check(&house, "R", "dry").asks, "no sugar left");
    house
        .when(json!({"kind": "check_declared", "item": "dry", "required": true, "lot": "Q"}))
        .then_refused("No lot is called 'Q'");
}

/// EU 1169/2011 Annex II (sulfites above 10 mg/L, egg, milk), 27 CFR 4.32(e): from 10 ppm on, 4.32a: voluntary, fining agents count.
#[test]
fn allergens_and_ingredients_are_of_what_was_really_given() {
    let words = |cellar: &Cellar, item: &str| check(cellar, "W", item).words.unwrap_or_default();
    let give = |vessel: &str, material: &str, ug: u64| json!({"kind": "treated", "vessel": vessel, "material": material, "amount_ug": ug});
    let bare = cellar();
    assert_eq!(words(&bare, "allergens"), "sulfites: total SO2 not tested");
    for (total, standing, words) in
        [(9.9, Standing::Met, "none by the book"), (10.0, Standing::NotTested, "may have to name sulfites (10 mg/L)")]
    {
        let cellar = bare.clone().given(tested("V", &json!({"total_so2_mg_l": total})));
        let found = check(&cellar, "W", "allergens");
        assert_eq!((found.standing, found.words.as_deref()), (standing, Some(words)));
    }
    let given = bare
        .given(tested("V", &json!({"total_so2_mg_l": 40.0})))
        .given(give("V", "casein", 20_000_000))
        .given(give("V", "tartaric acid", 50_000_000))
        .given(give("V", "KMBS", 5_000_000));
    assert!(words(&given, "allergens").starts_with("may have to name sulfites (4"), "{}", words(&given, "allergens"));
    assert!(words(&given, "allergens").ends_with("mg/L), milk (casein)"), "{}", words(&given, "allergens"));
    assert_eq!(words(&given, "ingredients"), "grapes, potassium metabisulfite, tartaric acid; fined with casein");
    let ticked = given.given(ticked("allergens", true));
    assert_eq!(standing(&ticked, "allergens"), Standing::Met);
    let fined = ticked.given(give("V", "isinglass", 1_000_000));
    assert_eq!(standing(&fined, "allergens"), Standing::NotTested, "a tick of the wine as it was");
    assert!(words(&fined, "allergens").contains("fish (isinglass), if any is named by 27 CFR 4.32a"));
}

/// 203/2012: a dry white at most 150 mg/L; 7 CFR 205.301(f)(5). The item is optional, and stands on the lists of organic wine only.
#[test]
fn an_organic_wine_has_an_item_of_its_own() {
    let lists = |cellar: &Cellar| {
        let lot = cellar.state.lots.find("W").unwrap();
        cellar.state.checklist(lot).iter().any(|check| check.item.to_string() == "organic")
    };
    let cellar = cellar();
    assert!(!lists(&cellar));
    let organic = json!({"kind": "origin_declared", "origin": "green", "block": "Green", "variety": "Chenin", "vintage": 2025,
        "appellation": "Hillside", "colour": "white", "organic": true});
    let green = cellar
        .given(organic)
        .given(json!({"kind": "lot_opened", "lot": "G", "colour": "white"}))
        .given(tank_of("G1", 1_000))
        .given(json!({"kind": "wine_received", "vessel": "G1", "lot": "G",
            "parts": [{"origin": "green", "volume_ul": 500 * LITRE}]}));
    let item = |cellar: &Cellar| {
        let check = check(cellar, "G", "organic");
        assert!(!check.required && check.rule.contains("all grapes are"), "{}", check.rule);
        (check.standing, check.words.unwrap_or_default())
    };
    assert_eq!(item(&green), (Standing::NotTested, "total SO2 not tested".to_owned()));
    let eu = green.given(json!({"kind": "practice_set", "rules": "eu"}));
    for (total, is) in [(150.0, Standing::Met), (150.1, Standing::NotMet)] {
        assert_eq!(item(&eu.clone().given(tested("G1", &json!({"total_so2_mg_l": total})))).0, is, "{total}");
    }
    let sulfured = eu
        .given(tested("G1", &json!({"total_so2_mg_l": 40.0})))
        .given(json!({"kind": "treated", "vessel": "G1", "material": "KMBS", "amount_ug": 5_000_000}));
    assert_eq!(item(&sulfured).0, Standing::Met);
    let us = sulfured.given(json!({"kind": "practice_set", "rules": "us"}));
    assert_eq!(item(&us), (Standing::NotMet, "US: potassium metabisulfite was added".to_owned()));
}

/// 27 CFR 4.10 (7), 4.21 (14), 26 USC 5041(b) (16, 21, 24): no tolerance goes across them; 4.36: 1.5 up to 14 %, 1.0 above.
#[test]
fn the_edges_of_alcohol_on_a_label() {
    let us = cellar().given(json!({"kind": "practice_set", "rules": "us"}));
    for (found, label, is) in [
        (6.9, 7.0, Standing::NotMet),
        (7.0, 7.0, Standing::Met),
        (13.9, 14.0, Standing::Met),
        (14.0, 14.1, Standing::NotMet),
        (14.1, 14.0, Standing::NotMet),
        (14.1, 15.1, Standing::Met),
        (16.0, 16.1, Standing::NotMet),
        (16.1, 16.2, Standing::Met),
        (21.0, 21.0, Standing::Met),
        (21.0, 21.1, Standing::NotMet),
        (24.0, 24.0, Standing::Met),
        (24.1, 24.0, Standing::NotMet),
    ] {
        let label_says = json!({"kind": "checked", "lot": "W", "item": "alcohol", "met": true, "value": label});
        let cellar = us.clone().given(tested("V", &json!({"alcohol_pct": found}))).given(label_says);
        let check = check(&cellar, "W", "alcohol");
        assert_eq!(check.standing, is, "{found} found, {label} on the label: {:?}", check.words);
        assert_eq!(check.words.unwrap().contains("CFR"), is == Standing::NotMet, "why it is not");
    }
}
