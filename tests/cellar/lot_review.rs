//! The review of a lot: a worked example by hand, and what always holds of its shares.

use barrelwalk::cellar::core::state::VesselId;
use barrelwalk::cellar::jobs::tests::testing::Analyte;
use barrelwalk::cellar::views::floor::lot_review::LotReview;
use barrelwalk::cellar::views::floor::lot_review::mix::Quality;
use barrelwalk::reckon::due::Due;
use barrelwalk::reckon::limits::Judgement;
use barrelwalk::reckon::sulfur::{Forecast, SulfurError, Tested};
use barrelwalk::units::Volume;
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved, placed};

fn review(cellar: &Cellar, lot: &str) -> LotReview {
    let id = cellar.state.lots.find(lot).unwrap_or_else(|| panic!("no lot {lot}"));
    let review = cellar.state.review(id, cellar.now());
    assert_eq!(cellar.state.reviews(cellar.now()).into_iter().find(|other| other.lot == id).as_ref(), Some(&review));
    review
}

fn labels<'a>(cellar: &'a Cellar, vessels: impl IntoIterator<Item = &'a VesselId>) -> Vec<&'a str> {
    vessels.into_iter().map(|&id| cellar.state.vessels.get(id).label.as_str()).collect()
}

/// The parts by a quality: kind, litres, thousandths.
fn parts(review: &LotReview, quality: Quality) -> Vec<(String, u64, u64)> {
    let name = |kind: Option<&_>| kind.map_or_else(|| "?".to_owned(), ToString::to_string);
    let shares = review.mix.thousandths(quality);
    let all = review.mix.by(quality).iter().zip(shares);
    all.map(|(part, share)| (name(part.kind.as_ref()), part.volume.as_ul() / LITRE, share)).collect()
}

fn part(kind: &str, litres: u64, thousandths: u64) -> (String, u64, u64) {
    (kind.to_owned(), litres, thousandths)
}

fn wood(label: &str, litres: u64, wood: &Value) -> Value {
    let mut fact =
        json!({"kind": "vessel_registered", "vessel": label, "type": "barrel", "capacity_ul": litres * LITRE});
    for (name, value) in wood.as_object().into_iter().flatten() {
        fact[name] = value.clone();
    }
    fact
}

fn tested(vessel: &str, name: &str, value: f64) -> Value {
    json!({"kind": "tested", "vessel": vessel, name: value})
}

/// Three barrels of S from tank U: 300 L new from the Vosges, 300 L and 150 L in their third fill, filled 30, 20 and 20
/// days before the day that is looked at.
fn three_barrels() -> Cellar {
    Cellar::furnished()
        .given(wood("N", 300, &json!({"forest": "Vosges", "toast": "medium", "seasoning_months": 36})))
        .given(wood("O", 300, &json!({"forest": "Allier", "toast": "medium", "fills": 2})))
        .given(wood("P", 150, &json!({"toast": "medium", "fills": 2})))
        .given(placed("N", "long/A-02-1-a"))
        .given(placed("O", "long/A-02-1-b"))
        .given(placed("P", "long/B-01-1-c"))
        .given(moved("U", "N", 300 * LITRE))
        .days(10)
        .given(moved("U", "O", 300 * LITRE))
        .given(moved("U", "P", 150 * LITRE))
        .days(20)
}

/// By hand: 750 L in barrels, 300 of them new (400 thousandths), 300 Vosges, 300 Allier, 150 not known; the days are
/// (300 × 30 + 450 × 20) / 750 = 24.
#[test]
fn a_mix_is_by_the_litres_in_the_barrels() {
    let cellar = three_barrels();
    let review = review(&cellar, "S");
    assert_eq!((review.barrels, review.other_vessels(), review.book), (3, 1, Volume::from_litres(1_000)));
    assert_eq!(review.mix.whole, Volume::from_litres(750));
    assert_eq!((review.mix.new_wood_share(), review.mix.new_wood_thousandths()), (Some(0.4), Some(400)));
    let forests = [part("?", 150, 200), part("Allier", 300, 400), part("Vosges", 300, 400)];
    let mut found = parts(&review, Quality::Forest);
    found.sort();
    assert_eq!(found, forests);
    assert_eq!(parts(&review, Quality::Fill), [part("third", 450, 600), part("new", 300, 400)]);
    assert_eq!(parts(&review, Quality::Toast), [part("medium", 750, 1_000)]);
    assert_eq!(parts(&review, Quality::Seasoning), [part("?", 450, 600), part("36 months", 300, 400)]);
    assert!(!review.mix.knows(Quality::Cooper) && review.mix.knows(Quality::Seasoning));
    let days = review.in_wood.expect("days in wood");
    assert!((days.mean - 24.0).abs() < 1e-9);
    assert_eq!((days.least, days.most), (20, 30));
}

