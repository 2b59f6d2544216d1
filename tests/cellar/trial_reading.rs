//! What an opened trial says: a planted best ratio is found, and whatever cannot be told is said in a sentence.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::jobs::bench::trial::outlook::{Outlook, Ratio};
use barrelwalk::cellar::jobs::bench::trial::reading::{PouredGlass, TrialReading};
use barrelwalk::reckon::panel::table::Given;
use barrelwalk::reckon::surface::Verdict;
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved, tank_of};
use crate::trial::{of, rated, revealed};

const TASTERS: [&str; 6] = ["anna", "ben", "carla", "dorian", "elif", "felix"];

/// A trial of T and U: eleven ratios in steps of a tenth, and the sixth of them once more, for six tasters in two flights.
/// The codes are 100, 101, …, the repeat is 200.
fn laid_out() -> Value {
    let glass = |code: u32, tenths: u32| json!({"code": code.to_string(), "shares_ppm": [tenths * 100_000, 1_000_000 - tenths * 100_000]});
    let mut glasses: Vec<Value> = (0..=10).map(|tenths| glass(100 + tenths, tenths)).collect();
    let mut repeat = glass(200, 5);
    repeat["repeat_of"] = json!("105");
    glasses.push(repeat);
    let codes: Vec<String> = glasses.iter().map(|glass| glass["code"].as_str().unwrap().to_owned()).collect();
    let flights = json!([&codes[..6], &codes[6..]]);
    json!({
        "kind": "trial_set", "trial": "Q", "glass_ul": 50_000, "glasses": glasses, "panel": TASTERS, "salt": "5a1ad",
        "components": [{"vessel": "T", "reserve_ul": 100 * LITRE}, {"vessel": "U", "available_ul": 300 * LITRE}],
        "servings": TASTERS.iter().map(|taster| ((*taster).to_owned(), flights.clone())).collect::<serde_json::Map<_, _>>(),
    })
}

fn codes() -> impl Iterator<Item = (String, f64)> {
    (0..=10)
        .map(|tenths| (100 + tenths, f64::from(tenths) / 10.0))
        .chain([(200, 0.5)])
        .map(|(code, t)| (code.to_string(), t))
}

/// Everybody scores by the distance from 60 % of T, each at a level of their own, with a little that is nobody's.
fn score(taster: usize, share: f64) -> f64 {
    let off = (share - 0.6) * (share - 0.6);
    let little = ((taster as f64 * 7.0 + share * 40.0) % 3.0 - 1.0) * 0.2;
    14.0 + taster as f64 * 0.4 - 12.0 * off + little
}

fn with(trial: Value, say: impl Fn(usize, &str, f64) -> Option<Value>) -> Cellar {
    let mut cellar = Cellar::furnished().given(trial);
    for (at, taster) in TASTERS.iter().enumerate() {
        for (code, share) in codes() {
            if let Some(mut fact) = say(at, &code, share) {
                fact["taster"] = json!(taster);
                cellar = cellar.given(fact);
            }
        }
    }
    cellar
}

fn scored() -> Cellar {
    with(laid_out(), |taster, code, share| Some(rated("", code, score(taster, share))))
}

fn reading(cellar: &Cellar) -> TrialReading {
    of(cellar).opened().unwrap().reading(&cellar.state)
}

/// What could be blended by what there is in a cellar.
fn outlook(cellar: &Cellar, reading: &TrialReading) -> Outlook {
    of(cellar).opened().unwrap().outlook(&cellar.state, reading)
}

fn words(reading: &TrialReading) -> String {
    [reading.panel_words(), reading.surface_words(), reading.remarks.clone()].concat().join(" ")
}

#[test]
fn the_key_is_read_only_once_it_is_revealed() {
    assert!(of(&scored()).opened().is_none());
    assert_eq!(reading(&scored().given(revealed())).components, ["T", "U"]);
}

