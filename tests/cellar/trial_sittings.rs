//! Two sittings are read together: the second was laid out after the first, of the same wines, and both are revealed.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::jobs::bench::trial::reading::TrialReading;
use barrelwalk::cellar::views::bench::laying_out::{NoLayout, TrialAsked};
use barrelwalk::cellar::views::books::lineage::NewWood;
use barrelwalk::reckon::mixture::Model;
use barrelwalk::reckon::mixture::design::{Kind, USUAL_TRIES};
use barrelwalk::units::Volume;
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved, tank_of};

const TASTERS: [&str; 3] = ["anna", "ben", "carla"];
/// Tenths of T in the glasses of the first sitting, and in those of the second.
const FIRST: [u32; 6] = [0, 2, 4, 6, 8, 10];
const SECOND: [u32; 5] = [10, 4, 5, 6, 7];

/// A trial of T and U whose codes begin with a digit.
fn sitting(trial: &str, after: Option<&str>, first: u32, tenths: &[u32]) -> Value {
    let code = |at: usize| (first * 100 + u32::try_from(at).unwrap()).to_string();
    let glass = |(at, &tenths): (usize, &u32)| json!({"code": code(at), "shares_ppm": [tenths * 100_000, 1_000_000 - tenths * 100_000]});
    let codes: Vec<String> = (0..tenths.len()).map(code).collect();
    json!({
        "kind": "trial_set", "trial": trial, "after": after, "glass_ul": 50_000, "salt": "5a1ad",
        "components": [{"vessel": "T"}, {"vessel": "U"}],
        "glasses": tenths.iter().enumerate().map(glass).collect::<Vec<_>>(), "panel": TASTERS,
        "servings": TASTERS.iter().map(|it| ((*it).to_owned(), json!([&codes]))).collect::<serde_json::Map<_, _>>(),
    })
}

/// All glasses of a sitting, rated; each taster likes 60 % of T best.
fn rated(mut cellar: Cellar, trial: &str, first: u32, tenths: &[u32], give: impl Fn(usize, f64) -> Value) -> Cellar {
    for (taster, name) in TASTERS.iter().enumerate() {
        for (at, &tenths) in tenths.iter().enumerate() {
            let mut fact = give(taster, f64::from(tenths) / 10.0);
            fact["kind"] = json!("glass_rated");
            fact["trial"] = json!(trial);
            fact["taster"] = json!(name);
            fact["code"] = json!((first * 100 + u32::try_from(at).unwrap()).to_string());
            cellar = cellar.given(fact);
        }
    }
    cellar
}

/// A score at the level of a day, with a little that is nobody's.
fn score(day: f64) -> impl Fn(usize, f64) -> Value {
    move |taster, share| {
        let little = ((taster as f64 * 7.0 + share * 40.0) % 3.0 - 1.0) * 0.3;
        json!({"score": day + taster as f64 * 0.5 - 8.0 * (share - 0.6) * (share - 0.6) + little})
    }
}

/// A rank by the same liking.
fn rank(tenths: &'static [u32]) -> impl Fn(usize, f64) -> Value {
    move |_, share| {
        let off = |share: f64| (share - 0.6).abs() + share * 0.01;
        let before = tenths.iter().filter(|&&it| off(f64::from(it) / 10.0) < off(share)).count();
        json!({"rank": before + 1})
    }
}

fn reveal(trial: &str) -> Value {
    json!({"kind": "trial_revealed", "trial": trial})
}

fn first() -> Cellar {
    rated(Cellar::furnished().given(sitting("Q", None, 1, &FIRST)), "Q", 1, &FIRST, score(14.0))
}

fn second(cellar: Cellar, give: impl Fn(usize, f64) -> Value) -> Cellar {
    rated(cellar.given(sitting("R", Some("Q"), 2, &SECOND)), "R", 2, &SECOND, give).given(reveal("R"))
}

fn reading(cellar: &Cellar, trial: &str) -> TrialReading {
    cellar.state.trials.by_label(trial).unwrap().opened().unwrap().reading(&cellar.state)
}