#[test]
fn places_are_told_in_stretches_as_one_walks() {
    let review = review(&three_barrels(), "S");
    let told: Vec<String> =
        review.places.rows.iter().map(|stretch| format!("{} {}", stretch.room, stretch.show())).collect();
    assert_eq!(told, ["long A 2, 2 in 1 rack", "long B 1, 1 in 1 rack"]);
    assert_eq!(review.places.nowhere, 1);
}

#[test]
fn the_estimate_is_the_book_less_what_evaporated_since() {
    let cellar = three_barrels();
    let review = review(&cellar, "S");
    let beyond: Volume = ["N", "O", "P"]
        .iter()
        .map(|label| {
            let barrel = cellar.vessel(label);
            cellar.state.headspace(barrel, cellar.now()).missing.saturating_sub(barrel.book_headspace())
        })
        .sum();
    assert!(beyond > Volume::from_litres(1), "{beyond}");
    assert_eq!(review.estimated + beyond, review.book);
}

/// What evaporated of a lot stays said when its barrel is emptied.
#[test]
fn evaporation_is_that_of_the_lot_in_all_its_vessels() {
    let topped = json!({"kind": "topped", "vessel": "O", "from": "U", "volume_ul": 2 * LITRE});
    let cellar = three_barrels().given(topped);
    assert_eq!(review(&cellar, "S").evaporated, Volume::from_litres(2));
    let emptied = json!({
        "kind": "wine_moved", "from": "O", "to": "U", "volume_ul": 300 * LITRE, "purpose": "racking", "empties": true,
    });
    let cellar = cellar.given(emptied);
    let after = review(&cellar, "S");
    assert_eq!((after.evaporated, after.barrels), (Volume::from_litres(2), 2));
    assert_eq!(review(&cellar, "R").evaporated, Volume::ZERO);
}

/// Nine barrels with the scores of the example in `reckon::spread`: the 9 stands out.
fn nine_barrels() -> Cellar {
    let mut cellar = Cellar::furnished();
    for (number, score) in [14.0, 9.0, 15.0, 13.0, 14.0, 12.0, 15.0, 13.0, 14.0].iter().enumerate() {
        let label = format!("S{number}");
        let marks = if number % 2 == 0 { json!(["plum", "closed", "plum"]) } else { json!(["plum"]) };
        cellar = cellar
            .given(wood(&label, 100, &json!({})))
            .given(moved("U", &label, 100 * LITRE))
            .given(json!({"kind": "tasted", "vessel": label, "score": score, "marks": marks}));
    }
    cellar
}

#[test]
fn tastes_are_told_together_and_who_stands_out() {
    let cellar = nine_barrels()
        .given(json!({"kind": "tasted", "vessel": "S1", "score": 9.0, "marks": ["VA"]}))
        .given(json!({"kind": "held", "vessel": "S1", "why": "volatile"}));
    let review = review(&cellar, "S");
    let spread = review.tastes.spread.expect("a spread");
    assert_eq!((review.tastes.tasted, spread.median, spread.least, spread.most), (9, 14.0, 9.0, 15.0));
    assert_eq!(labels(&cellar, review.tastes.outliers.iter().map(|(id, _)| id)), ["S1"]);
    assert_eq!(labels(&cellar, &review.tastes.faults), ["S1"]);
    assert_eq!(labels(&cellar, &review.held), ["S1"]);
    let marks: Vec<(&str, usize)> = review.tastes.marks.iter().map(|(mark, count)| (mark.as_str(), *count)).collect();
    assert_eq!(marks, [("plum", 8), ("closed", 5), ("VA", 1)]);
}

