//! Composition and lineage against a second, naive computation: every litre as an exact fraction, every ancestor by name.

use std::collections::{BTreeMap, BTreeSet};

use barrelwalk::cellar::core::decide::decide;
use barrelwalk::cellar::core::fact::{Device, FactId, Stamp, What};
use barrelwalk::cellar::core::table::Id;
use barrelwalk::cellar::views::books::lineage::{Fill, Stream, Tracer};
use num_rational::BigRational;
use proptest::prelude::*;
use proptest::sample::select;
use serde_json::{Value, json};

use crate::support::given::{LITRE, Told, barrel_of, moment, tank_of};

const VESSELS: [&str; 5] = ["b0", "b1", "b2", "t0", "t1"];
const ORIGINS: [&str; 3] = ["o0", "o1", "o2"];

fn whole(number: u64) -> BigRational {
    BigRational::from_integer(number.into())
}

/// A vessel of the naive cellar.
#[derive(Clone, Default)]
struct Naive {
    /// Microlitres by origin, exact.
    amounts: BTreeMap<String, BigRational>,
    /// By how much whole microlitres can have come to differ from these, at most.
    error: f64,
    /// How often wine came into it while it was empty.
    fills: u32,
    /// The fills that its wine came through.
    ancestors: BTreeSet<(String, u32)>,
    /// The origins that ever came into the book on the way.
    origins: BTreeSet<String>,
}

impl Naive {
    fn volume(&self) -> BigRational {
        self.amounts.values().fold(whole(0), |sum, amount| sum + amount)
    }

    fn is_empty(&self) -> bool {
        self.volume() == whole(0)
    }

    /// Every amount in proportion, to a new volume.
    fn scale_to(&mut self, volume: &BigRational) {
        let before = self.volume();
        if before == whole(0) || before == *volume {
            return;
        }
        let factor = volume / before;
        self.amounts.values_mut().for_each(|amount| *amount = &*amount * &factor);
        self.error = self.error * as_real(&factor) + 1.0;
    }

    fn draw(&mut self, volume: u64) -> Naive {
        let volume = whole(volume);
        if volume > self.volume() {
            self.scale_to(&volume);
        }
        let mut taken = self.clone();
        taken.scale_to(&volume);
        let left = self.volume() - volume;
        self.scale_to(&left);
        taken
    }

    /// Takes wine in that came from a fill of another vessel.
    fn pour(&mut self, wine: &Naive, from: Option<(String, u32)>) {
        if wine.is_empty() {
            return;
        }
        if self.is_empty() {
            *self = Naive { fills: self.fills + 1, ..Naive::default() };
        }
        for (origin, amount) in &wine.amounts {
            *self.amounts.entry(origin.clone()).or_insert_with(|| whole(0)) += amount;
        }
        self.error += wine.error;
        self.ancestors.extend(wine.ancestors.iter().cloned().chain(from));
        self.origins.extend(wine.origins.iter().cloned());
    }
}

fn as_real(fraction: &BigRational) -> f64 {
    // A millionth is fine enough for a bound.
    let millionths = (fraction * whole(1_000_000)).ceil().to_integer();
    millionths.to_string().parse::<f64>().map_or(f64::INFINITY, |number| number / 1e6)
}