fn names(reading: &TrialReading) -> Vec<String> {
    reading.poured.iter().map(ToString::to_string).collect()
}

#[test]
fn what_two_sittings_said_is_read_together_and_said() {
    let both = second(first().given(reveal("Q")), score(11.0));
    let read = reading(&both, "R");
    assert_eq!(read.together, [Label::new("Q").unwrap()]);
    let words = read.surface_words();
    assert_eq!(words[1], "Read together with Q: 11 glasses in two sittings.");
    assert!((read.best().unwrap().1.shares[0] - 0.6).abs() < 0.06, "{words:?}");
    let tasting = &read.surface.as_ref().unwrap().details.tasting;
    assert_eq!((tasting.rows.len(), tasting.tasters.len()), (33, 3));
    // Its own glasses alone are listed by their places.
    assert_eq!((read.glasses.len(), names(&read)[4].as_str(), names(&read)[5].as_str()), (5, "204", "100 of Q"));
    let firsts: Vec<String> = {
        let outlook = both.state.trials.by_label("R").unwrap().opened().unwrap().outlook(&both.state, &read);
        outlook.ratios.iter().map(|it| it.ratio.to_string()).collect()
    };
    // The first day was scored three points higher, which puts none of its glasses first.
    for first in ["glass 202", "glass 203, 103 of Q", "glass 204"] {
        assert!(firsts.iter().any(|it| it == first), "{first}: {firsts:?}");
    }
    // Alone it knows less, and the first says where both are read.
    let alone = reading(&first().given(reveal("Q")), "Q");
    assert!(alone.together.is_empty() && !alone.remarks.iter().any(|it| it.contains("sitting")), "{:?}", alone.remarks);
    let told = "R was a second sitting after this one: what both say together stands there.";
    assert!(reading(&both, "Q").remarks.iter().any(|it| it == told));
    let one = both.state.trials.by_label("R").unwrap().opened().unwrap();
    let one = one.to_read(&both.state, Some(&Label::new("ben").unwrap()));
    assert_eq!((one.question().tasters.as_slice(), one.question().ratings.len()), (&["ben".to_owned()][..], 11));
}

#[test]
fn a_first_sitting_is_left_out_while_it_is_sealed_and_where_it_was_something_else() {
    let why = |cellar: &Cellar, part: &str| {
        let read = reading(cellar, "R");
        assert!(read.together.is_empty() && names(&read).len() == 5, "{part}: {:?}", read.together);
        let why = format!("The sitting Q is not read with this one: {part}.");
        assert!(read.remarks.contains(&why), "{part}: {:?}", read.remarks);
    };
    let sealed = second(first(), score(11.0));
    why(&sealed, "its key is still sealed; once it is revealed, both are read together");
    assert_eq!(reading(&sealed.given(reveal("Q")), "R").together.len(), 1);
    // T is emptied and filled with another lot in between.
    let other = first().given(reveal("Q")).given(tank_of("X", 3_000)).given(moved("T", "X", 1_550 * LITRE));
    let wine = json!({
        "kind": "wine_received", "vessel": "T", "lot": "S",
        "parts": [{"origin": "block-2", "volume_ul": 500 * LITRE}],
    });
    why(&second(other.given(wine), score(11.0)), "T held another wine then");
    let swapped = {
        let mut trial = sitting("Q", None, 1, &FIRST);
        trial["components"] = json!([{"vessel": "U"}, {"vessel": "T"}]);
        rated(Cellar::furnished().given(trial), "Q", 1, &FIRST, score(14.0)).given(reveal("Q"))
    };
    why(&second(swapped, score(11.0)), "it was of other vessels");
    why(&second(first().given(reveal("Q")), rank(&SECOND)), "nothing was ranked there");
    // Of logs that were merged the first may be missing, or come to name the second.
    let lost = Cellar::furnished().loaded(sitting("R", Some("Q"), 2, &SECOND));
    let lost = rated(lost, "R", 2, &SECOND, score(11.0)).given(reveal("R"));
    why(&lost, "no trial of that name is here");
    Cellar::furnished().when(sitting("R", Some("Q"), 2, &SECOND)).then_counted_in_doubt("No trial is called 'Q'.");
}

