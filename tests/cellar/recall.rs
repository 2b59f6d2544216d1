//! Back from bottles and forward to them: whatever happened, both ways tell the same, and every litre is accounted for.
#![allow(clippy::unwrap_used)] // in what the tests share

use std::collections::BTreeMap;

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::cellar::core::fact::{Device, FactId, Stamp};
use barrelwalk::cellar::core::state::{OriginId, RunId};
use barrelwalk::cellar::core::wine::Wine;
use barrelwalk::cellar::views::books::lineage::{DoneTo, Fill, Past, Since, Starting, Tracer};
use barrelwalk::units::Volume;
use proptest::prelude::*;
use proptest::sample::select;
use serde_json::{Value, json};

use crate::support::given::{LITRE, Told, moment};

const VESSELS: [&str; 5] = ["t0", "t1", "b0", "b1", "b2"];

/// Two tanks, three barrels, two origins, two lots, and wine in the tanks.
fn beginning() -> Vec<Value> {
    let mut facts = Vec::new();
    for number in 0..2 {
        facts.push(json!({
            "kind": "origin_declared", "origin": format!("o{number}"), "block": format!("block {number}"), "variety": "Syrah",
            "vintage": 2026, "appellation": "Hillside", "colour": "red",
        }));
        facts.push(json!({"kind": "lot_opened", "lot": format!("l{number}"), "colour": "red"}));
    }
    for vessel in VESSELS {
        let (kind, litres) = if vessel.starts_with('t') { ("tank", 3_000) } else { ("barrel", 225) };
        facts.push(json!({"kind": "vessel_registered", "vessel": vessel, "type": kind, "capacity_ul": litres * LITRE}));
    }
    facts.extend([received("t0", 0, 1_000), received("t1", 1, 1_000)]);
    facts
}

fn received(vessel: &str, origin: u32, litres: u64) -> Value {
    json!({
        "kind": "wine_received", "vessel": vessel, "lot": format!("l{origin}"),
        "parts": [{"origin": format!("o{origin}"), "volume_ul": litres * LITRE}],
    })
}

fn happening() -> BoxedStrategy<Value> {
    let vessel = || select(VESSELS.to_vec());
    let tank = || select(vec!["t0", "t1"]);
    prop_oneof![
        6 => (vessel(), vessel(), 1_u64..230, any::<bool>()).prop_map(|(from, to, litres, empties)| json!({
            "kind": "wine_moved", "from": from, "to": to, "volume_ul": litres * LITRE, "purpose": "racking", "empties": empties,
        })),
        2 => (vessel(), tank(), 1_u64..30).prop_map(|(vessel, from, litres)| json!({
            "kind": "topped", "vessel": vessel, "from": from, "volume_ul": litres * LITRE, "full": false,
        })),
        3 => (vessel(), 0_u32..2, 0_u32..2, 1_u32..120).prop_map(|(vessel, run, code, bottles)| json!({
            "kind": "bottled", "vessel": vessel, "run": format!("g{run}"), "bottles": bottles, "bottle_ul": 750_000,
            "lot_code": format!("c{run}{code}"),
        })),
        1 => (tank(), 0_u32..2, 1_u64..200).prop_map(|(tank, origin, litres)| received(tank, origin, litres)),
        2 => (vessel(), select(vec!["so2", "acid"]), 0_u64..2, prop::option::of(Just("X7"))).prop_map(
            |(vessel, material, litres, batch)| json!({
                "kind": "treated", "vessel": vessel, "material": material, "amount_ug": 1_000, "solution_ul": litres * LITRE,
                "batch": batch,
            })
        ),
    ]
    .boxed()
}

fn traced(facts: Vec<Value>) -> Tracer {
    let device = Device::new("tracer").unwrap();
    let mut tracer = Tracer::default();
    let start = moment("2026-10-01T08:00:00+02:00");
    for (fact, n) in beginning().into_iter().chain(facts).zip(1_u32..) {
        let at = start.at_instant(start.instant() + i64::from(n) * 60_000_000);
        tracer.fold_by(Some("mk"), &Stamp::new(FactId { device: device.clone(), n: n.into() }, at), &fact.what());
    }
    tracer
}

/// Every lot code with its run.
fn codes(tracer: &Tracer) -> Vec<(RunId, String)> {
    let runs = tracer.state.runs.iter();
    let codes = runs.flat_map(|(id, run)| run.lot_codes().into_iter().map(move |code| (id, code.to_string())));
    codes.collect()
}

/// Every vessel in every fill that it had.
fn fills(tracer: &Tracer) -> Vec<Fill> {
    let vessels = tracer.state.vessels.iter();
    vessels.flat_map(|(id, vessel)| (1..=vessel.fills).map(move |number| Fill { vessel: id, number })).collect()
}

fn reaches(
    tracer: &Tracer,
    reached: &[barrelwalk::cellar::views::books::lineage::Reached],
    run: RunId,
    code: &str,
) -> bool {
    tracer.by_code(reached).iter().any(|its| its.run == run && its.code.as_str() == code)
}

fn wine(tracer: &Tracer, run: RunId, code: &str) -> Wine {
    let mut wine = Wine::default();
    let stretches = tracer.state.runs.get(run).stretches.iter();
    stretches.filter(|its| its.lot_code.as_str() == code).for_each(|its| wine.mix(&its.wine));
    wine
}

fn was_given(tracer: &Tracer, past: &Past<'_>, label: &str) -> bool {
    past.done.iter().any(|done| match done.to {
        DoneTo::Treated { material, batch, .. } => {
            std::iter::once(material).chain(batch).any(|name| tracer.called(name).as_str() == label)
        }
        _ => false,
    })
}

