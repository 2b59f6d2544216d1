//! What a wine could claim on its label, and what an act would cost a lot.

use barrelwalk::cellar::core::fact::What;
use barrelwalk::cellar::core::wine::Wine;
use barrelwalk::cellar::views::books::claims::{Broken, Standing};
use barrelwalk::reckon::label_share::{Claim, Rules};
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, Told, moved, tank_of, topped};

fn origin(label: &str, variety: &str, vintage: u16, appellation: &str, rest: Value) -> Value {
    let mut fact = json!({
        "kind": "origin_declared", "origin": label, "block": label, "variety": variety, "vintage": vintage,
        "appellation": appellation, "colour": "red",
    });
    let Some((fields, Value::Object(rest))) = fact.as_object_mut().map(|fields| (fields, rest)) else {
        panic!("a fact is an object")
    };
    fields.extend(rest);
    fact
}

fn received(vessel: &str, lot: &str, parts: &[(&str, u64)]) -> Value {
    let parts: Vec<Value> =
        parts.iter().map(|(origin, litres)| json!({"origin": origin, "volume_ul": litres * LITRE})).collect();
    json!({"kind": "wine_received", "vessel": vessel, "lot": lot, "parts": parts})
}

/// Tank `A` of 1,000 L with the parts named, as lot `L`, and tank `Z` with 100 L of Syrah 2025 from elsewhere as lot `M`.
fn cellar(parts: &[(&str, u64)]) -> Cellar {
    Cellar::furnished()
        .given(origin("home", "Merlot", 2026, "Varrow Valley", json!({"estate": true, "organic": true})))
        .given(origin("old", "Merlot", 2025, "Varrow Valley", json!({"estate": true, "organic": true})))
        .given(origin("syrah", "Syrah", 2026, "Varrow Valley", json!({"estate": true, "organic": false})))
        .given(origin("away", "Syrah", 2025, "Other Coast", json!({"estate": false, "organic": false})))
        .given(json!({"kind": "lot_opened", "lot": "L", "colour": "red"}))
        .given(json!({"kind": "lot_opened", "lot": "M", "colour": "red"}))
        .given(tank_of("A", 1_000))
        .given(tank_of("Z", 1_000))
        .given(received("A", "L", parts))
        .given(received("Z", "M", &[("away", 100)]))
}

fn claims(cellar: &Cellar, rules: Rules) -> Vec<Standing> {
    cellar.state.claims(&cellar.vessel("A").wine, Some(rules))
}

/// Claim, least share, held.
fn told(cellar: &Cellar, rules: Rules, claim: Claim) -> Vec<(u64, bool)> {
    let its = claims(cellar, rules).into_iter().filter(|its| its.least.claim == claim);
    its.map(|its| (its.least.percent, its.held())).collect()
}

fn broken(cellar: &Cellar, facts: &[Value], rules: Option<Rules>) -> Vec<Broken> {
    let whats: Vec<What> = facts.iter().cloned().map(Told::what).collect();
    cellar.state.broken_by(&whats, cellar.now(), rules)
}

/// 27 CFR 4.23: of a variety 75 % that grew in the appellation; EU 2019/33 art. 50 (607/2009 art. 62): 85 % wherever it grew.
#[test]
fn one_variety() {
    let three_quarters = cellar(&[("home", 75), ("syrah", 25)]);
    assert_eq!(told(&three_quarters, Rules::Us, Claim::Variety), [(75, true)]);
    assert_eq!(told(&three_quarters, Rules::Eu, Claim::Variety), [(85, false)]);
    assert_eq!(told(&cellar(&[("home", 85), ("syrah", 15)]), Rules::Eu, Claim::Variety), [(85, true)]);
    // 70 of 100 L are Syrah of the appellation, 20 more are Syrah from elsewhere: these do not help in the US.
    let from_elsewhere = cellar(&[("syrah", 70), ("away", 20), ("home", 10)]);
    assert_eq!(told(&from_elsewhere, Rules::Us, Claim::Variety), [(75, false)]);
    assert_eq!(told(&from_elsewhere, Rules::Eu, Claim::Variety), [(85, true)]);
}