/// A barrel keeps the taste of what it held before; the lot that it holds now has not been tasted.
#[test]
fn a_taste_of_an_earlier_wine_is_not_of_this_lot() {
    let racked = json!({"kind": "wine_moved", "from": "B1", "to": "T", "volume_ul": 225 * LITRE, "purpose": "racking", "empties": true});
    let cellar = Cellar::furnished()
        .given(json!({"kind": "tasted", "vessel": "B1", "score": 15.0}))
        .given(racked)
        .given(moved("U", "B1", 225 * LITRE));
    assert_eq!(review(&cellar, "S").tastes.tasted, 0);
}

#[test]
fn tests_tell_the_last_result_the_trend_and_who_stands_out() {
    let mut cellar = nine_barrels();
    for number in 0..9 {
        cellar = cellar.given(tested(&format!("S{number}"), "free_so2_mg_l", if number == 4 { 12.0 } else { 30.0 }));
    }
    cellar = cellar.days(30);
    for label in ["S0", "S1", "S2"] {
        cellar = cellar.given(json!({
            "kind": "sampled", "vessel": label, "volume_ul": 100_000, "sample": "mix",
        }));
    }
    let cellar = cellar
        .given(json!({"kind": "tested", "sample": "mix", "free_so2_mg_l": 24.0, "ph": 3.6}))
        .given(json!({"kind": "treated", "vessel": "S4", "material": "SO2", "amount_ug": 1_000_000}));
    let review = review(&cellar, "S");
    let find = |analyte| review.readings.iter().find(|reading| reading.analyte == analyte).expect("it was tested");
    let free = find(Analyte::FreeSo2);
    assert_eq!((free.last.value, free.last.vessels), (24.0, 3));
    assert_eq!((free.own.len(), free.in_composite), (9, 0));
    assert_eq!(labels(&cellar, free.outliers.iter().map(|(id, _)| id)), ["S4"]);
    let (before, last) = free.trend().expect("two days");
    // By hand: (8 × 30 + 12) / 9 = 28.
    assert!((before.mean - 28.0).abs() < 1e-9);
    assert_eq!((before.results, before.composite, last.results, last.composite), (9, false, 1, true));
    let ph = find(Analyte::Ph);
    assert_eq!((ph.own.len(), ph.in_composite, ph.trend()), (0, 3, None));
    assert!(review.sulfured.is_some_and(|at| at.instant() > free.last.at.instant()));
    assert_eq!(review.readings.len(), 2);
}

/// Two laptops may note two tests of one minute.
#[test]
fn of_two_tests_of_one_moment_the_later_fact_is_the_last() {
    let at = "2026-10-01T08:00:00+02:00";
    for (first, second) in [(21.0, 28.0), (28.0, 21.0)] {
        let cellar = Cellar::furnished().at(at).given(tested("B1", "free_so2_mg_l", first)).at(at).given(tested(
            "B2",
            "free_so2_mg_l",
            second,
        ));
        let free = review(&cellar, "R").readings.remove(0);
        assert_eq!((free.last.value, free.days.len()), (second, 1));
    }
}

/// By hand, plain table: at pH 3.6 the share is 1 / (1 + 10^(3.6 − 1.81)) = 0.01596, so that 24 mg/L are 0.383 molecular
/// and 0.5 take 31.3 mg/L.
#[test]
fn the_molecular_of_a_lot_is_by_its_last_free_and_its_last_ph() {
    let cellar = Cellar::furnished().given(tested("B1", "ph", 3.6)).days(9).given(tested("B2", "free_so2_mg_l", 24.0));
    let sulfur = review(&cellar, "R").sulfur;
    assert!(sulfur.molecular_mg_l.is_some_and(|molecular| (molecular - 0.383).abs() < 0.0005), "{sulfur:?}");
    let outlook = sulfur.outlook.expect("an outlook");
    assert!(outlook.floor_mg_l.is_some_and(|floor| (floor - 31.3).abs() < 0.05), "{outlook:?}");
    assert!(outlook.is_below() && outlook.below.is_some_and(|at| at.date() == cellar.now().date()));
    assert_eq!(review(&cellar, "S").sulfur.forecast, Err(SulfurError::NoTest));
}

