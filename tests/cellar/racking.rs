//! Racking: the plan to bring a lot into a tank.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::label::Label;
use barrelwalk::cellar::racking::{LeesFound, Racking, RackingAsked};
use barrelwalk::cellar::refusal::Refusal;
use barrelwalk::cellar::work::WorkSet;
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, barrel_of, moved, placed, tank_of};

/// The furnished cellar with an empty tank `X` of 1,000 L, and the lot `R` in two barrels.
fn cellar() -> Cellar {
    Cellar::furnished().given(tank_of("X", 1_000))
}

fn asked(cellar: &Cellar, lot: &str, to: &str) -> RackingAsked {
    let state = &cellar.state;
    RackingAsked {
        lot: state.lots.find(lot).unwrap(),
        racks: Vec::new(),
        to: state.vessels.find(to).unwrap(),
        into: None,
    }
}

fn plan(cellar: &Cellar, lot: &str, to: &str) -> Result<Racking, Refusal> {
    cellar.state.plan_racking(asked(cellar, lot, to), cellar.now())
}

#[track_caller]
fn refused(plan: Result<Racking, Refusal>, part: &str) {
    let sentence = plan.unwrap_err().to_string();
    assert!(sentence.contains(part), "{sentence}");
}

fn labels(cellar: &Cellar, plan: &Racking) -> Vec<String> {
    plan.stops.iter().map(|stop| cellar.state.vessels.get(stop.vessel).label.to_string()).collect()
}

fn racked(barrel: &str, litres: u64) -> Value {
    json!({
        "kind": "wine_moved", "from": barrel, "to": "X", "volume_ul": litres * LITRE, "purpose": "racking",
        "empties": true,
    })
}

#[test]
fn barrels_come_in_walking_order_with_what_the_estimate_says_is_in_them() {
    let cellar = cellar()
        .given(barrel_of("B3", 225))
        .given(placed("B3", "long/A-01-2-b"))
        .given(barrel_of("B0", 225))
        .given(moved("T", "B0", 225 * LITRE))
        .given(moved("T", "B3", 225 * LITRE))
        .days(20);
    let plan = plan(&cellar, "R", "X").unwrap();
    assert_eq!(labels(&cellar, &plan), ["B1", "B2", "B3", "B0"]);
    for stop in &plan.stops {
        let vessel = cellar.state.vessels.get(stop.vessel);
        let estimate = vessel.capacity.saturating_sub(cellar.state.headspace(vessel, cellar.now()).missing);
        let apart = estimate.checked_sub(stop.expected).expect("never more than is there");
        assert!(apart < Volume::from_ml(100) && stop.expected < vessel.volume(), "{stop:?}");
    }
    assert_eq!(plan.expected, plan.stops.iter().map(|stop| stop.expected).sum());
    assert_eq!((plan.room, plan.short(), plan.lees_found), (Volume::from_litres(1_000), Volume::ZERO, None));
}

#[test]
fn held_barrels_and_other_racks_are_left_out() {
    let held = cellar().given(json!({"kind": "held", "vessel": "B2", "why": "film"}));
    let found = plan(&held, "R", "X").unwrap();
    assert_eq!((labels(&held, &found), found.held.len()), (vec!["B1".to_owned()], 1));
    let both = held.given(json!({"kind": "held", "vessel": "B1", "why": "film"}));
    refused(plan(&both, "R", "X"), "is held");
    let cellar = cellar().given(placed("B2", "long/A-02-1-a"));
    let room = cellar.state.rooms.find("long").unwrap();
    let rack = |place: &str| (room, cellar.state.rooms.get(room).rack_slots(&place.parse().unwrap()).unwrap());
    let of_racks = |racks| cellar.state.plan_racking(RackingAsked { racks, ..asked(&cellar, "R", "X") }, cellar.now());
    assert_eq!(labels(&cellar, &of_racks(vec![rack("long/A-02-1")]).unwrap()), ["B2"]);
    refused(of_racks(vec![rack("long/A-02-2")]), "No barrel asked for holds wine of 'R'");
}

#[test]
fn a_tank_that_cannot_take_it_is_refused() {
    let cellar = cellar();
    refused(plan(&cellar, "R", "U"), "U holds the lot 'S'");
    refused(plan(&cellar, "R", "V"), "V holds white wine");
    refused(plan(&cellar, "R", "E"), "E is a barrel");
    refused(plan(&cellar, "W", "X"), "No barrel asked for holds wine of 'W'");
    let into = Some(cellar.state.lots.find("S").unwrap());
    let said = cellar.state.plan_racking(RackingAsked { into, ..asked(&cellar, "R", "U") }, cellar.now()).unwrap();
    let set = said.begin(&cellar.state, Label::new("w").unwrap()).unwrap();
    assert!(serde_json::to_string(&set).unwrap().contains(r#""task":"racking","to":"U","lot":"S""#));
    let full = cellar.given(tank_of("F", 100)).given(moved("T", "F", 100 * LITRE));
    refused(plan(&full, "R", "F"), "F is full with 100 L");
    let small = full.given(tank_of("Y", 300));
    let plan = plan(&small, "R", "Y").unwrap();
    assert_eq!(plan.short(), plan.expected.saturating_sub(Volume::from_litres(300)));
    let begun: Result<WorkSet, Refusal> = plan.begin(&small.state, Label::new("w").unwrap());
    assert!(begun.unwrap_err().to_string().contains("Y has room for 300 L"));
}

#[test]
fn a_barrel_is_in_one_open_racking_only() {
    let cellar = cellar();
    let set = plan(&cellar, "R", "X").unwrap().begin(&cellar.state, Label::new("first").unwrap()).unwrap();
    let begun = cellar.given(barrelwalk::cellar::fact::What::WorkSet(Box::new(set)));
    refused(plan(&begun, "R", "X"), "B1 is still to be done in the work 'first'");
    let ended = begun.given(json!({"kind": "work_ended", "work": "first", "why": "changed our minds"}));
    assert!(plan(&ended, "R", "X").is_ok());
}

#[test]
fn lees_are_the_median_of_what_the_last_rackings_left_behind() {
    let mut cellar = cellar();
    for (barrel, litres) in [("B3", 221), ("B4", 222), ("B5", 220)] {
        cellar =
            cellar.given(barrel_of(barrel, 225)).given(moved("T", barrel, 225 * LITRE)).given(racked(barrel, litres));
    }
    let found = cellar.state.lees_found().unwrap();
    assert_eq!(found.rackings, 3);
    // A few minutes of evaporation are in it.
    assert!(Volume::from_litres(4).saturating_sub(found.each) < Volume::from_ml(20), "{found:?}");
    let plan = plan(&cellar, "R", "X").unwrap();
    assert_eq!(plan.lees, Volume::from_ul(found.each.as_ul() * 2));
    assert!(plan.lees_words().contains("the median of the last 3 barrels racked here"));
}

#[test]
fn what_was_drawn_elsewhere_is_no_lees() {
    let cellar = cellar().given(racked("B1", 100));
    assert_eq!(cellar.state.lees_found(), None);
    let cellar = cellar.given(racked("B2", 223));
    assert_eq!(cellar.state.lees_found().map(|LeesFound { rackings, .. }| rackings), Some(1));
}