/// 27 CFR 4.23 and EU 2019/33 art. 50: several varieties are all of them named.
#[test]
fn several_varieties() {
    let blend = cellar(&[("home", 60), ("syrah", 40)]);
    for rules in [Rules::Us, Rules::Eu] {
        assert_eq!(told(&blend, rules, Claim::Varieties), [(100, true)]);
    }
    let mostly = cellar(&[("home", 80), ("syrah", 20)]);
    assert_eq!(told(&mostly, Rules::Us, Claim::Varieties), [], "one can be claimed alone");
    assert_eq!(told(&mostly, Rules::Eu, Claim::Varieties), [(100, true)]);
}

/// 27 CFR 4.27: 85 %, with a viticultural area 95 %; EU 2019/33 art. 49 (607/2009 art. 61): 85 %.
#[test]
fn the_vintage() {
    let ninety = cellar(&[("home", 90), ("old", 10)]);
    assert_eq!(told(&ninety, Rules::Us, Claim::Vintage), [(85, true), (95, false)]);
    assert_eq!(told(&ninety, Rules::Eu, Claim::Vintage), [(85, true)]);
    let just_short = cellar(&[("home", 8_499), ("old", 1_501)].map(|(origin, part)| (origin, part / 20)));
    assert_eq!(told(&just_short, Rules::Eu, Claim::Vintage), [(85, false)]);
}

/// 27 CFR 4.25: 75 % of a state or county, 85 % of a viticultural area; EU 1308/2013 art. 93: 85 % and all.
#[test]
fn the_appellation() {
    let eighty = cellar(&[("home", 80), ("away", 20)]);
    assert_eq!(told(&eighty, Rules::Us, Claim::Appellation), [(75, true), (85, false)]);
    assert_eq!(told(&eighty, Rules::Eu, Claim::Appellation), [(85, false), (100, false)]);
    assert_eq!(told(&cellar(&[("home", 99)]), Rules::Eu, Claim::Appellation), [(85, true), (100, true)]);
}

/// 27 CFR 4.26 and EU 2019/33 art. 54: all of it; what no fact says of any origin makes no claim.
#[test]
fn the_estate_and_organic_grapes() {
    let all = cellar(&[("home", 90), ("old", 10)]);
    let all_but_a_tenth = cellar(&[("home", 90), ("away", 10)]);
    for rules in [Rules::Us, Rules::Eu] {
        for claim in [Claim::Estate, Claim::Organic] {
            assert_eq!(told(&all, rules, claim), [(100, true)]);
            assert_eq!(told(&all_but_a_tenth, rules, claim), [(100, false)]);
        }
    }
    let silent = Cellar::furnished();
    let claims = silent.state.claims(&silent.vessel("T").wine, None);
    assert!(claims.iter().all(|its| ![Claim::Estate, Claim::Organic].contains(&its.least.claim)));
    let owned = cellar(&[("home", 1)]).given(origin(
        "guest",
        "Merlot",
        2026,
        "Varrow Valley",
        json!({"estate": true, "owner": "a neighbour"}),
    ));
    let owned = owned.given(received("A", "L", &[("guest", 1)]));
    assert_eq!(told(&owned, Rules::Us, Claim::Estate), [(100, false)], "another's estate is not the house's");
}

/// Wine without an origin is of no vintage and no place; a hundredth of it ends no claim of all.
#[test]
fn wine_without_an_origin_counts_against_every_claim() {
    let cellar = cellar(&[("home", 85), ("old", 15)]);
    let claim = |water: u64, claim: Claim| {
        let mut wine: Wine = cellar.vessel("A").wine.clone();
        wine.put(None, Volume::from_ml(water));
        let claims = cellar.state.claims(&wine, Some(Rules::Eu));
        claims.iter().filter(|its| its.least.claim == claim).all(Standing::held)
    };
    assert!(claim(0, Claim::Vintage) && claim(0, Claim::Estate));
    assert!(!claim(1, Claim::Vintage));
    assert!(claim(1_000, Claim::Estate), "1 L in 101 L is the water of a treatment");
    assert!(!claim(2_000, Claim::Estate));
}