/// By hand: 3 g into one of the barrels of 2,000 L of R are 1.5 mg/L of total in the mean, of which two thirds stay free.
/// Days of testing count as one test each, with the mean of their results.
#[test]
fn the_free_of_a_lot_is_forecast_from_the_means_of_its_days_and_what_was_added() {
    let so2 = |vessel: &str, grams: u64| json!({"kind": "treated", "vessel": vessel, "material": "SO2", "amount_ug": grams * 1_000_000});
    let cellar = Cellar::furnished()
        .given(tested("B1", "free_so2_mg_l", 30.0))
        .given(tested("B2", "free_so2_mg_l", 20.0))
        .given(tested("B1", "ph", 3.4))
        .days(60)
        .given(tested("B1", "free_so2_mg_l", 21.0))
        .days(1)
        .given(so2("B1", 2))
        .given(so2("B1", 1))
        .given(json!({"kind": "treated", "vessel": "B2", "material": "bentonite", "amount_ug": 90_000_000}))
        .days(30);
    let review = review(&cellar, "R");
    let [added] = review.sulfur.additions[..] else { panic!("{:?}", review.sulfur.additions) };
    assert!((added.free_rise_mg_l - 1.0).abs() < 1e-9, "{added:?}");
    let free = review.readings.iter().find(|reading| reading.analyte == Analyte::FreeSo2).expect("it was tested");
    let tests: Vec<Tested> = [25.0, 21.0]
        .into_iter()
        .zip(&free.days)
        .map(|(free_mg_l, day)| Tested { day: day.at.days_of_epoch(), free_mg_l })
        .collect();
    let expected = Forecast::of(&tests, &[added]).expect("a forecast").at(cellar.now().days_of_epoch());
    let outlook = review.sulfur.outlook.expect("an outlook");
    assert_eq!((outlook.tests, outlook.now), (2, expected));
    // B1 was dosed alone, so that the least is in B2.
    assert_eq!(labels(&cellar, review.sulfur.least.iter().map(|(id, _)| id)), ["B2", "B1"]);
}

/// 27 CFR 4.21: 1.4 g/L for red wine, 1.2 for white; amber from 80 % on.
#[test]
fn limits_are_judged_by_the_rules_of_the_house() {
    let unsaid = Cellar::furnished().given(tested("V", "va_g_l", 1.0));
    let sections: Vec<_> = review(&unsaid, "W").limits.iter().map(|judged| judged.limit.section).collect();
    assert_eq!(sections, ["EU 2019/934 Annex I C, 18 meq/L", "US 27 CFR 4.21"]);
    let cellar = Cellar::furnished()
        .given(json!({"kind": "practice_set", "rules": "us"}))
        .given(tested("B1", "va_g_l", 1.45))
        .given(tested("B2", "va_g_l", 1.2))
        .given(tested("V", "va_g_l", 1.0))
        .given(tested("T", "va_g_l", 0.4));
    let [red] = &review(&cellar, "R").limits[..] else { panic!("one limit") };
    assert_eq!((red.limit.section, red.last), ("US 27 CFR 4.21", (0.4, Judgement::Fine)));
    let told: Vec<_> = red.beyond_fine.iter().map(|&(_, value, judgement)| (value, judgement)).collect();
    assert_eq!(told, [(1.45, Judgement::Red), (1.2, Judgement::Amber)]);
    assert_eq!((red.worst(), review(&cellar, "W").limits[0].worst()), (Judgement::Red, Judgement::Amber));
    let cellar = cellar.given(json!({"kind": "practice_set", "rules": "eu"}));
    assert_eq!(review(&cellar, "W").limits[0].limit.section, "EU 2019/934 Annex I C, 18 meq/L");
}

