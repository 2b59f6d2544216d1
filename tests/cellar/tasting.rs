//! A vessel's wine was tasted; words about anything.

use barrelwalk::cellar::core::history::Event;
use barrelwalk::cellar::jobs::bench::bench_tasting::Pick;
use serde_json::json;

use crate::support::given::{Cellar, LITRE};

#[test]
fn the_last_taste_stands_on_the_card() {
    let cellar = Cellar::furnished()
        .given(json!({"kind": "tasted", "vessel": "B1", "score": 12}))
        .given(json!({"kind": "tasted", "vessel": "B1", "score": 14.5, "marks": ["plum"], "text": "a little closed"}));
    let Some(taste) = &cellar.vessel("B1").taste else { panic!("no taste") };
    assert_eq!((taste.score, taste.marks.len(), taste.at), (Some(14.5), 1, cellar.now()));
    assert_eq!(cellar.vessel("B1").history.lines().next_back().map(|line| line.event), Some(Event::Tasted(Some(14.5))));
}

#[test]
fn words_or_marks_alone_are_a_taste() {
    Cellar::furnished().given(json!({"kind": "tasted", "vessel": "B1", "marks": ["plum"]}));
    Cellar::furnished().given(json!({"kind": "tasted", "vessel": "B1", "text": "plum"}));
}

#[test]
fn the_ends_of_the_scale_belong_to_it() {
    for score in [0.0, 20.0] {
        Cellar::furnished().given(json!({"kind": "tasted", "vessel": "B1", "score": score}));
    }
    for score in [-0.1, 20.1, 1e300] {
        Cellar::furnished()
            .when(json!({"kind": "tasted", "vessel": "B1", "score": score}))
            .then_has_no_effect("A score lies between 0 and 20");
    }
}

#[test]
fn what_is_no_taste_is_refused() {
    let silent = json!({"kind": "tasted", "vessel": "B1", "marks": []});
    Cellar::furnished().when(silent).then_has_no_effect("Nothing is said about the taste of B1");
    Cellar::furnished()
        .when(json!({"kind": "tasted", "vessel": "nobody", "score": 3}))
        .then_has_no_effect("No vessel is called 'nobody'");
    let cellar = Cellar::furnished()
        .when(json!({"kind": "tasted", "vessel": "E", "score": 3}))
        .then_counted_in_doubt("E holds nothing by the book");
    assert!(cellar.vessel("E").taste.is_some());
}

#[test]
fn words_may_be_about_anything_and_stand_on_a_vessels_card() {
    let cellar = Cellar::furnished()
        .given(json!({"kind": "noted", "about": "the drain", "text": "blocked"}))
        .given(json!({"kind": "noted", "about": "B1", "text": "seeps at the head"}));
    assert_eq!(cellar.vessel("B1").history.lines().next_back().map(|line| line.event), Some(Event::Noted));
}

#[test]
fn a_card_remembers_the_last_six() {
    let note = |text: &str| json!({"kind": "noted", "about": "B1", "text": text});
    let cellar = (0..10).fold(Cellar::furnished(), |cellar, number| cellar.given(note(&number.to_string())));
    let numbers: Vec<u64> = cellar.vessel("B1").history.lines().map(|line| line.id.n).collect();
    let last = cellar.state.facts;
    assert_eq!(numbers, (last - 5..=last).collect::<Vec<_>>());
}

#[test]
fn a_house_adds_to_the_words() {
    let cellar = Cellar::furnished()
        .given(json!({"kind": "mark_declared", "mark": "kelp", "fault": true, "key": "ke"}))
        .given(json!({"kind": "mark_declared", "mark": "closed", "fault": true}))
        .given(json!({"kind": "mark_declared", "mark": "reduction", "fault": false, "key": "rdu"}))
        .given(json!({"kind": "tasted", "vessel": "B1", "marks": ["kelp"]}));
    let state = &cellar.state;
    let said = |word: &str| state.mark_called(word).map(|mark| (mark.mark.as_str(), mark.fault));
    assert_eq!(
        [said("ke"), said("cs"), said("h2s")],
        [Some(("kelp", true)), Some(("closed", true)), Some(("reduction", false))]
    );
    assert_eq!([said("rdu"), said("re")], [Some(("reduction", false)), None]);
    assert_eq!(cellar.vessel("B1").taste.as_ref().map(|taste| taste.has_fault(state)), Some(true));
    let again = cellar.given(json!({"kind": "mark_declared", "mark": "Kelp", "fault": false}));
    assert_eq!(again.vessel("B1").taste.as_ref().map(|taste| taste.has_fault(&again.state)), Some(false));
    assert_eq!(again.state.house_marks.len(), 3);
}

#[test]
fn what_cannot_be_typed_is_no_mark() {
    for (fact, part) in [
        (json!({"kind": "mark_declared", "mark": "plum, ripe"}), "cannot be a mark"),
        (json!({"kind": "mark_declared", "mark": "15"}), "cannot be a mark"),
        (json!({"kind": "mark_declared", "mark": "kelp", "key": "K"}), "cannot be typed as a key"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
}

#[test]
fn a_key_that_two_words_claim_means_the_first() {
    let cellar = Cellar::furnished()
        .given(json!({"kind": "mark_declared", "mark": "kelp", "key": "ke"}))
        .when(json!({"kind": "mark_declared", "mark": "kerosene", "key": "ke"}))
        .then_counted_in_doubt("'ke' stands for kelp already");
    assert_eq!(cellar.state.mark_called("ke").map(|mark| mark.mark.as_str()), Some("kelp"));
    assert!(cellar.state.mark_called("kerosene").is_some());
}

#[test]
fn ten_barrels_of_a_lot_are_picked_by_their_wood() {
    let mut cellar = Cellar::furnished().given(json!({"kind": "lot_opened", "lot": "P", "colour": "red"}));
    for number in 0..24 {
        let cooper = if number < 20 { "Common" } else { ["North", "South", "East", "West"][number - 20] };
        cellar = cellar
            .given(json!({"kind": "vessel_registered", "vessel": format!("P{number:02}"), "type": "barrel", "capacity_ul": 225 * LITRE, "cooper": cooper, "forest": "Vosges"}))
            .given(json!({"kind": "wine_received", "vessel": format!("P{number:02}"), "lot": "P", "parts": [{"origin": "block-1", "volume_ul": 225 * LITRE}]}));
    }
    let lot = cellar.vessel("P00").lot.unwrap_or_else(|| panic!("no lot"));
    let picked = |pick, seed| {
        let ids = cellar.state.picked_for_bench(lot, pick, seed);
        ids.into_iter().map(|id| cellar.state.vessels.get(id).label.to_string()).collect::<Vec<_>>()
    };
    for seed in 0..20 {
        for pick in [Pick::Spread, Pick::Chance] {
            let mut labels = picked(pick, seed);
            labels.sort();
            labels.dedup();
            assert_eq!(labels.len(), 10);
        }
        // The four that stand alone are in every pick by spread.
        let spread = picked(Pick::Spread, seed);
        assert!(["P20", "P21", "P22", "P23"].iter().all(|rare| spread.iter().any(|label| label == rare)), "{spread:?}");
    }
    assert_ne!(picked(Pick::Chance, 1), picked(Pick::Chance, 2));
}