#[test]
fn a_planted_best_ratio_is_found_with_the_glass_that_is_nearest() {
    let found = reading(&scored().given(revealed()));
    assert_eq!(
        (found.given, found.glasses[0].code.to_string(), found.glasses[0].place),
        (Given::Scores, "106".to_owned(), Some(1))
    );
    let (findings, best) = found.best().unwrap();
    assert_eq!(findings.verdict, Verdict::Tells);
    assert!((best.shares[0] - 0.6).abs() < 0.03, "{:?}", best.shares);
    let ratios = outlook(&scored().given(revealed()), &found).ratios;
    assert_eq!(ratios[0].ratio, Ratio::Best);
    let of = |ratio: &Ratio| ratios.iter().find(|it| it.ratio == *ratio).unwrap();
    let best_glass = PouredGlass { code: found.glasses[0].code, sitting: None };
    let panels = of(&Ratio::Poured(vec![best_glass]));
    assert_eq!(panels.first_of[0], "the panel");
    for near in [panels, of(&Ratio::Rounded(5))] {
        assert!(near.compared.as_ref().is_some_and(|it| it.below < 0.1 && !it.is_worse), "{near:?}");
    }
    assert!(of(&Ratio::Middle).compared.is_some());
    // Whatever somebody put first can be chosen.
    let firsts: Vec<&String> = ratios.iter().flat_map(|it| &it.first_of).collect();
    assert!(TASTERS.iter().all(|taster| firsts.iter().any(|it| *it == taster)), "{firsts:?}");
    // The hidden repeat judges every taster, and both glasses of it are in the ranking.
    let panel = found.panel.as_ref().unwrap();
    assert!(panel.tasters.iter().all(|taster| taster.repeatability.is_some_and(|it| it.repeats == 1)));
    assert_eq!(found.glasses.iter().filter(|glass| glass.shares.millionths()[0] == 500_000).count(), 2);
    assert_eq!(found, reading(&scored().given(revealed())), "the same trial says the same");
}

/// U has 300 L for the blend, T 1,550 L less 100 L: a best ratio near 60 and 40 % ends with U.
#[test]
fn the_largest_batch_is_what_there_is_less_what_is_kept_back() {
    let full = scored().given(revealed());
    let found = reading(&full);
    let before = outlook(&full, &found);
    let glass = |outlook: &Outlook| {
        outlook.ratios.iter().find(|it| it.first_of.iter().any(|it| it == "the panel")).unwrap().clone()
    };
    let poured = glass(&before).batch.unwrap();
    assert_eq!(poured.volume.as_ul(), 750 * LITRE);
    // Only the batch ends when the wine does: what the panel said stays.
    let left = 1_000 - 100;
    let emptied = scored().given(revealed()).given(moved("U", "T", left * LITRE)).given(moved("U", "T", 100 * LITRE));
    let after = reading(&emptied);
    assert_eq!((&after.panel, &after.surface), (&found.panel, &found.surface));
    assert_eq!(after.remarks, found.remarks);
    let left = outlook(&emptied, &after);
    assert!(glass(&left).batch.unwrap_err().to_string().contains("U holds nothing by the book"));
    assert_eq!(left.changed, ["U is empty by the book: no ratio with it can be blended any more."]);
    // What is promised to other work is left to it.
    let filling = json!({
        "kind": "work_set", "work": "down S", "task": "barrel_down", "from": "U", "stops": [{"vessel": "E"}],
    });
    let promised = scored().given(revealed()).given(moved("U", "T", 600 * LITRE)).given(filling);
    let less = outlook(&promised, &reading(&promised));
    assert_eq!(glass(&less).batch.unwrap().volume.as_ul(), 437_500_000);
    assert_eq!(less.changed, ["Open works are still to take 225 L of U, which is left to them."]);
}