/// The naive cellar does what a fact says, in the words of the exchange format.
fn happen(cellar: &mut BTreeMap<String, Naive>, fact: &Value) {
    let text = |field: &str| fact[field].as_str().unwrap_or_default().to_owned();
    let ul = |field: &str| fact[field].as_u64().unwrap_or_default();
    let capacity = |vessel: &str| whole(if vessel.starts_with('b') { 225 * LITRE } else { 5_000 * LITRE });
    let mut draw = |vessel: &str, volume: u64| -> (Naive, (String, u32)) {
        let Some(source) = cellar.get_mut(vessel) else { panic!("no vessel {vessel}") };
        (source.draw(volume), (vessel.to_owned(), source.fills))
    };
    match text("kind").as_str() {
        "wine_received" => {
            let mut wine = Naive::default();
            for part in fact["parts"].as_array().into_iter().flatten() {
                let origin = part["origin"].as_str().unwrap_or_default().to_owned();
                let amount = whole(part["volume_ul"].as_u64().unwrap_or_default());
                *wine.amounts.entry(origin.clone()).or_insert_with(|| whole(0)) += amount;
                wine.origins.insert(origin);
            }
            cellar.entry(text("vessel")).or_default().pour(&wine, None);
        }
        "wine_moved" => {
            let leaves = ul("volume_ul") + ul("lees_ul");
            let (mut wine, from) = draw(&text("from"), leaves);
            wine.scale_to(&whole(ul("volume_ul")));
            wine.error += 1.0;
            if fact["empties"] == true {
                cellar.entry(text("from")).or_default().scale_to(&whole(0));
            }
            cellar.entry(text("to")).or_default().pour(&wine, Some(from));
        }
        "topped" => {
            let (wine, from) = draw(&text("from"), ul("volume_ul"));
            let vessel = cellar.entry(text("vessel")).or_default();
            let room = capacity(&text("vessel")) - whole(ul("volume_ul"));
            if fact["full"] == true || vessel.volume() > room {
                vessel.scale_to(&room);
            }
            vessel.pour(&wine, Some(from));
        }
        "gauged" => cellar.entry(text("vessel")).or_default().scale_to(&whole(ul("volume_ul"))),
        "lost" | "sampled" => {
            let _ = draw(&text("vessel"), ul("volume_ul"));
        }
        other => panic!("{other} is no wine"),
    }
}

fn acts() -> BoxedStrategy<Vec<Value>> {
    let vessel = || select(VESSELS.to_vec());
    let small = || prop_oneof![1_u64..9, 1_u64..4_000_000];
    let large = || prop_oneof![1_u64..230_000_000, Just(225 * LITRE)];
    let act = prop_oneof![
        2 => (vessel(), prop::collection::vec((select(ORIGINS.to_vec()), large()), 1..4)).prop_map(|(vessel, parts)| {
            let parts: Vec<Value> =
                parts.into_iter().map(|(origin, ul)| json!({"origin": origin, "volume_ul": ul})).collect();
            json!({"kind": "wine_received", "vessel": vessel, "lot": "l", "parts": parts})
        }),
        5 => (vessel(), vessel(), large(), prop_oneof![Just(0), small()], any::<bool>()).prop_map(
            |(from, to, ul, lees, empties)| json!({"kind": "wine_moved", "from": from, "to": to, "volume_ul": ul,
                "lees_ul": lees, "empties": empties, "purpose": "racking"})
        ),
        6 => (vessel(), vessel(), small(), any::<bool>()).prop_map(
            |(vessel, from, ul, full)| json!({"kind": "topped", "vessel": vessel, "from": from, "volume_ul": ul, "full": full})
        ),
        1 => (vessel(), large()).prop_map(|(vessel, ul)| json!({"kind": "gauged", "vessel": vessel, "volume_ul": ul})),
        1 => (vessel(), small()).prop_map(|(vessel, ul)| json!({"kind": "lost", "vessel": vessel, "volume_ul": ul, "cause": "spill"})),
        1 => (vessel(), small()).prop_map(|(vessel, ul)| json!({"kind": "sampled", "vessel": vessel, "volume_ul": ul})),
    ];
    prop::collection::vec(act, 1..60).boxed()
}

fn beginning() -> Vec<Value> {
    let mut facts = vec![json!({"kind": "lot_opened", "lot": "l", "colour": "red"})];
    for origin in ORIGINS {
        facts.push(json!({"kind": "origin_declared", "origin": origin, "block": "b", "variety": "v", "vintage": 2026,
            "appellation": "a", "colour": "red"}));
    }
    for vessel in VESSELS {
        facts.push(if vessel.starts_with('b') { barrel_of(vessel, 225) } else { tank_of(vessel, 5_000) });
    }
    facts
}