#[test]
fn nothing_claims_nothing() {
    let cellar = cellar(&[("home", 1)]);
    assert_eq!(cellar.state.claims(&Wine::default(), None), []);
}

#[test]
fn the_margin_is_told_both_ways() {
    let cellar = cellar(&[("home", 90), ("old", 10)]);
    let vintage: Vec<String> = claims(&cellar, Rules::Us)
        .iter()
        .filter(|its| its.least.claim == Claim::Vintage)
        .map(Standing::sentence)
        .collect();
    assert_eq!(
        vintage,
        [
            "vintage 2026: held; 5.8 L of other wine on top, or 5.5 L topped in place of what evaporates, more and it \
             may not be claimed (US 27 CFR 4.27, state or county).",
            "vintage 2026: not held; 100.0 L of it still to come in before it may be claimed (US 27 CFR 4.27, \
             viticultural area).",
        ]
    );
}

#[test]
fn an_act_that_would_break_a_claim_is_found_and_changes_nothing() {
    let cellar = cellar(&[("home", 86), ("old", 14)]);
    let before = cellar.state.clone();
    // 86 of 101 L are still 85.1 %, of 102 L 84.3 %.
    let into_a = |litres: u64| {
        let found = broken(&cellar, &[moved("Z", "A", litres * LITRE)], Some(Rules::Eu));
        found.into_iter().find(|its| its.before.least.claim == Claim::Vintage)
    };
    assert_eq!(into_a(1), None);
    let Some(lost) = into_a(2) else { panic!("the vintage is lost") };
    assert_eq!(
        (lost.lot.as_str(), lost.words().as_str()),
        ("L", "vintage 2026 (EU 2019/33 art. 49: 85 %, then 84.31 %)")
    );
    assert_eq!(cellar.state, before);
}

#[test]
fn several_acts_are_one() {
    let cellar = cellar(&[("home", 86), ("old", 14)]);
    let vintage = |facts: &[Value]| {
        broken(&cellar, facts, Some(Rules::Eu)).iter().any(|its| its.before.least.claim == Claim::Vintage)
    };
    let one = moved("Z", "A", LITRE);
    assert!(!vintage(std::slice::from_ref(&one)));
    assert!(vintage(&[one.clone(), one]));
}

#[test]
fn a_lot_is_judged_whole_and_by_what_it_was() {
    // 900 L of B1's lot lie elsewhere: a topping of other wine moves the lot by less than the barrel.
    let cellar = Cellar::furnished()
        .given(origin("old", "Syrah", 2020, "Hillside", json!({})))
        .given(json!({"kind": "lot_opened", "lot": "O", "colour": "red"}))
        .given(tank_of("Y", 100))
        .given(received("Y", "O", &[("old", 100)]));
    let vintage =
        |facts: &[Value]| broken(&cellar, facts, None).iter().any(|its| its.before.least.claim == Claim::Vintage);
    assert!(!vintage(&[topped("B1", "Y", 50 * LITRE)]), "50 L of 2,000 are 2.5 %");
    // The lot that wine is received into holds 100 L of 2020, wherever it comes into.
    assert!(vintage(&[received("E", "O", &[("block-1", 225)])]));
    // The tank of its own lot never costs a claim.
    assert_eq!(broken(&cellar, &[topped("B1", "T", LITRE)], None), []);
    // What cannot happen costs nothing.
    assert_eq!(broken(&cellar, &[topped("E", "Y", LITRE)], None), []);
    assert_eq!(broken(&Cellar::new(), &[topped("E", "Y", LITRE)], None), []);
}

