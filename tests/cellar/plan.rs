//! The plan for a round.

use barrelwalk::cellar::plan::Plan;
use barrelwalk::reckon::headspace::Basis;
use barrelwalk::units::Volume;
use serde_json::json;

use crate::support::given::{Cellar, LITRE, barrel_of, moved, placed, topped};

fn plan(cellar: &Cellar) -> Plan {
    let Some(room) = cellar.state.rooms.find("long") else { panic!("no room") };
    cellar.state.plan_round(room, cellar.now())
}

fn labels(cellar: &Cellar, ids: impl IntoIterator<Item = barrelwalk::cellar::state::VesselId>) -> Vec<String> {
    ids.into_iter().map(|id| cellar.state.vessels.get(id).label.to_string()).collect()
}

#[test]
fn the_walk_goes_as_the_barrels_lie() {
    let cellar = Cellar::furnished()
        .given(barrel_of("first", 225))
        .given(moved("T", "first", 225 * LITRE))
        .given(placed("B1", "long/B-01-1-c"))
        .given(placed("first", "long/A-01-1-a"));
    let plan = plan(&cellar);
    assert_eq!(labels(&cellar, plan.stops.iter().map(|stop| stop.vessel)), ["first", "B2", "B1"]);
}

#[test]
fn what_is_held_is_named_apart_and_what_is_empty_not_at_all() {
    let cellar = Cellar::furnished().given(json!({"kind": "held", "vessel": "B1", "why": "mould"}));
    let plan = plan(&cellar);
    assert_eq!(labels(&cellar, plan.stops.iter().map(|stop| stop.vessel)), ["B2"]);
    assert_eq!(labels(&cellar, plan.held), ["B1"]);
}

/// Three weeks at the published 20 mL a day are 0.42 L a barrel, new wood drinks 2.6 of its 4 L in that time, and a can is
/// read to a tenth.
#[test]
fn one_carries_what_is_expected_and_what_chance_may_ask() {
    let cellar = Cellar::furnished().days(21);
    let plan = plan(&cellar);
    assert_eq!(plan.stops.iter().map(|stop| stop.expected).collect::<Vec<_>>(), [Volume::from_litres(3); 2]);
    assert_eq!(plan.expected, Volume::from_litres(6));
    assert!(plan.carry > Volume::from_litres(7) && plan.carry < Volume::from_litres(9));
}

#[test]
fn a_barrel_learns_from_itself_and_a_new_one_from_its_room() {
    let lay = |cellar: Cellar, side: char| {
        let label = format!("C{side}");
        cellar.given(barrel_of(&label, 225)).given(placed(&label, &format!("long/B-01-1-{side}"))).given(moved(
            "T",
            &label,
            225 * LITRE,
        ))
    };
    let round = |cellar: Cellar| {
        let cellar = cellar.days(20).given(topped("B1", "T", 2 * LITRE));
        ["B2", "Ca", "Cb", "Cc", "Cd"].iter().fold(cellar, |cellar, label| cellar.given(topped(label, "T", LITRE)))
    };
    let estimate = |cellar: &Cellar, label: &str| cellar.state.headspace(cellar.vessel(label), cellar.now());
    let basis = |cellar: &Cellar| ["B1", "B2"].map(|label| estimate(cellar, label).basis);
    let fresh = ['a', 'b', 'c', 'd'].into_iter().fold(Cellar::furnished(), lay).days(20);
    assert_eq!(basis(&fresh), [Basis::Published; 2]);
    let first = fresh.given(topped("B1", "T", 2 * LITRE));
    assert_eq!(basis(&first), [Basis::Room; 2]);
    let cellar = (0..10).fold(first, |cellar, _| round(cellar)).days(20);
    assert_eq!(basis(&cellar), [Basis::Own; 2]);
    let (one, other) = (estimate(&cellar, "B1"), estimate(&cellar, "B2"));
    assert!((one.missing.as_litres() - 2.0).abs() < 0.2, "{one:?}");
    assert!((other.missing.as_litres() - 1.0).abs() < 0.2, "{other:?}");
    let tank = estimate(&cellar, "T");
    assert_eq!((tank.missing, tank.deviation), (cellar.vessel("T").book_headspace(), Volume::ZERO));
}

#[test]
fn topping_wine_comes_from_kegs_before_tanks_before_barrels_that_lie_in_no_row() {
    let keg =
        |label: &str| json!({"kind": "vessel_registered", "vessel": label, "type": "keg", "capacity_ul": 50 * LITRE});
    let cellar = Cellar::furnished()
        .given(barrel_of("loose", 225))
        .given(moved("T", "loose", 225 * LITRE))
        .given(keg("K1"))
        .given(keg("K2"))
        .given(keg("dry"))
        .given(moved("T", "K1", 20 * LITRE))
        .given(moved("T", "K2", 50 * LITRE))
        .given(json!({"kind": "held", "vessel": "V", "why": "sulfide"}));
    assert_eq!(labels(&cellar, cellar.state.sources()), ["K2", "K1", "T", "U", "loose"]);
}
