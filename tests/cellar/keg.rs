//! The keg binds the walk: what is poured from a vessel into which barrels, and what is asked before wine of another lot is.

#![allow(clippy::unwrap_used)] // in what the tests of this module share

use barrelwalk::cellar::core::fact::What;
use barrelwalk::cellar::core::state::{RoundId, VesselId};
use barrelwalk::cellar::views::floor::stretch::LeftOut;
use barrelwalk::cellar::views::topping::walk::{Hose, topped as topping};
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, barrel_of, moved, placed, topped};

fn keg(label: &str) -> Value {
    json!({"kind": "vessel_registered", "vessel": label, "type": "keg", "capacity_ul": 50 * LITRE})
}

fn changed(from: &str, lot: Option<&str>) -> Value {
    json!({"kind": "source_changed", "round": "r", "from": from, "lot": lot})
}

/// Row B of four barrels, one after the other of lots R and S, a keg of each lot, three weeks after the barrels were filled,
/// and a round under way from the keg of R. `B1` and `B2` of R lie in row A.
fn two_lots() -> Cellar {
    let barrels = [("C1", "T", 'a'), ("C2", "U", 'b'), ("C3", "T", 'c'), ("C4", "U", 'd')];
    let cellar = barrels.into_iter().fold(Cellar::furnished(), |cellar, (label, tank, side)| {
        let place = format!("long/B-01-1-{side}");
        cellar.given(barrel_of(label, 225)).given(placed(label, &place)).given(moved(tank, label, 225 * LITRE))
    });
    let cellar = cellar.given(keg("K1")).given(keg("K2")).given(moved("T", "K1", 30 * LITRE));
    let cellar = cellar.given(moved("U", "K2", 40 * LITRE)).days(21);
    cellar.given(json!({"kind": "round_begun", "round": "r", "room": "long", "from": "K1"}))
}

fn round(cellar: &Cellar) -> RoundId {
    cellar.state.rounds.find("r").unwrap()
}

fn id(cellar: &Cellar, label: &str) -> VesselId {
    cellar.state.vessels.find(label).unwrap()
}

fn labels(cellar: &Cellar, ids: &[VesselId]) -> Vec<String> {
    ids.iter().map(|&id| cellar.state.vessels.get(id).label.to_string()).collect()
}

/// The whole room by one key.
fn stretch(cellar: &Cellar) -> (Vec<String>, Option<String>) {
    let slots = cellar.state.rooms.by_label("long").unwrap().slots.len();
    let stretch = cellar.state.stretch(round(cellar), 0..slots, cellar.now());
    (labels(cellar, &stretch.topped), cellar.state.left_out_words(&stretch))
}

fn questions(cellar: &Cellar, whats: &[What]) -> Vec<String> {
    cellar.state.questions(whats, cellar.now()).iter().map(ToString::to_string).collect()
}

fn pour(cellar: &Cellar, into: &str, from: &str, volume: Volume) -> What {
    let label = |label: &str| cellar.vessel(label).label.clone();
    topping(&label(into), &label(from), volume, true)
}

#[test]
fn one_key_pours_only_into_barrels_that_the_plan_gives_the_keg() {
    let cellar = two_lots();
    let plan = cellar.state.plan_round(cellar.state.rooms.find("long").unwrap(), cellar.now());
    let given: Vec<(VesselId, usize)> = plan.draws.iter().map(|draw| (draw.source, draw.barrels)).collect();
    assert_eq!(given, [(id(&cellar, "K1"), 4), (id(&cellar, "K2"), 2)]);
    let (poured, left_out) = stretch(&cellar);
    assert_eq!(poured, ["B1", "B2", "C1", "C3"]);
    assert_eq!(left_out.as_deref(), Some("Left out: 2 to top from K2 (C2, C4)."));
    assert_eq!(cellar.state.hose(round(&cellar), id(&cellar, "C2"), cellar.now()), Hose::Other(id(&cellar, "K2")));
}

#[test]
fn the_walk_does_the_kegs_barrels_first_and_then_says_which_keg_is_next() {
    let mut cellar = two_lots();
    for label in ["B1", "B2", "C1", "C3"] {
        cellar = cellar.given(topped(label, "K1", LITRE));
    }
    let after = cellar.vessel("C3").slot.unwrap().index as usize;
    let next = cellar.state.next_stop(round(&cellar), after, cellar.now()).unwrap();
    assert_eq!(Some(next.slot), cellar.vessel("C4").slot.map(|slot| slot.index as usize));
    assert_eq!(next.hose, Hose::Other(id(&cellar, "K2")));
    let cellar = cellar.given(changed("K2", None));
    let next = cellar.state.next_stop(round(&cellar), after, cellar.now()).unwrap();
    assert_eq!(next.hose, Hose::InHand);
    // The plan of the open round speaks of what is left.
    let plan = cellar.state.plan_round(cellar.state.rooms.find("long").unwrap(), cellar.now());
    assert_eq!(labels(&cellar, &plan.stops.iter().map(|stop| stop.vessel).collect::<Vec<_>>()), ["C2", "C4"]);
}

/// A keg of the same lot as the one in hand is as near: what was begun with goes on, however full the other is.
#[test]
fn the_keg_in_hand_goes_on_beside_a_fuller_one_of_its_lot() {
    let cellar = two_lots().given(keg("K3")).given(moved("T", "K3", 45 * LITRE));
    assert_eq!(stretch(&cellar).0, ["B1", "B2", "C1", "C3"]);
    let cellar = cellar.given(changed("K3", None));
    assert_eq!(stretch(&cellar).0, ["B1", "B2", "C1", "C3"]);
}