/// The tracer and the naive cellar after the acts that may be done.
fn both(acts: &[Value]) -> (Tracer, BTreeMap<String, Naive>) {
    let Ok(device) = Device::new("exact") else { panic!("a device") };
    let start = moment("2026-10-01T08:00:00+02:00");
    let (mut tracer, mut naive) = (Tracer::default(), BTreeMap::new());
    for (n, fact) in (1_u64..).zip(beginning().iter().chain(acts)) {
        let at = start.at_instant(start.instant() + i64::try_from(n).unwrap_or(0) * 60_000_000);
        let what: What = fact.clone().what();
        if decide(&tracer.state, &what, at, at).is_err() {
            continue;
        }
        tracer.fold(&Stamp::new(FactId { device: device.clone(), n }, at), &what);
        if n > beginning().len() as u64 {
            happen(&mut naive, fact);
        }
    }
    (tracer, naive)
}

fn told(tracer: &Tracer, fill: Fill) -> (String, u32) {
    (tracer.state.vessels.get(fill.vessel).label.to_string(), fill.number)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn shares_are_those_of_exact_fractions_and_sum_to_one(acts in acts()) {
        let (tracer, naive) = both(&acts);
        for (_, vessel) in tracer.state.vessels.iter() {
            let exact = naive.get(vessel.label.as_str()).cloned().unwrap_or_default();
            prop_assert_eq!(whole(vessel.volume().as_ul()), exact.volume(), "what {} holds", &vessel.label);
            let mut shares = whole(0);
            for part in vessel.wine.parts() {
                let Some(origin) = part.origin.map(|id| tracer.state.origins.get(id).0.origin.to_string()) else {
                    panic!("wine without an origin")
                };
                shares += whole(part.volume.as_ul()) / whole(vessel.volume().as_ul());
                let amount = exact.amounts.get(&origin).cloned().unwrap_or_else(|| whole(0));
                let off = as_real(&(&whole(part.volume.as_ul()) - &amount)).abs();
                prop_assert!(off <= exact.error + 1.0, "{origin} in {}: off by {off} µL of {}", vessel.label, exact.error);
            }
            prop_assert_eq!(shares, whole(u64::from(!vessel.wine.is_empty())));
        }
    }

    #[test]
    fn what_is_traced_back_is_every_ancestor_and_every_origin(acts in acts()) {
        let (tracer, naive) = both(&acts);
        for (id, vessel) in tracer.state.vessels.iter().filter(|(_, vessel)| !vessel.wine.is_empty()) {
            let exact = &naive[vessel.label.as_str()];
            prop_assert_eq!(vessel.fills, exact.fills);
            let back = tracer.back(&[tracer.fill_of(id)]);
            let sources: BTreeSet<_> = back.streams.iter().map(|stream| told(&tracer, stream.from)).collect();
            prop_assert_eq!(&sources, &exact.ancestors, "ancestors of {}", &vessel.label);
            let origins: BTreeSet<_> =
                back.receipts.iter().map(|its| tracer.state.origins.get(its.origin).0.origin.to_string()).collect();
            prop_assert_eq!(&origins, &exact.origins, "origins of {}", &vessel.label);
        }
    }

    #[test]
    fn back_and_forward_agree(acts in acts()) {
        let (tracer, _) = both(&acts);
        let fills: Vec<Fill> = tracer
            .state
            .vessels
            .iter()
            .flat_map(|(vessel, now)| (1..=now.fills).map(move |number| Fill { vessel, number }))
            .collect();
        let ends = |streams: &[Stream], end: fn(&Stream) -> Fill| -> BTreeSet<(usize, u32)> {
            streams.iter().map(end).map(|fill| (fill.vessel.index(), fill.number)).collect()
        };
        let back: Vec<_> = fills.iter().map(|&fill| ends(&tracer.back(&[fill]).streams, |its| its.from)).collect();
        let forward: Vec<_> = fills.iter().map(|&fill| ends(&tracer.forward(&[fill.into()]), |its| its.to)).collect();
        let key = |fill: &Fill| (fill.vessel.index(), fill.number);
        for (here, from) in fills.iter().enumerate() {
            for (there, to) in fills.iter().enumerate() {
                prop_assert_eq!(
                    forward[here].contains(&key(to)), back[there].contains(&key(from)),
                    "{:?} to {:?}", from, to
                );
            }
        }
    }
}