#[test]
fn what_two_states_differ_in_is_found_by_label() {
    let before = cellar(&[("home", 86), ("old", 14)]);
    let after = before.clone().given(moved("Z", "A", 2 * LITRE));
    let words = |lost: Vec<Broken>| lost.iter().map(|its| its.before.what()).collect::<Vec<_>>();
    assert!(words(before.state.lost_until(&after.state, Some(Rules::Eu))).contains(&"vintage 2026".to_owned()));
    assert_eq!(words(after.state.lost_until(&before.state, None)), Vec::<String>::new());
    let emptied = before.clone().given(json!({
        "kind": "lost", "vessel": "A", "volume_ul": 100 * LITRE, "cause": "other"}));
    assert_eq!(before.state.lost_until(&emptied.state, None), [], "a lot that is gone loses no claim");
}

/// What is asked of organic wine before some facts.
fn asked_of_organic(cellar: &Cellar, facts: &[Value]) -> Vec<String> {
    let whats: Vec<What> = facts.iter().cloned().map(Told::what).collect();
    let asked = cellar.state.questions(&whats, cellar.now());
    asked.iter().map(ToString::to_string).filter(|it| it.contains("organic")).collect()
}

fn sentences(cellar: &Cellar) -> String {
    let claims = cellar.state.claims(&cellar.vessel("A").wine, None);
    claims.iter().map(Standing::sentence).collect::<Vec<_>>().join("\n")
}

/// 7 CFR 205.301(f)(5): sulfites added end "organic" in the United States, whatever they were given as. It is said before the dose, and
/// once.
#[test]
fn sulfur_dioxide_ends_organic_in_the_united_states_and_is_asked_about_before() {
    let cellar = cellar(&[("home", 100)]);
    let dose = [json!({"kind": "treated", "vessel": "A", "material": "KMBS", "amount_ug": 4_000_000})];
    let asked = asked_of_organic(&cellar, &dose);
    assert_eq!(asked.len(), 1, "{asked:?}");
    assert!(asked[0].starts_with("A is of organic grapes. potassium metabisulfite: in the United States"), "{asked:?}");
    assert!(asked[0].contains("at most \"made with organic grapes\", total SO2 at most 100 ppm"), "{asked:?}");
    let eu = cellar.clone().given(json!({"kind": "practice_set", "rules": "eu"}));
    assert_eq!(asked_of_organic(&eu, &dose), Vec::<String>::new());
    assert_eq!(told(&cellar, Rules::Us, Claim::Organic), [(100, true)]);
    let dosed = cellar.given(dose[0].clone());
    assert_eq!(told(&dosed, Rules::Us, Claim::Organic), [(100, false)]);
    assert_eq!(told(&dosed, Rules::Eu, Claim::Organic), [(100, true)]);
    assert_eq!(asked_of_organic(&dosed, &dose), Vec::<String>::new(), "what is ended ends no more");
    let words = sentences(&dosed);
    assert!(words.contains("organic by the US rules: all grapes are; SO2 was added: in the United States"), "{words}");
    assert!(words.contains("organic by the EU rules: all grapes are; total SO2 not tested"), "{words}");
    assert!(!words.contains("organic: held"), "{words}");
}

/// 203/2012 (now EU 2021/1165 Annex V): a dry red at most 100 mg/L, from 2 g/L of sugar 120; 7 CFR 205.605(b): 100 ppm.
#[test]
fn the_total_is_held_against_the_figures_of_organic_wine() {
    let tested = |mg_l: u64| json!({"kind": "tested", "vessel": "A", "total_so2_mg_l": mg_l});
    let within = cellar(&[("home", 100)]).given(tested(88));
    assert_eq!(told(&within, Rules::Eu, Claim::Organic), [(100, true)]);
    assert!(sentences(&within).contains("total SO2 88 mg/L, within the 100 mg/L of EU 2021/1165 Annex V"));
    // 3.65 g of a metabisulfite that gives 57.6 % are 2.1 g of sulfur dioxide, in 100 L 21 mg/L.
    let dose = json!({"kind": "treated", "vessel": "A", "material": "KMBS", "amount_ug": 3_650_000});
    let asked = asked_of_organic(&within, std::slice::from_ref(&dose));
    assert!(
        asked.iter().any(|it| it.contains("up to 109 mg/L, above the 100 mg/L of EU 2021/1165 Annex V")),
        "{asked:?}"
    );
    let above = within.given(dose);
    for rules in [Rules::Eu, Rules::Us] {
        assert_eq!(told(&above, rules, Claim::Organic), [(100, false)]);
    }
    assert!(sentences(&above).contains("total SO2 109 mg/L, above the 100 mg/L of EU 2021/1165 Annex V"));
    let sweeter = above.state.claims_with(&above.vessel("A").wine, Some(2.0), Some(Rules::Eu));
    assert!(sweeter.iter().any(|its| its.sentence().contains("total SO2 109 mg/L, within the 120 mg/L")));
}