/// A blend is followed from the day on which it is chosen.
#[test]
fn what_became_of_a_blend_is_told() {
    let chosen = json!({
        "kind": "blend_chosen", "trial": "Q", "code": "106", "into": "X", "volume_ul": 500 * LITRE, "lot": "N",
    });
    let gave = |from: &str, litres: u64| {
        json!({
            "kind": "wine_moved", "from": from, "to": "X", "volume_ul": litres * LITRE, "purpose": "blend", "lot": "N",
        })
    };
    let blends = |cellar: &Cellar| outlook(cellar, &reading(cellar)).blends.join(" ");
    let begun = scored().given(revealed()).given(tank_of("X", 3_000)).given(chosen);
    assert_eq!(blends(&begun), "Glass 106 is to be blended in X as N: 500.0 L, of which none is in yet.");
    let closed = json!({"kind": "work_ended", "work": "blend N"});
    let nothing = begun.clone().given(closed.clone());
    assert!(blends(&nothing).ends_with("the work was closed 1 Sep 2026 with nothing in."), "{}", blends(&nothing));
    let half = begun.given(gave("T", 300));
    assert_eq!(blends(&half), "Glass 106 is being blended in X as N: 300.0 L of 500.0 L are in, T 100 %, U 0 %.");
    let off = half.clone().given(gave("U", 150)).given(closed.clone());
    assert!(
        blends(&off).ends_with("T 66.7 %, U 33.3 %, not every share within 1 point of the ratio."),
        "{}",
        blends(&off)
    );
    let done = half.given(gave("U", 198)).given(closed);
    let told = "Glass 106 was blended in X as N by 1 Sep 2026: 498.0 L, T 60.2 %, U 39.8 %, every share within 1 point of \
                the ratio.";
    assert_eq!(blends(&done), told);
    // A wine that is gone went into it.
    let gone = done.given(moved("U", "T", 802 * LITRE));
    let changed = outlook(&gone, &reading(&gone)).changed;
    assert_eq!(changed, ["U went into the blend: no ratio with it can be blended any more."]);
}

#[test]
fn the_best_ratio_keeps_to_what_the_glasses_were_laid_out_for() {
    let with_bounds = |bounds: &str, limits: &str| {
        let mut trial = laid_out();
        trial["bounds"] = json!(bounds);
        trial["limits"] = json!(limits);
        reading(&with(trial, |taster, code, share| Some(rated("", code, score(taster, share)))).given(revealed()))
    };
    let bound = with_bounds("T=10..40%; U=..90%", "");
    let limit = with_bounds("", "2 T + U <= 140%");
    for found in [&bound, &limit] {
        assert!((found.best().unwrap().1.shares[0] - 0.4).abs() < 1e-6, "{:?}", found.best());
    }
    assert!(words(&bound).contains("The most that is allowed of T (40 %) stops it"));
    let unread = with_bounds("not too much of T", "13 <= alcohol");
    assert!((unread.best().unwrap().1.shares[0] - 0.6).abs() < 0.03);
    assert!(
        unread.remarks[0].contains("The bound 'not too much of T'") && unread.remarks[1].contains("The limit '13"),
        "{:?}",
        unread.remarks
    );
    assert!(with_bounds("T=60..10%", "").surface.unwrap_err().to_string().contains("The bounds"));
}

#[test]
fn ranks_that_begin_anew_with_every_flight_are_read_by_flight() {
    let ranked = |first: usize| {
        let all: Vec<(String, f64)> = codes().collect();
        let found = with(laid_out(), |taster, code, _| {
            let at = all.iter().position(|(it, _)| it == code).unwrap();
            let flight = &all[at / 6 * 6..at / 6 * 6 + 6];
            let among = if first == 0 { flight } else { &all[..] };
            let rank = 1 + among
                .iter()
                .filter(|(other, share)| other != code && score(taster, *share) > score(taster, all[at].1))
                .count();
            Some(json!({"kind": "glass_rated", "trial": "Q", "code": code, "rank": rank}))
        });
        reading(&found.given(revealed()))
    };
    let by_flight = ranked(0);
    assert_eq!(by_flight.given, Given::Ranks);
    assert_eq!(by_flight.panel.as_ref().unwrap().tasters[1].name, "anna, flight 2");
    assert!(words(&by_flight).contains("Ranks begin anew with every flight"));
    let whole = ranked(1);
    assert_eq!(whole.panel.as_ref().unwrap().tasters.len(), 6);
    assert!((whole.best().unwrap().1.shares[0] - 0.6).abs() < 0.06, "{:?}", whole.surface_words());
}