#[test]
fn ranks_of_two_sittings_are_read_together() {
    let ranked = rated(Cellar::furnished().given(sitting("Q", None, 1, &FIRST)), "Q", 1, &FIRST, rank(&FIRST));
    let both = second(ranked.given(reveal("Q")), rank(&SECOND));
    let read = reading(&both, "R");
    assert_eq!(read.together.len(), 1);
    let (found, best) = read.best().unwrap();
    assert!(found.is_of_ranks() && (best.shares[0] - 0.6).abs() < 0.06, "{:?}", read.surface_words());
}

/// A second sitting is laid out from ranks as from scores; it says what it is, never that its glasses are by free hand.
#[test]
fn a_second_sitting_is_laid_out_from_ranks_too() {
    let asked = || TrialAsked {
        trial: Label::new("R").unwrap(),
        from: Vec::new(),
        after: None,
        available: Vec::new(),
        reserve: Vec::new(),
        free_hand: Vec::new(),
        kind: Kind::Spread,
        model: Model::Quadratic,
        count: Some(6),
        repeats: None,
        tries: USUAL_TRIES,
        bounds: Vec::new(),
        limits: Vec::new(),
        litres: None,
        glass: Volume::from_ml(50),
        read: Volume::from_ul(500),
        panel: Vec::new(),
        flight: 15,
        most: 45,
        seed: 7,
    };
    let laid = |cellar: &Cellar| {
        let state = &cellar.state;
        let asked = state.second_sitting(state.trials.by_label("Q").unwrap(), asked())?;
        let search = |region: &_, wanted: &_| {
            barrelwalk::reckon::mixture::design::lay_out(region, wanted, &|| false, &mut |_| {})
        };
        state.lay_out_trial(asked, &NewWood::default(), search)
    };
    let set = Cellar::furnished().given(sitting("Q", None, 1, &FIRST));
    assert!(matches!(laid(&set), Err(NoLayout::NothingSaid(_))));
    let ranked = rated(set, "Q", 1, &FIRST, rank(&FIRST));
    let laid = laid(&ranked).unwrap();
    let fact = laid.sealed(&ranked.state, Label::new("5a1ad").unwrap()).unwrap();
    assert_eq!((fact.after.as_ref().unwrap().as_str(), fact.glasses.len(), fact.panel.len()), ("Q", 6, 3));
    let judged = laid.judged();
    assert!(judged.starts_with("6 glasses of a second sitting after Q:") && !judged.contains("free hand"), "{judged}");
    // Between the glasses that were liked best something new is poured.
    let tenths: Vec<u32> = fact.glasses.iter().map(|glass| glass.shares.millionths()[0] / 1_000).collect();
    assert!(tenths[3..].iter().any(|share| (500..=700).contains(share)), "{tenths:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]
    /// How high a day was scored says nothing of the ratio.
    #[test]
    fn the_level_of_a_day_changes_nothing(day in 4.0..18.0_f64) {
        let at = |level: f64| {
            let first = rated(Cellar::furnished().given(sitting("Q", None, 1, &FIRST)), "Q", 1, &FIRST, score(level));
            let read = reading(&second(first.given(reveal("Q")), score(11.0)), "R");
            let found = read.surface.unwrap();
            let best = found.advice().unwrap();
            (best.shares.clone(), best.middle.below, found.gate.p)
        };
        let ((shares, below, p), (other, also_below, also_p)) = (at(14.0), at(day));
        prop_assert!(shares.iter().zip(&other).all(|(one, other)| (one - other).abs() < 1e-6), "{:?} {:?}", shares, other);
        prop_assert!((below - also_below).abs() < 1e-6 && (p - also_p).abs() < 1e-9, "{} {}", below, also_below);
    }
}
