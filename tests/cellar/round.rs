//! A walk through a room.

use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, barrel_of, moved, placed, topped, topped_in_part};

fn begun(round: &str) -> Value {
    json!({"kind": "round_begun", "round": round, "room": "long", "from": "T"})
}

fn ended(round: &str) -> Value {
    json!({"kind": "round_ended", "round": round, "room": "long"})
}

fn skipped(vessel: &str, round: &str) -> Value {
    json!({"kind": "skipped", "vessel": vessel, "round": round, "why": "blocked"})
}

/// Six full barrels at B1 B2 / A-02-1 / A-02-2 in the room `long`.
fn six() -> Cellar {
    let places = [("C1", "long/A-02-1-a"), ("C2", "long/A-02-1-b"), ("C3", "long/A-02-2-a"), ("C4", "long/A-02-2-b")];
    places.into_iter().fold(Cellar::furnished(), |cellar, (label, place)| {
        cellar.given(barrel_of(label, 225)).given(placed(label, place)).given(moved("T", label, 225 * LITRE))
    })
}

#[test]
fn a_round_counts_what_is_topped_in_its_room() {
    let cellar = six()
        .given(begun("r"))
        .given(topped("B1", "T", 1_500_000))
        .given(topped("B2", "T", 1_300_000))
        .given(topped_in_part("C1", "T", LITRE))
        .given(topped("C1", "T", 400_000));
    let round = cellar.round("r");
    assert_eq!((round.topped, round.poured, round.ended), (3, Volume::from_ml(4_200), None));
    assert_eq!(round.source.map(|id| cellar.state.vessels.get(id).label.as_str()), Some("T"));
}

#[test]
fn what_lies_elsewhere_is_no_part_of_it() {
    let cellar = six()
        .given(json!({"kind": "room_laid_out", "room": "cave", "rows": [{"row": "E", "stacks": 1, "tiers": 1, "sides": 2}]}))
        .given(json!({"kind": "vessel_placed", "vessel": "B1", "place": "cave/E-01-1-a"}))
        .given(begun("r"))
        .given(topped("B1", "T", LITRE));
    assert_eq!(cellar.round("r").topped, 0);
}

#[test]
fn a_skipped_barrel_is_skipped_until_it_is_topped_and_never_after() {
    let cellar = six().given(begun("r")).given(skipped("B1", "r")).given(skipped("B2", "r"));
    assert_eq!(cellar.skipped("r"), ["B1", "B2"]);
    let cellar = cellar.given(topped("B1", "T", LITRE)).given(skipped("B1", "r"));
    assert_eq!(cellar.skipped("r"), ["B2"]);
    assert_eq!((cellar.round("r").topped, cellar.round("r").poured), (1, Volume::from_litres(1)));
}

#[test]
fn the_summary_stands_after_the_end() {
    let cellar = six()
        .given(begun("r"))
        .given(topped("B1", "T", 1_500_000))
        .given(topped("B2", "T", 4 * LITRE))
        .given(topped("C1", "T", 1_400_000))
        .given(topped("C2", "T", 1_600_000))
        .given(skipped("C3", "r"));
    let thirsty = [("B2", Volume::from_litres(4))];
    assert_eq!(cellar.thirsty("r"), thirsty);
    let cellar = cellar.given(ended("r"));
    let round = cellar.round("r");
    assert_eq!((round.topped, round.poured, round.ended), (4, Volume::from_ml(8_500), Some(cellar.now())));
    assert_eq!((cellar.thirsty("r"), cellar.skipped("r")), (thirsty.to_vec(), vec!["C3"]));
    // A later topping is none of it.
    let cellar = cellar.given(topped("C3", "T", LITRE));
    assert_eq!((cellar.round("r").topped, cellar.skipped("r")), (4, vec!["C3"]));
}

#[test]
fn less_than_a_litre_more_is_the_hands() {
    let cellar = six()
        .given(begun("r"))
        .given(topped("B1", "T", 400_000))
        .given(topped("B2", "T", 400_000))
        .given(topped("C1", "T", 1_300_000));
    assert_eq!(cellar.thirsty("r"), []);
}

#[test]
fn the_source_may_change_on_the_way() {
    let changed = json!({"kind": "source_changed", "round": "r", "from": "U"});
    let cellar = six().given(begun("r")).given(changed.clone());
    assert_eq!(cellar.round("r").source.map(|id| cellar.state.vessels.get(id).label.as_str()), Some("U"));
    cellar.given(ended("r")).when(changed).then_has_no_effect("The round 'r' has ended");
}

#[test]
fn another_round_of_the_room_ends_the_open_one() {
    let cellar = six()
        .given(begun("r"))
        .given(topped("B1", "T", LITRE))
        .when(begun("s"))
        .then_counted_in_doubt("The round 'r' is still open in long")
        .given(topped("B2", "T", LITRE));
    assert_eq!((cellar.round("r").topped, cellar.round("r").ended.is_some()), (1, true));
    assert_eq!((cellar.round("s").topped, cellar.round("s").ended), (1, None));
    cellar.when(ended("r")).then_has_no_effect("The round 'r' has ended");
}

#[test]
fn a_round_is_ended_in_its_own_room() {
    let cave = json!({
        "kind": "room_laid_out", "room": "cave", "rows": [{"row": "A", "stacks": 1, "tiers": 1, "sides": 2}],
    });
    let elsewhere = json!({"kind": "round_ended", "round": "r", "room": "cave"});
    let cellar =
        six().given(cave).given(begun("r")).when(elsewhere).then_counted_in_doubt("The round 'r' goes through long");
    assert!(cellar.round("r").ended.is_some());
    cellar.given(begun("s"));
}

#[test]
fn what_is_no_round_is_refused_and_has_no_effect() {
    let cellar = six().given(begun("q")).given(ended("q")).given(begun("r"));
    let nowhere = json!({"kind": "round_begun", "round": "x", "room": "attic"});
    let from_nobody = json!({"kind": "round_begun", "round": "x", "room": "long", "from": "nobody"});
    let changed = |round: &str, from: &str| json!({"kind": "source_changed", "round": round, "from": from});
    for (fact, part) in [
        (begun("q"), "A round is already called 'q'"),
        (nowhere, "No room is called 'attic'"),
        (from_nobody, "No vessel is called 'nobody'"),
        (ended("x"), "No round is called 'x'"),
        (ended("q"), "The round 'q' has ended"),
        (json!({"kind": "round_ended", "round": "r", "room": "attic"}), "No room is called 'attic'"),
        (skipped("B1", "q"), "The round 'q' has ended"),
        (skipped("B1", "x"), "No round is called 'x'"),
        (skipped("nobody", "r"), "No vessel is called 'nobody'"),
        (skipped("T", "r"), "T does not lie in long"),
        (changed("x", "T"), "No round is called 'x'"),
        (changed("r", "nobody"), "No vessel is called 'nobody'"),
    ] {
        cellar.clone().when(fact).then_has_no_effect(part);
    }
}
