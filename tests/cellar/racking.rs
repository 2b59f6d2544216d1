//! Racking: the plan to bring a lot into a tank.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::refusal::Refusal;
use barrelwalk::cellar::jobs::floor::work::WorkSet;
use barrelwalk::cellar::jobs::wood::racking::{LeesFound, Racking, RackingAsked};
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
    let begun = cellar.given(barrelwalk::cellar::core::fact::What::WorkSet(Box::new(set)));
    refused(plan(&begun, "R", "X"), "B1 is still to be done in the work 'first'");
    let ended = begun.given(json!({"kind": "work_ended", "work": "first", "why": "changed our minds"}));
    assert!(plan(&ended, "R", "X").is_ok());
}

fn gauged(litres: u64) -> Value {
    json!({"kind": "gauged", "vessel": "X", "volume_ul": litres * LITRE})
}

/// Three barrels of 225 L: 3.5 L evaporated of each, 218 L were said to have arrived of each, 1.5 L to have stayed behind. The tank
/// holds 651 L, 3 L less: (3 × 3.5 L + 3 L) / 3 = 4.5 L of lees a barrel.
#[test]
fn lees_are_what_the_tank_lacks_and_what_stayed_behind_spread_over_the_barrels() {
    let mut cellar = cellar();
    for barrel in ["B3", "B4", "B5"] {
        let mut said = racked(barrel, 218);
        said["evaporation_ul"] = json!(3_500_000);
        cellar = cellar.given(barrel_of(barrel, 225)).given(moved("T", barrel, 225 * LITRE)).given(said);
    }
    assert_eq!(cellar.state.lees_found(), None, "what is said to arrive measures no lees");
    let cellar = cellar.given(gauged(651));
    let found = cellar.state.lees_found().unwrap();
    assert_eq!((found.each, found.rackings), (Volume::from_ul(4_500_000), 3));
    let plan = plan(&cellar, "R", "X").unwrap();
    assert_eq!(plan.lees, Volume::from_litres(9));
    assert_eq!(
        plan.lees_words(),
        "Lees: 9.0 L in all, 4.5 L a barrel, the median of the last 3 barrels whose tank was gauged."
    );
}

#[test]
fn a_tank_that_holds_more_than_was_said_had_less_lees() {
    let cellar = cellar().given(racked("B1", 220)).given(racked("B2", 220)).given(gauged(442));
    let found = cellar.state.lees_found().unwrap();
    // Of 5 L behind each by the book, 1 L came along after all; a few minutes of evaporation are in it.
    assert!(Volume::from_litres(4).saturating_sub(found.each) < Volume::from_ml(20), "{found:?}");
}

#[test]
fn what_was_drawn_elsewhere_is_no_lees() {
    let cellar = cellar().given(racked("B1", 100)).given(gauged(100));
    assert_eq!(cellar.state.lees_found(), None);
    let cellar = cellar.given(racked("B2", 223)).given(gauged(323));
    assert_eq!(cellar.state.lees_found().map(|LeesFound { rackings, .. }| rackings), Some(1));
}

#[test]
fn a_gauging_that_tells_of_something_else_tells_no_lees() {
    let both = cellar().given(racked("B1", 220)).given(racked("B2", 220));
    assert_eq!(both.clone().days(2).given(gauged(438)).state.lees_found(), None, "two days evaporate too");
    assert_eq!(both.clone().given(moved("T", "X", 100 * LITRE)).given(gauged(538)).state.lees_found(), None);
    let mut said = gauged(438);
    said["cause"] = json!("handling");
    let cellar = both.given(said).booked("X", Entry::Handling, 2 * LITRE);
    assert_eq!(cellar.state.lees_found(), None);
    assert_eq!(cellar.given(gauged(437)).state.lees_found(), None, "and the next one knows of no racking");
}

/// Facts that say nothing of what evaporated: what is left in the barrel is lees and what the tank lacks evaporated, as in every
/// book that was written so.
#[test]
fn facts_without_a_cause_are_booked_as_ever() {
    cellar()
        .days(60)
        .given(racked("B1", 218))
        .booked("B1", Entry::Evaporation, 0)
        .booked("B1", Entry::Lees, 7 * LITRE)
        .given(gauged(215))
        .booked("X", Entry::Evaporation, 3 * LITRE)
        .booked("X", Entry::Lees, 0);
}

#[test]
fn what_evaporated_before_is_booked_first() {
    let mut said = racked("B1", 218);
    said["evaporation_ul"] = json!(4 * LITRE);
    cellar()
        .given(said.clone())
        .booked("B1", Entry::Evaporation, 4 * LITRE)
        .booked("B1", Entry::Lees, 3 * LITRE)
        .holds("B1", 0);
    // More than there was cannot have: what arrived was there, and the books balance all the same.
    said["evaporation_ul"] = json!(225 * LITRE);
    cellar()
        .when(said)
        .then_counted_in_doubt("B1")
        .booked("B1", Entry::Evaporation, 7 * LITRE)
        .booked("B1", Entry::Gain, 0)
        .holds("B1", 0);
}

/// What lees took is missing in the last barrel; a barrel that got its wine back is not filled a second time.
#[test]
fn what_was_racked_goes_back_into_the_same_barrels_in_walking_order() {
    let racked = |barrel: &str, litres: u64| {
        let mut fact = moved(barrel, "X", litres * LITRE);
        fact["purpose"] = json!("racking");
        fact["empties"] = json!(true);
        fact
    };
    let back = |cellar: &Cellar| {
        let state = &cellar.state;
        state.plan_return(state.vessels.find("X").unwrap()).map(|plan| {
            let stops = plan
                .stops
                .iter()
                .map(|(id, volume)| (state.vessels.get(*id).label.to_string(), volume.as_ul() / LITRE));
            (stops.collect::<Vec<_>>(), plan.short.as_ul() / LITRE, plan.stays.as_ul() / LITRE)
        })
    };
    let named =
        |stops: &[(&str, u64)]| stops.iter().map(|(label, litres)| ((*label).to_owned(), *litres)).collect::<Vec<_>>();
    // What would only cover the bottom of a barrel stays in the tank.
    let little = cellar().given(racked("B2", 222)).given(racked("B1", 220)).given(moved("X", "E", 200 * LITRE));
    assert_eq!(back(&little).unwrap(), (named(&[("B1", 225)]), 0, 17));
    let racked = cellar().given(racked("B2", 222)).given(racked("B1", 220));
    assert_eq!(back(&racked).unwrap(), (named(&[("B1", 225), ("B2", 217)]), 8, 0));
    let filled = racked.given(moved("X", "B1", 225 * LITRE));
    assert_eq!(back(&filled).unwrap(), (named(&[("B2", 217)]), 8, 0));
    let emptied = filled.given(moved("B1", "E", 225 * LITRE));
    assert_eq!(back(&emptied).unwrap(), (named(&[("B2", 217)]), 8, 0));
    let all = emptied.given(moved("X", "B2", 217 * LITRE));
    assert!(back(&all).unwrap_err().to_string().contains("X holds nothing by the book"));
}