/// Three weeks of a new barrel are 3.0 L: a keg of 7 L tops two and has run out for the third.
#[test]
fn a_keg_that_runs_out_within_a_row_is_told() {
    let cellar = two_lots().given(moved("K1", "T", 23 * LITRE));
    let (poured, left_out) = stretch(&cellar);
    assert_eq!(poured, ["B1", "B2"]);
    assert_eq!(left_out.as_deref(), Some("Left out: 2 to top from T (C1, C3); 2 to top from K2 (C2, C4)."));
}

/// 3.0 L for each of two barrels of 225 L: 6.0 L are 1.3 % of 450 L. Both lots are of one block, so no claim is lost.
#[test]
fn wine_of_another_lot_is_asked_about_once_before_the_first_litre() {
    let cellar = two_lots();
    let first = [pour(&cellar, "C2", "K1", Volume::from_litres(3))];
    let asked = "K1 holds R, not S: 6.0 L for 2 barrels of S, 1.3 % of their wine; no claim is lost.";
    assert_eq!(questions(&cellar, &first), [asked]);
    // Of several at one key it is asked once as well.
    let both = [pour(&cellar, "C2", "K1", Volume::from_litres(3)), pour(&cellar, "C4", "K1", Volume::from_litres(3))];
    assert_eq!(questions(&cellar, &both), [asked]);
    let own = [pour(&cellar, "C1", "K1", Volume::from_litres(3))];
    assert_eq!(questions(&cellar, &own), Vec::<String>::new());
    // Once it was poured, that keg tops the lot in this round like its own …
    let cellar = cellar.given(topped("C2", "K1", 3 * LITRE));
    let second = [pour(&cellar, "C4", "K1", Volume::from_litres(3))];
    assert_eq!(questions(&cellar, &second), Vec::<String>::new());
    assert_eq!(stretch(&cellar), (["B1", "B2", "C1", "C3", "C4"].map(str::to_owned).to_vec(), None));
    // … and the next round asks again.
    let cellar = cellar.given(json!({"kind": "round_ended", "round": "r", "room": "long"})).days(21);
    let cellar = cellar.given(json!({"kind": "round_begun", "round": "r2", "room": "long", "from": "K1"}));
    let again = [pour(&cellar, "C4", "K1", Volume::from_litres(3))];
    assert_eq!(questions(&cellar, &again).len(), 1, "{:?}", questions(&cellar, &again));
}

#[test]
fn whoever_chooses_a_keg_for_another_lot_says_so_when_it_is_chosen() {
    let cellar = two_lots();
    let what: What = serde_json::from_value::<barrelwalk::cellar::jobs::topping::round::SourceChanged>(
        json!({"round": "r", "from": "K1", "lot": "S"}),
    )
    .unwrap()
    .into();
    assert_eq!(questions(&cellar, &[what]).len(), 1);
    let cellar = cellar.given(changed("K1", Some("S")));
    assert_eq!(stretch(&cellar), (["B1", "B2", "C1", "C2", "C3", "C4"].map(str::to_owned).to_vec(), None));
    let pouring = [pour(&cellar, "C2", "K1", Volume::from_litres(3))];
    assert_eq!(questions(&cellar, &pouring), Vec::<String>::new());
}

/// White wine is never poured into red, however empty the red kegs are.
#[test]
fn what_no_vessel_of_its_colour_can_top_is_said() {
    let held = |vessel: &str| json!({"kind": "held", "vessel": vessel, "why": "kept back"});
    let cellar = ["K1", "K2", "T", "U"].into_iter().fold(two_lots(), |cellar, vessel| cellar.given(held(vessel)));
    assert_eq!(labels(&cellar, &cellar.state.sources()), ["V"]);
    let slots = cellar.state.rooms.by_label("long").unwrap().slots.len();
    let stretch = cellar.state.stretch(round(&cellar), 0..slots, cellar.now());
    assert!(stretch.topped.is_empty() && stretch.left_out.iter().all(|(_, why)| *why == LeftOut::NoVessel));
}

#[test]
fn a_vessel_in_an_open_work_is_no_topping_vessel() {
    let cellar = two_lots();
    assert_eq!(labels(&cellar, &cellar.state.sources()), ["K2", "K1", "T", "U", "V"]);
    let stops = |vessel: &str| json!([{"vessel": vessel, "volume_ul": 225 * LITRE}]);
    let racking = json!({"kind": "work_set", "work": "w", "task": "racking", "to": "U", "stops": stops("C2")});
    let cellar = cellar.given(racking);
    assert_eq!(labels(&cellar, &cellar.state.sources()), ["K2", "K1", "T", "V"]);
    let down = json!({"kind": "work_set", "work": "d", "task": "barrel_down", "from": "T", "stops": stops("E")});
    let cellar = cellar.given(down);
    assert_eq!(labels(&cellar, &cellar.state.sources()), ["K2", "K1", "V"]);
    let ended = |work: &str| json!({"kind": "work_ended", "work": work});
    let cellar = cellar.given(ended("w")).given(ended("d"));
    assert_eq!(labels(&cellar, &cellar.state.sources()), ["K2", "K1", "T", "U", "V"]);
}
