//! Barrels at no place are topped in the rounds of one room.

#![allow(clippy::unwrap_used)] // in what the tests of this module share

use barrelwalk::cellar::core::state::{RoomId, RoundId, VesselId};
use barrelwalk::cellar::jobs::topping::round::Mark;
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, barrel_of, moved, placed, topped, topped_in_part};

fn nowhere(label: &str) -> Value {
    json!({"kind": "vessel_placed", "vessel": label, "place": null})
}

fn begun(round: &str, room: &str) -> Value {
    json!({"kind": "round_begun", "round": round, "room": room, "from": "T"})
}

fn ended(round: &str, room: &str) -> Value {
    json!({"kind": "round_ended", "round": round, "room": room})
}

fn room(cellar: &Cellar, label: &str) -> RoomId {
    cellar.state.rooms.find(label).unwrap()
}

fn round(cellar: &Cellar, label: &str) -> RoundId {
    cellar.state.rounds.find(label).unwrap()
}

fn id(cellar: &Cellar, label: &str) -> VesselId {
    cellar.state.vessels.find(label).unwrap()
}

fn labels(cellar: &Cellar, ids: impl IntoIterator<Item = VesselId>) -> Vec<String> {
    ids.into_iter().map(|id| cellar.state.vessels.get(id).label.to_string()).collect()
}

fn planned(cellar: &Cellar, of: &str) -> Vec<String> {
    let plan = cellar.state.plan_round(room(cellar, of), cellar.now());
    labels(cellar, plan.stops.iter().map(|stop| stop.vessel))
}

fn progress(cellar: &Cellar, label: &str) -> (u32, u32, u32, u32) {
    let progress = cellar.state.progress(round(cellar, label), None, cellar.now());
    (progress.done, progress.of, progress.skipped, progress.in_part)
}

/// The furnished cellar with a second room; B2 was lifted out of its rack, `new` was filled and lies nowhere yet.
fn cellar() -> Cellar {
    Cellar::furnished()
        .given(json!({"kind": "room_laid_out", "room": "cave", "rows": [{"row": "E", "stacks": 1, "tiers": 1, "sides": 2}]}))
        .given(barrel_of("new", 225))
        .given(moved("T", "new", 225 * LITRE))
        .given(nowhere("B2"))
        .days(21)
}

#[test]
fn a_barrel_at_no_place_belongs_to_the_room_it_came_from_else_to_its_lots() {
    let cellar = cellar();
    assert_eq!(planned(&cellar, "long"), ["B1", "B2", "new"]);
    assert_eq!(planned(&cellar, "cave"), Vec::<String>::new());
    // Where it last lay goes before where its lot lies.
    let carried = cellar.clone().given(placed("new", "cave/E-01-1-a")).given(nowhere("new"));
    assert_eq!(planned(&carried, "long"), ["B1", "B2"]);
    assert_eq!(planned(&carried, "cave"), ["new"]);
    // A lot that lies nowhere is topped with the first room.
    let alone = cellar.given(barrel_of("S1", 225)).given(moved("U", "S1", 225 * LITRE));
    assert_eq!(planned(&alone, "long"), ["B1", "B2", "new", "S1"]);
    let plan = alone.state.plan_round(room(&alone, "long"), alone.now());
    let words = "3 of them lie at no place: B2, new, S1.";
    assert_eq!(alone.state.unplaced_words(&plan).as_deref(), Some(words));
    assert!(plan.expected > Volume::from_litres(8));
}

#[test]
fn the_round_walks_to_it_last_and_counts_it() {
    let cellar = cellar().given(begun("r", "long"));
    let turn = |cellar: &Cellar, label: &str| {
        let (slot, home) = (cellar.vessel(label).slot, room(cellar, "long"));
        slot.map_or_else(|| cellar.state.turn_at_no_place(home, id(cellar, label)).unwrap(), |slot| slot.index as usize)
    };
    let next = |cellar: &Cellar, after: &str| {
        let next = cellar.state.next_stop(round(cellar, "r"), turn(cellar, after), cellar.now())?;
        Some(cellar.state.vessels.get(next.vessel).label.to_string())
    };
    assert_eq!(progress(&cellar, "r"), (0, 3, 0, 0));
    assert_eq!(next(&cellar, "B1").as_deref(), Some("B2"));
    assert_eq!(next(&cellar, "B2").as_deref(), Some("new"));
    assert_eq!(next(&cellar, "new").as_deref(), Some("B1"));
    let skipped = json!({"kind": "skipped", "vessel": "new", "round": "r"});
    let cellar = cellar.given(topped("B2", "T", LITRE)).given(skipped);
    assert_eq!(progress(&cellar, "r"), (1, 3, 1, 0));
    assert_eq!(
        cellar.state.rounds.get(round(&cellar, "r")).marks[&id(&cellar, "B2")],
        Mark::Topped(Volume::from_litres(1))
    );
    assert!(cellar.state.is_of_round(round(&cellar, "r"), id(&cellar, "B2"), cellar.now()));
    // What was skipped is come back to.
    let cellar = cellar.given(topped("B1", "T", LITRE));
    assert_eq!(next(&cellar, "B1").as_deref(), Some("new"));
    let cellar = cellar.given(topped_in_part("new", "T", 500_000));
    assert_eq!(progress(&cellar, "r"), (2, 3, 0, 1));
    let cellar = cellar.given(topped("new", "T", LITRE));
    assert_eq!((progress(&cellar, "r"), next(&cellar, "new")), ((3, 3, 0, 0), None));
    assert_eq!(cellar.state.rounds.get(round(&cellar, "r")).topped, 3);
}