#[test]
fn of_scores_and_ranks_what_is_more_is_read_and_the_rest_is_told() {
    let mixed = with(laid_out(), |taster, code, share| {
        let mut fact = rated("", code, score(taster, share));
        if taster == 0 {
            fact.as_object_mut().unwrap().remove("score");
            fact["rank"] = json!(1);
        }
        Some(fact)
    });
    let found = reading(&mixed.given(revealed()));
    assert_eq!((found.given, found.panel.as_ref().unwrap().tasters.len()), (Given::Scores, 5));
    assert!(
        found.remarks[0].contains("The scores are read") && found.remarks[0].contains("12 ratings have none"),
        "{:?}",
        found.remarks
    );
}

#[test]
fn what_cannot_be_told_is_said_and_nothing_is_made_up() {
    let say = |say: &dyn Fn(usize, &str, f64) -> Option<Value>| reading(&with(laid_out(), say).given(revealed()));
    let none = say(&|_, _, _| None);
    let alone = say(&|taster, code, share| (taster == 0).then(|| rated("", code, score(0, share))));
    let ties = say(&|_, code, _| Some(rated("", code, 14.0)));
    let one_glass = say(&|taster, code, _| (code == "103").then(|| rated("", code, 12.0 + taster as f64)));
    let words_only =
        say(&|_, code, _| Some(json!({"kind": "glass_rated", "trial": "Q", "code": code, "text": "plum"})));
    for (name, found, part) in [
        ("nothing", &none, "There are no ratings"),
        ("one taster", &alone, "One taster's order can't be told from chance"),
        ("all ties", &ties, "Every taster gave all glasses the same score"),
        ("one glass", &one_glass, "All glasses held the same blend"),
        ("words only", &words_only, "There are no ratings"),
    ] {
        let words = words(found);
        assert!(words.contains(part), "{name}: {words}");
        assert!(!words.contains("NaN") && !words.contains("inf"), "{name}: {words}");
        assert_eq!(found.glasses.len(), 12, "{name}");
    }
    assert!(words(&alone).contains("Taste that ratio once more"), "{:?}", alone.remarks);
    assert!(ties.glasses.iter().all(|glass| glass.place == Some(1)));
    assert!(none.glasses.iter().all(|glass| glass.place.is_none()));
    let opened = scored().given(revealed());
    assert!([&ties, &none].iter().all(|found| outlook(&opened, found).ratios.is_empty()));
    assert!(words(&none).contains("72 glasses of 72 were never rated"), "{}", words(&none));
    // One who gave everyone the same is told among those who did not.
    let constant =
        say(&|taster, code, share| Some(rated("", code, if taster == 2 { 15.0 } else { score(taster, share) })));
    assert!(words(&constant).contains("carla gave every glass the same") && constant.best().is_some());
}

/// A trial of other glasses, each a flight of its own or all in one, whose wines may be more than two.
fn laid_out_in(glasses: &[&[u32]], flights: bool, bounds: &str) -> Value {
    let codes: Vec<String> = (0..glasses.len()).map(|at| (100 + at).to_string()).collect();
    let key = codes.iter().zip(glasses).map(|(code, tenths)| {
        let shares: Vec<u32> = tenths.iter().map(|tenth| tenth * 100_000).collect();
        json!({"code": code, "shares_ppm": shares})
    });
    let served = if flights { json!(codes.iter().map(|code| [code]).collect::<Vec<_>>()) } else { json!([&codes]) };
    let vessels = ["T", "U", "V"].map(|vessel| json!({"vessel": vessel}));
    json!({
        "kind": "trial_set", "trial": "Q", "glass_ul": 50_000, "glasses": key.collect::<Vec<_>>(), "panel": TASTERS,
        "components": &vessels[..glasses[0].len()], "salt": "5a1ad", "bounds": bounds,
        "servings": TASTERS.iter().map(|taster| ((*taster).to_owned(), served.clone())).collect::<serde_json::Map<_, _>>(),
    })
}

