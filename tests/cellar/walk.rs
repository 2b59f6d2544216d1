//! Walking a round: what is left, what comes next, what one key enters.

#![allow(clippy::unwrap_used)] // in what the tests of this module share

use barrelwalk::cellar::core::fact::What;
use barrelwalk::cellar::core::refusal::Refusal;
use barrelwalk::cellar::core::state::{RoundId, VesselId};
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, barrel_of, moved, placed, topped, topped_in_part};

fn round() -> Value {
    json!({"kind": "round_begun", "round": "r", "room": "long", "from": "T"})
}

fn skipped(vessel: &str) -> Value {
    json!({"kind": "skipped", "vessel": vessel, "round": "r"})
}

fn held(vessel: &str) -> Value {
    json!({"kind": "held", "vessel": vessel, "why": "vinegar"})
}

/// Full barrels C1 to C4 in the second stack of the room `long`, and a round under way.
fn walk() -> Cellar {
    let places = [("C1", "long/A-02-1-a"), ("C2", "long/A-02-1-b"), ("C3", "long/A-02-2-a"), ("C4", "long/A-02-2-b")];
    let cellar = places.into_iter().fold(Cellar::furnished(), |cellar, (label, place)| {
        cellar.given(barrel_of(label, 225)).given(placed(label, place)).given(moved("T", label, 225 * LITRE))
    });
    cellar.given(round())
}

fn id(cellar: &Cellar) -> RoundId {
    cellar.state.rounds.find("r").unwrap()
}

fn labels(cellar: &Cellar, ids: &[VesselId]) -> Vec<String> {
    ids.iter().map(|&id| cellar.state.vessels.get(id).label.to_string()).collect()
}

fn left(cellar: &Cellar) -> Vec<String> {
    let stack = cellar.state.rooms.get(cellar.state.rounds.get(id(cellar)).room).slots.len();
    labels(cellar, &cellar.state.left_in(id(cellar), 0..stack, cellar.now()))
        .into_iter()
        .filter(|label| label.starts_with('C'))
        .collect()
}

/// The label of what comes next after a vessel.
fn next(cellar: &Cellar, after: &str) -> Option<String> {
    let state = &cellar.state;
    let slot = state.vessels.by_label(after).unwrap().slot.unwrap();
    let next = state.next_stop(id(cellar), slot.index as usize, cellar.now())?.slot;
    let vessel = state.rooms.get(slot.room).slots[next]?;
    Some(state.vessels.get(vessel).label.to_string())
}

#[test]
fn what_is_topped_skipped_or_held_is_left_out() {
    let cellar = walk();
    assert_eq!(left(&cellar), ["C1", "C2", "C3", "C4"]);
    let cellar = cellar.given(topped("C1", "T", LITRE)).given(skipped("C2")).given(held("C3"));
    assert_eq!(left(&cellar), ["C4"]);
}

#[test]
fn the_walk_goes_on_in_order_and_comes_back_to_what_was_left_open() {
    let cellar = walk();
    assert_eq!(next(&cellar, "C1").as_deref(), Some("C2"));
    let cellar = ["B1", "B2", "C3", "C4"].iter().fold(cellar, |cellar, barrel| {
        let full = !cellar.vessel(barrel).wine.is_empty();
        if full { cellar.given(topped(barrel, "T", LITRE)) } else { cellar }
    });
    let cellar = cellar.given(topped_in_part("C1", "T", LITRE)).given(skipped("C2"));
    assert_eq!(next(&cellar, "C4").as_deref(), Some("C1"));
    assert_eq!(next(&cellar, "C1").as_deref(), Some("C2"));
    let cellar = cellar.given(topped("C1", "T", 100_000)).given(topped("C2", "T", LITRE));
    assert_eq!(next(&cellar, "C2"), None);
}

#[test]
fn progress_is_counted_by_room_and_by_lot() {
    let cellar = walk()
        .given(topped("C1", "T", LITRE))
        .given(topped_in_part("C2", "T", LITRE))
        .given(skipped("C3"))
        .given(held("C4"));
    let of_the_lot = cellar.vessel("C1").lot;
    let progress = cellar.state.progress(id(&cellar), of_the_lot, cellar.now());
    let here = cellar.state.progress(id(&cellar), None, cellar.now());
    assert_eq!((here.done, here.skipped, here.in_part, here.held), (1, 1, 1, 1));
    assert_eq!((progress.done, progress.skipped, progress.in_part, progress.held), (1, 1, 1, 1));
    assert_eq!(here.left() - here.skipped - here.in_part, u32::try_from(full_b(&cellar)).unwrap());
}

/// How many of the furnished barrels hold wine: they lie in the room too.
fn full_b(cellar: &Cellar) -> usize {
    ["B1", "B2"].into_iter().filter(|label| !cellar.vessel(label).wine.is_empty()).count()
}

#[test]
fn a_rolled_barrel_rests_until_it_is_due() {
    let rolled = |cellar: Cellar| {
        let lot = cellar.state.lots.get(cellar.vessel("C1").lot.unwrap()).label.to_string();
        cellar.given(json!({"kind": "stage_set", "lot": lot, "stage": "rolled"}))
    };
    let cellar = rolled(walk());
    assert_eq!(left(&cellar), Vec::<String>::new());
    let vessel = cellar.vessel("C1");
    let later = cellar.now().at_instant(cellar.now().instant() + 101 * 86_400_000_000);
    assert!(cellar.state.belongs_to_a_round(vessel, later));
}

#[test]
fn one_key_enters_what_is_expected_of_each() {
    let cellar = walk();
    let state = &cellar.state;
    let barrels = [state.vessels.find("C1").unwrap(), state.vessels.find("C2").unwrap()];
    let source = state.vessels.find("T").unwrap();
    let in_three_weeks = cellar.now().at_instant(cellar.now().instant() + 21 * 86_400_000_000);
    let (facts, poured) = state.topped_as_expected(&barrels, source, in_three_weeks).unwrap();
    // 20 mL a day for three weeks by the published rate and 2.6 L of soak-in, read to a tenth of a litre.
    assert_eq!(poured, Volume::from_litres(6));
    let each: Vec<Volume> = facts
        .iter()
        .map(|what| match what {
            What::Topped(topped) => topped.volume,
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(each, [Volume::from_litres(3), Volume::from_litres(3)]);
}

#[test]
fn a_source_that_holds_too_little_is_said() {
    let cellar = walk()
        .given(json!({"kind": "vessel_registered", "vessel": "K", "type": "keg", "capacity_ul": 50 * LITRE}))
        .given(moved("T", "K", 300_000));
    let state = &cellar.state;
    let barrel = [state.vessels.find("C1").unwrap()];
    let later = cellar.now().at_instant(cellar.now().instant() + 21 * 86_400_000_000);
    let refused = state.topped_as_expected(&barrel, state.vessels.find("K").unwrap(), later).unwrap_err();
    assert!(matches!(refused, Refusal::SourceTooLow { .. }), "{refused}");
    assert!(refused.to_string().contains("Change the topping vessel"), "{refused}");
}