proptest! {
    /// A vessel's fill is in the past of bottles exactly if these bottles are in its future; so is what was added.
    #[test]
    fn back_and_forward_agree(facts in prop::collection::vec(happening(), 1..60)) {
        let tracer = traced(facts);
        for (run, code) in codes(&tracer) {
            let past = tracer.past_of_run(run, Some(&code));
            for fill in fills(&tracer) {
                let reached = tracer.bottled_of(&[Since::from(fill)]);
                prop_assert_eq!(past.fills.contains(&fill), reaches(&tracer, &reached, run, &code), "{:?} {}", fill, code);
            }
            for label in ["so2", "acid", "X7"] {
                let reached = tracer.bottles_with(label);
                prop_assert_eq!(was_given(&tracer, &past, label), reaches(&tracer, &reached, run, &code), "{} {}", label, code);
            }
            for number in 0..2 {
                let block = format!("block {number}");
                let sinces: Vec<Since> = tracer.grown_in(&block).into_iter().map(|(since, _)| since).collect();
                let grew = past.back.receipts.iter().any(|its| tracer.state.origins.get(its.origin).0.block.as_str() == block);
                prop_assert_eq!(grew, reaches(&tracer, &tracer.bottled_of(&sinces), run, &code), "{} {}", block, code);
            }
        }
    }

    /// Every litre in bottles came into the book on the way that is told, or was added with a treatment that is told.
    #[test]
    fn every_litre_is_found(facts in prop::collection::vec(happening(), 1..60)) {
        let tracer = traced(facts);
        let gained = tracer.state.vessels.iter().any(|(_, vessel)| !vessel.account().sum(Entry::Gain).is_zero());
        for (run, code) in codes(&tracer) {
            let past = tracer.past_of_run(run, Some(&code));
            let mut received: BTreeMap<OriginId, Volume> = BTreeMap::new();
            for receipt in &past.back.receipts {
                *received.entry(receipt.origin).or_default() += receipt.volume;
            }
            for part in wine(&tracer, run, &code).parts() {
                match part.origin {
                    None => prop_assert!(was_given(&tracer, &past, "so2") || was_given(&tracer, &past, "acid")),
                    Some(origin) => {
                        let came = received.get(&origin);
                        prop_assert!(came.is_some(), "{origin:?} of {code} came from nowhere");
                        prop_assert!(gained || came.is_some_and(|&came| came >= part.volume), "{origin:?} of {code}");
                    }
                }
            }
        }
    }
}

/// What is told of bottles and of where wine went is one gathering, whoever shows it.
#[test]
fn the_past_and_the_way_on_are_gathered_whole() {
    let moved = json!({"kind": "wine_moved", "from": "t0", "to": "b1", "volume_ul": 200 * LITRE, "purpose": "racking"});
    let bottled = |code: &str| {
        json!({
            "kind": "bottled", "vessel": "b1", "run": "g0", "bottles": 100, "bottle_ul": 750_000, "lot_code": code,
            "closure": "cork", "materials": [{"material": "flint", "batch": "F1"}],
        })
    };
    let tracer = traced(vec![moved, bottled("c00"), bottled("c01"), bottled("c00")]);
    let run = tracer.state.runs.find("g0").unwrap();
    let past = tracer.past_of_run(run, Some("c00"));
    assert_eq!((past.bottles(), past.wine.volume()), (200, Volume::from_litres(150)));
    assert_eq!(past.wine, wine(&tracer, run, "c00"));
    assert_eq!(past.codes(), [barrelwalk::cellar::core::label::Label::new("c00").unwrap()]);
    let used: Vec<_> = past.at_the_line().iter().map(|its| (its.material.to_string(), its.batch.is_some())).collect();
    assert_eq!(used, [("cork".to_owned(), false), ("flint".to_owned(), true)]);
    let onward = tracer.onward(Starting::Block("block 0"));
    assert_eq!((onward.grown.len(), onward.treated.len()), (1, 0));
    let codes: Vec<_> = tracer.codes_reached(&onward.reached[0]).iter().map(ToString::to_string).collect();
    assert_eq!(codes, ["c00", "c01"]);
    assert_eq!(onward.streams.iter().map(|stream| stream.volume).sum::<Volume>(), Volume::from_litres(200));
}

/// The barrel's wine of the first fill is in `c00`, that of the second in `c10`; each leads to its own bottles only.
#[test]
fn wine_of_one_barrel_at_two_times_is_told_apart() {
    let moved = |from: &str, to: &str| json!({"kind": "wine_moved", "from": from, "to": to, "volume_ul": 200 * LITRE, "purpose": "racking", "empties": from == "b0"});
    let bottled = |run: u32| json!({"kind": "bottled", "vessel": "b1", "run": format!("g{run}"), "bottles": 200, "bottle_ul": 750_000, "lot_code": format!("c{run}0"), "empties": true});
    let tracer = traced(vec![
        moved("t0", "b0"),
        moved("b0", "b1"),
        bottled(0),
        moved("t1", "b0"),
        moved("b0", "b1"),
        bottled(1),
    ]);
    let barrel = tracer.state.vessels.find("b0").unwrap();
    let told = |number: u32| {
        let reached = tracer.bottled_of(&[Since::from(Fill { vessel: barrel, number })]);
        tracer.by_code(&reached).iter().map(|its| its.code.to_string()).collect::<Vec<_>>()
    };
    assert_eq!([told(1), told(2)], [["c00"], ["c10"]]);
    let grew = |run: usize| {
        let (id, code) = &codes(&tracer)[run];
        let origin = |origin: OriginId| tracer.state.origins.get(origin).0.origin.to_string();
        tracer.past_of_run(*id, Some(code)).back.receipts.iter().map(|its| origin(its.origin)).collect::<Vec<_>>()
    };
    assert_eq!([grew(0), grew(1)], [["o0"], ["o1"]]);
}
