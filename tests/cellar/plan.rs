//! The plan for a round.

use barrelwalk::cellar::views::topping::plan::Plan;
use barrelwalk::reckon::headspace::Basis;
use barrelwalk::units::Volume;
use serde_json::json;

use barrelwalk::cellar::views::topping::group::Group;
use barrelwalk::cellar::views::topping::supply::Difference;
use barrelwalk::reckon::label_share::Claim;

use crate::support::given::{Cellar, LITRE, barrel_of, moved, placed, tank_of, topped};

fn plan(cellar: &Cellar) -> Plan {
    let Some(room) = cellar.state.rooms.find("long") else { panic!("no room") };
    cellar.state.plan_round(room, cellar.now())
}

fn labels(cellar: &Cellar, ids: impl IntoIterator<Item = barrelwalk::cellar::core::state::VesselId>) -> Vec<String> {
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

/// A barrel of a lot of its own from one origin, filled from a tank of its own and laid somewhere.
fn with_barrel(cellar: Cellar, barrel: &str, place: &str, lot: &str, origin: &serde_json::Value) -> Cellar {
    let mut origin = origin.clone();
    let (label, tank) = (format!("origin {lot}"), format!("tank {lot}"));
    origin["kind"] = "origin_declared".into();
    origin["origin"] = label.clone().into();
    let colour = origin["colour"].clone();
    let cellar = if cellar.state.lots.find(lot).is_some() {
        cellar
    } else {
        cellar
            .given(origin)
            .given(json!({"kind": "lot_opened", "lot": lot, "colour": colour}))
            .given(tank_of(&tank, 1_000))
            .given(json!({"kind": "wine_received", "vessel": tank, "lot": lot,
                "parts": [{"origin": label, "volume_ul": 1_000 * LITRE}]}))
    };
    cellar.given(barrel_of(barrel, 225)).given(placed(barrel, place)).given(moved(&tank, barrel, 225 * LITRE))
}

fn grown(vintage: u16, variety: &str, block: &str) -> serde_json::Value {
    json!({"block": block, "variety": variety, "vintage": vintage, "appellation": "Hillside", "colour": "red"})
}

fn walked(cellar: &Cellar) -> Vec<(String, &'static str, String)> {
    let label = |id| cellar.state.vessels.get(id).label.to_string();
    let from = |from: Option<_>| from.map_or_else(String::new, label);
    plan(cellar).stops.iter().map(|stop| (label(stop.vessel), stop.group.words(), from(stop.from))).collect()
}

#[test]
fn organic_goes_before_the_rest_and_clean_before_suspect_each_as_it_lies() {
    let mut organic = grown(2026, "Syrah", "Terrace");
    organic["organic"] = true.into();
    let tasted = |vessel: &str, mark: &str| json!({"kind": "tasted", "vessel": vessel, "marks": [mark]});
    let cellar = Cellar::furnished();
    let cellar = with_barrel(cellar, "O1", "long/B-01-1-a", "O", &organic);
    let cellar = with_barrel(cellar, "O2", "long/B-01-1-b", "O", &organic);
    let cellar = cellar.given(tasted("O1", "Brett")).given(tasted("B1", "mousy")).given(tasted("B2", "plum")).days(5);
    let expected = [
        ("O2", "organic", "tank O"),
        ("O1", "organic suspect", "tank O"),
        ("B2", "clean", "T"),
        ("B1", "suspect", "T"),
    ];
    let told = walked(&cellar);
    let told: Vec<_> = told.iter().map(|(vessel, group, from)| (vessel.as_str(), *group, from.as_str())).collect();
    assert_eq!(told, expected);
    // A clean taste since then counts, not the fault of old.
    let cellar = cellar.given(tasted("B1", "plum"));
    assert_eq!(plan(&cellar).stops[2].group, Group::Clean);
    assert_eq!(labels(&cellar, [plan(&cellar).stops[2].vessel]), ["B1"]);
}

/// Two lots lie mixed: each is topped from its own tank, and all that one tank tops before the next is opened.
#[test]
fn one_topping_vessel_at_a_time() {
    let cellar = with_barrel(Cellar::furnished(), "N1", "long/A-01-2-b", "N", &grown(2026, "Syrah", "Terrace"));
    let cellar = cellar.given(placed("B2", "long/A-02-1-a")).days(5);
    let vessels: Vec<String> = walked(&cellar).into_iter().map(|(vessel, ..)| vessel).collect();
    assert_eq!(vessels, ["B1", "B2", "N1"]);
}

/// After three weeks each of two barrels takes 3.0 L. A keg of 4 L of their lot tops the first, the tank the second; the
/// white tank is never asked.
#[test]
fn a_source_serves_until_it_runs_out_and_the_next_of_kin_goes_on() {
    let keg = json!({"kind": "vessel_registered", "vessel": "K", "type": "keg", "capacity_ul": 50 * LITRE});
    let cellar = Cellar::furnished().given(keg).given(moved("T", "K", 4 * LITRE)).days(21);
    let of = plan(&cellar);
    let draws: Vec<_> = of.draws.iter().map(|draw| (draw.barrels, draw.expected, draw.holds)).collect();
    let litres = Volume::from_litres;
    assert_eq!(draws, [(1, litres(3), litres(4)), (1, litres(3), litres(1_546))]);
    assert_eq!(labels(&cellar, of.draws.iter().map(|draw| draw.source)), ["K", "T"]);
    assert_eq!(of.uncovered, Volume::ZERO);
    assert!(of.draws[0].carry > of.draws[0].expected && of.draws[0].carry < of.carry);
    // Without their own lot, U of the same vintage, variety and vineyard serves; V is white.
    let held = |vessel: &str| json!({"kind": "held", "vessel": vessel, "why": "kept back"});
    let cellar = cellar.given(held("K")).given(held("T"));
    assert_eq!(labels(&cellar, plan(&cellar).draws.iter().map(|draw| draw.source)), ["U"]);
    let cellar = cellar.given(held("U"));
    let none = plan(&cellar);
    assert_eq!((none.draws.len(), none.uncovered), (0, litres(6)));
}

/// Ten barrels in thirty minutes are three minutes each; a round entered at the desk in one minute says nothing.
#[test]
fn minutes_are_those_of_the_rounds_that_ended_here() {
    let begun = |round: &str| json!({"kind": "round_begun", "round": round, "room": "long", "from": "T"});
    let ended = |round: &str| json!({"kind": "round_ended", "round": round, "room": "long"});
    let topped_all = |cellar: Cellar| cellar.given(topped("B1", "T", LITRE)).given(topped("B2", "T", LITRE));
    let full = with_barrel(Cellar::furnished(), "N1", "long/A-02-2-b", "N", &grown(2026, "Syrah", "Terrace"));
    assert_eq!(plan(&full).minutes(), None);
    // The clock of the tests runs a minute a fact: begun, three toppings, ended are four minutes; too short to tell.
    let quick = topped_all(full.given(begun("one"))).given(topped("N1", "T", LITRE)).given(ended("one"));
    assert_eq!(plan(&quick).minutes(), None);
    let cellar = topped_all(quick.at("2026-09-20T08:00:00+02:00").given(begun("two")));
    let cellar = cellar.at("2026-09-20T08:12:00+02:00").given(topped("N1", "T", LITRE));
    // From 08:01 to 08:14: 13 minutes for three barrels.
    let cellar = cellar.given(ended("two"));
    let of = plan(&cellar);
    assert_eq!(of.minutes_a_barrel.map(|each| (each * 3.0).round()), Some(13.0));
    assert_eq!(of.minutes(), Some(13));
    // Left open overnight it says nothing more.
    let cellar = topped_all(cellar.given(begun("three"))).given(topped("N1", "T", LITRE)).days(1).given(ended("three"));
    assert_eq!(plan(&cellar).minutes(), Some(13));
}

/// B1 and B2 hold 225 L each of block-1, Syrah 2026, and take 3.0 L each of a 2025 Merlot: what evaporated was their own,
/// so 444 of 450 L are left of it. Of the vintage 85 % must stay: 450 − 0.85 · 450² / 444 = 62.331 081 L may still come.
#[test]
fn topping_wine_of_another_lot_drifts_the_label() {
    let foreign = grown(2025, "Merlot", "Creek");
    let cellar = with_barrel(Cellar::furnished(), "spare", "long/B-01-1-d", "N", &foreign);
    let held = |vessel: &str| json!({"kind": "held", "vessel": vessel, "why": "kept back"});
    let cellar = cellar.given(held("T")).given(held("U")).given(held("spare")).days(21);
    let of = plan(&cellar);
    let litres = Volume::from_litres;
    assert_eq!(of.expected, litres(6));
    let [drift] = of.drifts.as_slice() else { panic!("{:?}", of.drifts) };
    assert_eq!((drift.barrels, drift.before, drift.foreign_before), (2, litres(450), Volume::ZERO));
    assert_eq!((drift.after, drift.foreign_after, drift.from_other_lots), (litres(450), litres(6), litres(6)));
    let vintage = &drift.claims[0];
    assert_eq!((vintage.claim, vintage.value.as_str()), (Claim::Vintage, "2026"));
    assert_eq!((vintage.before, vintage.after), (litres(450), litres(444)));
    let margins: Vec<_> = vintage.margins.iter().map(|(least, margin)| (least.percent, *margin)).collect();
    // 450 − 0.95 · 450² / 444 = 16.722 972 L.
    let (wide, narrow) = (Some(Volume::from_ul(62_331_081)), Some(Volume::from_ul(16_722_972)));
    assert_eq!(margins, [(85, wide), (85, wide), (95, narrow)]);
    let variety = &drift.claims[1];
    assert_eq!((variety.claim, variety.value.as_str(), variety.after), (Claim::Variety, "Syrah", litres(444)));
    // 450 − 0.75 · 450² / 444 = 107.939 189 L.
    assert_eq!(variety.margins[1].1, Some(Volume::from_ul(107_939_189)));
    let Some(source) = cellar.state.vessels.find("tank N") else { panic!("no tank") };
    let Some(lot) = cellar.state.lots.find("R") else { panic!("no lot") };
    let words = vec!["lot", "vintage", "variety", "vineyard"];
    assert_eq!(cellar.state.difference(source, &of.stops), Some(Difference { lots: vec![lot], words }));
}

/// What the plan says of a round is what the round does.
#[test]
fn the_round_does_what_the_plan_says() {
    let cellar = with_barrel(Cellar::furnished(), "spare", "long/B-01-1-d", "N", &grown(2025, "Merlot", "Creek"));
    let held = |vessel: &str| json!({"kind": "held", "vessel": vessel, "why": "kept back"});
    let cellar = cellar.given(held("T")).given(held("U")).given(held("spare")).days(21);
    let of = plan(&cellar);
    let foreign = |cellar: &Cellar| -> u64 {
        ["B1", "B2"]
            .iter()
            .flat_map(|barrel| cellar.parts(barrel))
            .filter(|(name, _)| *name == "origin N")
            .map(|part| part.1)
            .sum()
    };
    let done = of.stops.iter().fold(cellar.clone(), |done, stop| {
        let label = cellar.state.vessels.get(stop.vessel).label.to_string();
        done.given(topped(&label, "tank N", stop.expected.as_ul()))
    });
    assert_eq!(Volume::from_ul(foreign(&done)), of.drifts[0].foreign_after);
}

#[test]
fn what_would_cease_to_be_organic_is_said() {
    let mut organic = grown(2026, "Syrah", "Terrace");
    organic["organic"] = true.into();
    let cellar = with_barrel(Cellar::furnished(), "O1", "long/B-01-1-a", "O", &organic);
    let drift = |cellar: &Cellar| plan(cellar).drifts.iter().map(|drift| drift.organic).collect::<Vec<_>>();
    let cellar = cellar.days(21);
    assert_eq!(drift(&cellar), [(true, true), (false, false)]);
    let cellar = cellar.given(json!({"kind": "held", "vessel": "tank O", "why": "kept back"}));
    assert_eq!(drift(&cellar), [(true, false), (false, false)]);
}