#[test]
fn a_lot_that_no_vessel_holds_is_reviewed_too() {
    let cellar = Cellar::furnished().given(json!({"kind": "lot_opened", "lot": "Z", "colour": "red"}));
    let review = review(&cellar, "Z");
    assert!(review.vessels.is_empty() && review.readings.is_empty() && review.places.rows.is_empty());
    assert_eq!((review.mix.new_wood_share(), review.mix.new_wood_thousandths(), review.in_wood), (None, None, None));
    assert_eq!(review.book, Volume::ZERO);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    /// Whatever lies in the barrels, the parts by every quality sum to the whole, and the shares that are shown to one.
    #[test]
    fn shares_sum_to_one_exactly(barrels in prop::collection::vec(
        (1_u64..225_000_000, 0_u32..4, 0_usize..4, prop::option::of(12_u32..40)), 1..20,
    )) {
        let mut cellar = Cellar::furnished();
        for (number, (volume, fills, forest, months)) in barrels.iter().enumerate() {
            let label = format!("S{number}");
            let mut of = json!({"fills": fills});
            if let Some(forest) = ["Tronçais", "Allier", "Vosges"].get(*forest) {
                of["forest"] = (*forest).into();
            }
            if let Some(months) = months {
                of["seasoning_months"] = (*months).into();
            }
            cellar = cellar.given(wood(&label, 225, &of)).loaded(moved("U", &label, *volume));
        }
        let review = review(&cellar, "S");
        for quality in Quality::ALL {
            let parts = review.mix.by(quality);
            prop_assert_eq!(parts.iter().map(|part| part.volume).sum::<Volume>(), review.mix.whole);
            prop_assert_eq!(parts.iter().map(|part| part.barrels).sum::<usize>(), review.barrels);
            prop_assert_eq!(review.mix.thousandths(quality).iter().sum::<u64>(), 1_000);
        }
        prop_assert!(review.mix.new_wood <= review.mix.whole && review.estimated <= review.book);
        let lying: usize = review.places.rows.iter().map(|stretch| stretch.barrels).sum();
        prop_assert_eq!(lying + review.places.nowhere, review.vessels.len());
    }
    /// What the review gathers in one pass is what one finds by asking each vessel.
    #[test]
    fn the_review_is_what_its_vessels_say_one_by_one(
        facts in prop::collection::vec((0_usize..6, 0_usize..4, 0_u32..40, 0_i64..20), 1..60),
    ) {
        let mut cellar = nine_barrels();
        for (number, (kind, analyte, value, days)) in facts.into_iter().enumerate() {
            let name = ["free_so2_mg_l", "va_g_l", "ph", "malic_g_l"][analyte];
            let value = if name == "free_so2_mg_l" { f64::from(value) } else { 2.5 + f64::from(value) / 20.0 };
            let barrel = format!("S{}", number % 9);
            let told = match kind {
                0 | 1 => tested(&barrel, name, value),
                2 => json!({"kind": "sampled", "vessel": barrel, "volume_ul": 1_000, "sample": "mix"}),
                3 => json!({"kind": "tested", "sample": "mix", name: value}),
                4 => json!({"kind": "tasted", "vessel": barrel, "score": value, "marks": ["plum", "VA"]}),
                _ => json!({"kind": "topped", "vessel": barrel, "from": "U", "volume_ul": 1_000_000}),
            };
            cellar = cellar.days(days).loaded(told);
        }
        let review = review(&cellar, "S");
        for analyte in Analyte::ALL {
            let own = |id: &VesselId| {
                let tests = &cellar.state.vessels.get(*id).tests;
                let mut own = tests.iter().rev().filter(|(_, test)| test.vessels.len() == 1);
                Some((*id, own.find_map(|(_, test)| test.readings.of(analyte))?))
            };
            let own: Vec<_> = review.vessels.iter().filter_map(own).collect();
            let last = |id: &VesselId| cellar.state.last_reading(*id, analyte).map(|(value, test)| (test.at.instant(), value));
            let reading = review.readings.iter().find(|reading| reading.analyte == analyte);
            prop_assert_eq!(reading.map_or(&[][..], |reading| &reading.own), &own[..]);
            let tested = review.vessels.iter().filter(|id| last(id).is_some()).count();
            prop_assert_eq!(reading.map_or(0, |reading| reading.own.len() + reading.in_composite), tested);
            let latest = review.vessels.iter().filter_map(last).max_by_key(|&(instant, _)| instant);
            prop_assert_eq!(reading.map(|reading| (reading.last.at.instant(), reading.last.value)), latest);
        }
        let is = |due| review.vessels.iter().filter(|id| cellar.state.due(cellar.state.vessels.get(**id), cellar.now()) == Some(due)).count();
        prop_assert_eq!((review.due, review.over), (is(Due::Due), is(Due::Over)));
        let has_fault = |id: &&VesselId| cellar.state.vessels.get(**id).taste.as_ref().is_some_and(|taste| taste.has_fault(&cellar.state));
        prop_assert_eq!(review.tastes.faults.iter().collect::<Vec<_>>(), review.vessels.iter().filter(has_fault).collect::<Vec<_>>());
    }
}