/// A sentence each, and no ratio where nothing was learned: neither a best one nor one to blend.
#[test]
fn where_nothing_was_learned_a_sentence_stands_and_no_ratio() {
    let eleven: Vec<[u32; 2]> = (0..=10).map(|tenths| [tenths, 10 - tenths]).collect();
    let eleven: Vec<&[u32]> = eleven.iter().map(<[u32; 2]>::as_slice).collect();
    let all = |_: usize| true;
    let one = |taster: usize| taster == 0;
    for (name, trial, who, part) in [
        (
            "two glasses",
            laid_out_in(&[&[10, 0], &[4, 6]], false, ""),
            &one as &dyn Fn(usize) -> bool,
            "with so few ratings",
        ),
        ("a flight a glass", laid_out_in(&eleven, true, ""), &all, "Every flight of every taster held one glass"),
        ("bounds of a point", laid_out_in(&eleven, false, "T=50%"), &all, "leave one blend alone"),
        ("one glass", laid_out_in(&[&[5, 5]], false, ""), &all, "All glasses held the same blend"),
    ] {
        let mut cellar = Cellar::furnished().given(trial);
        for (taster, label) in TASTERS.iter().enumerate().filter(|(taster, _)| who(*taster)) {
            let glasses: Vec<(String, f64)> = of(&cellar)
                .pouring()
                .glasses()
                .iter()
                .map(|it| (it.code.to_string(), it.shares.fractions()[0]))
                .collect();
            for (code, share) in glasses {
                cellar = cellar.given(rated(label, &code, score(taster, share)));
            }
        }
        let cellar = cellar.given(revealed());
        let found = reading(&cellar);
        assert!(found.surface_words()[0].contains(part), "{name}: {:?}", found.surface_words());
        assert!(found.best().is_none(), "{name}");
        if name != "bounds of a point" {
            assert!(outlook(&cellar, &found).ratios.is_empty(), "{name}: {:?}", outlook(&cellar, &found).ratios);
        }
    }
}

/// A wine that stood in no glass stays out of the ratio, and a flight that nobody rated is told.
#[test]
fn a_wine_in_no_glass_and_a_flight_that_is_missing_are_told() {
    let eleven: Vec<[u32; 3]> = (0..=10).map(|tenths| [tenths, 10 - tenths, 0]).collect();
    let eleven: Vec<&[u32]> = eleven.iter().map(<[u32; 3]>::as_slice).collect();
    let found = with(laid_out_in(&eleven, false, "V=0..50%"), |taster, code, share| {
        (code != "200").then(|| rated("", code, score(taster, share)))
    });
    let found = reading(&found.given(revealed()));
    let best = &found.best().unwrap().1.shares;
    assert!((best[0] - 0.6).abs() < 0.06 && best[2] < 1e-9, "{best:?}");
    assert!(words(&found).contains('V'), "{}", words(&found));
    let half = with(laid_out(), |taster, code, share| {
        (taster > 2 || code < "106").then(|| rated("", code, score(taster, share)))
    });
    let half = reading(&half.given(revealed()));
    assert!(words(&half).contains("18 glasses of 72 were never rated."), "{}", words(&half));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn whatever_was_said_every_number_is_one(said in prop::collection::vec(prop::option::weighted(0.6, 0_u8..=20), 72)) {
        let cellar = with(laid_out(), |taster, code, _| {
            let at = codes().position(|(it, _)| it == code).unwrap();
            said[taster * 12 + at].map(|score| rated("", code, f64::from(score)))
        });
        let cellar = cellar.given(revealed());
        let found = reading(&cellar);
        let words = words(&found);
        prop_assert!(!words.contains("NaN") && !words.contains("inf "), "{}", words);
        let places: Vec<usize> = found.glasses.iter().map(|glass| glass.place.unwrap_or(usize::MAX)).collect();
        prop_assert!(places.is_sorted());
        for ratio in &outlook(&cellar, &found).ratios {
            prop_assert!(ratio.expected.is_none_or(|it| it.score.is_finite() && it.error.is_finite()));
        }
    }
}