/// Whoever walks the only round that is open and comes upon it there tops it in that round.
#[test]
fn it_is_topped_in_the_only_round_that_is_open() {
    let cellar = cellar().given(begun("c", "cave")).given(topped("B2", "T", LITRE));
    assert_eq!(progress(&cellar, "c"), (1, 1, 0, 0));
    // Its own room's round goes before.
    let both = cellar.given(begun("r", "long")).given(topped("new", "T", LITRE));
    assert_eq!(progress(&both, "c"), (1, 1, 0, 0));
    assert_eq!(progress(&both, "r").0, 1);
    let closed = both.given(ended("c", "cave"));
    assert_eq!(planned(&closed, "cave"), Vec::<String>::new());
}

/// A keg that is filled up, a held barrel, an empty one and one that others are topped from are none of the barrels to top.
#[test]
fn topping_vessels_at_no_place_are_not_topped_themselves() {
    let keg = json!({"kind": "vessel_registered", "vessel": "K", "type": "keg", "capacity_ul": 50 * LITRE});
    let cellar = cellar().given(keg).given(moved("T", "K", 20 * LITRE));
    let begun_from = |source: &str| json!({"kind": "round_begun", "round": "r", "room": "long", "from": source});
    assert_eq!(planned(&cellar.clone().given(begun_from("new")), "long"), ["B1", "B2"]);
    let poured = cellar.clone().given(topped("B1", "new", LITRE));
    assert_eq!(planned(&poured, "long"), ["B1", "B2"]);
    assert_eq!(planned(&poured.given(topped("new", "T", LITRE)), "long"), ["B1", "B2", "new"]);
    let held = cellar.clone().given(json!({"kind": "held", "vessel": "new", "why": "mould"}));
    let plan = held.state.plan_round(room(&held, "long"), held.now());
    assert_eq!(labels(&held, plan.held), ["new"]);
    // It is broken for topping only where somebody chooses it, though it is offered.
    let without =
        |cellar: Cellar, label: &str| cellar.given(json!({"kind": "held", "vessel": label, "why": "kept back"}));
    let alone = ["T", "U", "K"].iter().fold(cellar, |cellar, label| without(cellar, label));
    let plan = alone.state.plan_round(room(&alone, "long"), alone.now());
    assert!(plan.draws.is_empty() && plan.sources.contains(&id(&alone, "new")));
    let chosen = alone.state.plan_round_from(room(&alone, "long"), Some(id(&alone, "new")), alone.now());
    assert_eq!(
        labels(&alone, chosen.stops.iter().filter(|stop| stop.from.is_some()).map(|stop| stop.vessel)),
        ["B1", "B2"]
    );
}

#[test]
fn skipping_it_needs_a_round_that_it_belongs_to() {
    let cellar = cellar().given(begun("c", "cave")).given(begun("r", "long"));
    let skipped = |round: &str| json!({"kind": "skipped", "vessel": "B2", "round": round});
    let cellar = cellar.when(skipped("c")).then_refused("B2 does not lie in cave");
    assert_eq!(progress(&cellar.given(skipped("r")), "r").2, 1);
}

/// A barrel that is laid down, or is gone, is at no place no longer.
#[test]
fn the_list_of_those_at_no_place_follows_them() {
    let cellar = Cellar::furnished().given(barrel_of("new", 225));
    let there = |cellar: &Cellar| cellar.state.unplaced.contains(&id(cellar, "new"));
    assert!(there(&cellar));
    let laid = cellar.given(placed("new", "long/B-01-1-a"));
    assert!(!there(&laid));
    let lifted = laid.given(nowhere("new"));
    assert!(there(&lifted));
    assert!(!there(&lifted.given(json!({"kind": "vessel_retired", "vessel": "new", "why": "sold"}))));
}
