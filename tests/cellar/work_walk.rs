//! Walking a work: the facts that one key says, each of which ticks its barrel off.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::core::state::{VesselId, Work, WorkId};
use barrelwalk::cellar::jobs::floor::work::Tick;
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, barrel_of, placed};

fn set(work: &str, rest: &Value, stops: &Value) -> Value {
    let mut fact = json!({"kind": "work_set", "work": work, "stops": stops});
    fact.as_object_mut().unwrap().extend(rest.as_object().unwrap().clone());
    fact
}

fn ids(cellar: &Cellar, work: &str, barrels: &[&str]) -> (WorkId, Vec<VesselId>) {
    let barrels = barrels.iter().map(|label| cellar.state.vessels.find(label).unwrap()).collect();
    (cellar.state.works.find(work).unwrap(), barrels)
}

/// One key at some barrels; its facts are taken.
#[track_caller]
fn done(cellar: Cellar, work: &str, barrels: &[&str]) -> Cellar {
    let (id, barrels) = ids(&cellar, work, barrels);
    let deed = cellar.state.done_as_expected(id, &barrels, cellar.now()).unwrap();
    deed.whats.into_iter().fold(cellar, Cellar::given)
}

#[track_caller]
fn refused(cellar: &Cellar, work: &str, barrels: &[&str], part: &str) {
    let (id, barrels) = ids(cellar, work, barrels);
    let sentence = cellar.state.done_as_expected(id, &barrels, cellar.now()).unwrap_err().to_string();
    assert!(sentence.contains(part), "{sentence}");
}

fn ticks(cellar: &Cellar, work: &str) -> Vec<Option<Tick>> {
    let work: &Work = cellar.state.works.by_label(work).unwrap();
    work.stops.iter().map(|stop| stop.tick).collect()
}

#[test]
fn a_barrel_is_racked_with_the_planned_litres_and_lees_and_is_empty_then() {
    let stops = json!([
        {"vessel": "B1", "volume_ul": 220 * LITRE, "lees_ul": 3 * LITRE},
        {"vessel": "B2", "volume_ul": 221 * LITRE, "lees_ul": 3 * LITRE},
    ]);
    let cellar = Cellar::furnished().given(set("r", &json!({"task": "racking", "to": "U", "lot": "S"}), &stops));
    let half = done(cellar, "r", &["B2"]).holds("B2", 0).holds("U", 1_221 * LITRE).has_lot("U", "S");
    assert_eq!(ticks(&half, "r"), [None, Some(Tick::Done(Volume::from_litres(221)))]);
    let (work, barrels) = ids(&half, "r", &["B1"]);
    let measured = half.state.done_measured(work, barrels[0], Volume::from_litres(217), half.now()).unwrap();
    let all = measured.whats.into_iter().fold(half, Cellar::given).holds("B1", 0).holds("U", 1_438 * LITRE);
    assert_eq!(ticks(&all, "r")[0], Some(Tick::Done(Volume::from_litres(217))));
}

#[test]
fn barrels_are_filled_with_what_they_lack_as_long_as_the_tank_has_it() {
    let stops = json!([{"vessel": "E"}, {"vessel": "E2"}, {"vessel": "B1"}]);
    let cellar = Cellar::furnished()
        .given(barrel_of("E2", 300))
        .given(json!({"kind": "wine_moved", "from": "T", "to": "U", "volume_ul": 1_225 * LITRE, "purpose": "blend"}))
        .given(set("f", &json!({"task": "barrel_down", "from": "T"}), &stops));
    // What is left in T is 325 L: the first barrel is filled, the second gets the rest.
    let filled = done(cellar, "f", &["E", "E2"]).holds("E", 225 * LITRE).holds("E2", 100 * LITRE).holds("T", 0);
    assert_eq!(ticks(&filled, "f")[1], Some(Tick::Done(Volume::from_litres(100))));
    refused(&filled, "f", &["E2"], "T holds nothing by the book");
    refused(&filled, "f", &["B1"], "B1 is full already");
    refused(&filled, "f", &["B2"], "B2 is no barrel of the work 'f'");
}

#[test]
fn additions_and_care_are_said_as_they_were_set() {
    let treating = json!({"task": "treating", "material": "so2"});
    let stops = json!([{"vessel": "B1", "amount_ug": 5_000_000, "volume_ul": 50_000}]);
    let cellar = Cellar::furnished().given(set("s", &treating, &stops)).given(set(
        "c",
        &json!({"task": "caring", "care": "sulfured"}),
        &json!([{"vessel": "E"}]),
    ));
    let (work, barrels) = ids(&cellar, "c", &["E"]);
    let sentence =
        cellar.state.done_measured(work, barrels[0], Volume::from_litres(1), cellar.now()).unwrap_err().to_string();
    assert!(sentence.contains("no litres are measured"), "{sentence}");
    let done = done(done(cellar, "s", &["B1"]), "c", &["E"]);
    let added = &done.vessel("B1").additions[0];
    assert_eq!((added.amount.as_ug(), done.vessel("B1").volume()), (5_000_000, Volume::from_ul(225_050_000)));
    assert_eq!(ticks(&done, "s"), [Some(Tick::Done(Volume::from_ml(50)))]);
    assert_eq!(ticks(&done, "c"), [Some(Tick::Done(Volume::ZERO))]);
}

#[test]
fn of_a_rack_what_is_left_is_done_and_held_barrels_are_not() {
    let stops = json!([{"vessel": "B2"}, {"vessel": "B1"}, {"vessel": "B3"}]);
    let cellar = Cellar::furnished().given(barrel_of("B3", 225)).given(placed("B3", "long/A-02-1-a")).given(set(
        "r",
        &json!({"task": "racking", "to": "U", "lot": "S"}),
        &stops,
    ));
    let room = cellar.state.rooms.find("long").unwrap();
    let left = |cellar: &Cellar, slots: std::ops::Range<usize>| -> Vec<String> {
        let work = cellar.state.works.find("r").unwrap();
        let left = cellar.state.stops_left(work, room, &slots);
        left.into_iter().map(|id| cellar.state.vessels.get(id).label.to_string()).collect()
    };
    assert_eq!(
        (left(&cellar, 0..2), left(&cellar, 0..12)),
        (vec!["B2".into(), "B1".into()], vec!["B2".into(), "B1".into(), "B3".into()])
    );
    let held = cellar.given(json!({"kind": "held", "vessel": "B1", "why": "film"}));
    assert_eq!(left(&held, 0..2), ["B2"]);
    let skipped = held.given(json!({"kind": "skipped", "vessel": "B2", "work": "r"}));
    assert_eq!(left(&skipped, 0..2), [""; 0]);
}