/// 203/2012 lists bentonite and not PVPP.
#[test]
fn what_the_list_does_not_hold_is_named_before_it_is_given() {
    let cellar = cellar(&[("home", 100)]);
    let give = |material: &str, vessel: &str| json!({"kind": "treated", "vessel": vessel, "material": material, "amount_ug": 20_000_000});
    let asked = asked_of_organic(&cellar, &[give("polyvinylpolypyrrolidone", "A")]);
    assert!(asked.len() == 1 && asked[0].contains("PVPP is not on the list of EU 2021/1165 Annex V"), "{asked:?}");
    assert_eq!(asked_of_organic(&cellar, &[give("bentonite", "A")]), Vec::<String>::new());
    assert_eq!(asked_of_organic(&cellar, &[give("PVPP", "Z")]), Vec::<String>::new(), "no grapes of it are organic");
    let work = json!({"kind": "work_set", "work": "fine", "task": "treating", "material": "PVPP",
        "stops": [{"vessel": "A", "amount_ug": 20_000_000_u64}]});
    let asked = asked_of_organic(&cellar, std::slice::from_ref(&work));
    assert!(asked.len() == 1 && asked[0].starts_with("A is of organic grapes. PVPP"), "{asked:?}");
    let planned = cellar.given(work);
    assert_eq!(asked_of_organic(&planned, &[give("PVPP", "A")]), Vec::<String>::new(), "it was asked when it was set");
    let given = planned.given(give("PVPP", "A"));
    assert_eq!(told(&given, Rules::Eu, Claim::Organic), [(100, false)]);
    assert!(sentences(&given).contains("PVPP was added, not on the list of EU 2021/1165 Annex V"));
    assert!(sentences(&given).contains("no sulfites were added by the book (7 CFR 205.301); unverified whether"));
}

/// A topping or a blend with other grapes, or with what was sulfured, ends it: asked as other claims are.
#[test]
fn a_blend_that_would_end_it_is_asked_about() {
    let cellar = cellar(&[("home", 100)]);
    let foreign = [topped("A", "Z", LITRE)];
    let asked = asked_of_organic(&cellar, &foreign);
    assert!(
        asked.iter().any(|it| it.contains("L would lose the right to say organic") && it.contains("100 %, then")),
        "{asked:?}"
    );
    // Of the same grapes, but sulfured: the United States' claim ends, the European Union's does not.
    let sulfured = cellar
        .given(tank_of("S", 1_000))
        .given(json!({"kind": "lot_opened", "lot": "N", "colour": "red"}))
        .given(received("S", "N", &[("home", 100)]))
        .given(json!({"kind": "treated", "vessel": "S", "material": "KMBS", "amount_ug": 4_000_000}));
    let asked = asked_of_organic(&sulfured, &[topped("A", "S", LITRE)]);
    assert_eq!(asked.len(), 1, "{asked:?}");
    assert!(asked[0].contains("organic (US 7 CFR 205.301"), "{asked:?}");
    assert!(asked[0].contains("then potassium metabisulfite was added"), "{asked:?}");
    // What SO2 was added to is made with organic grapes still, until other grapes come to it.
    let asked = asked_of_organic(&sulfured, &[topped("S", "Z", LITRE)]);
    assert!(
        asked.iter().any(|it| it.contains("N would lose the right to say made with organic grapes (US")),
        "{asked:?}"
    );
    assert!(asked.iter().any(|it| it.contains("N would lose the right to say organic (EU")), "{asked:?}");
}
