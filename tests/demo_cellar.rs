//! The demo cellar: well formed, complete, and what its generator makes.
#![allow(clippy::unwrap_used)] // a test may stop at the first surprise

#[path = "../demo-cellar/generator/mod.rs"]
mod generator;

use std::collections::{BTreeMap, BTreeSet};

use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::cellar::core::place::{Place, RackPlace};
use serde_json::Value;

const COMMITTED: &str = include_str!("../demo-cellar/facts.jsonl");

#[rustfmt::skip] // a list of words
const KINDS: [&str; 44] = [
    "room_laid_out", "vessel_registered", "vessel_placed", "rack_moved", "vessel_retired", "origin_declared",
    "lot_opened", "stage_set", "wine_received", "wine_moved", "topped", "gauged", "lost", "sampled", "tasted", "held",
    "freed", "round_begun", "round_ended", "retracted", "noted", "tested", "treated", "barrel_cared", "practice_set",
    "work_set", "work_ended", "trial_set", "glass_rated", "trial_revealed", "blend_chosen", "fining_trial",
    "check_declared", "checked", "check_waived", "bottled", "laid_away", "bottles_out",
    "store_laid_out", "bottle_tasted", "count_begun", "counted", "bottles_counted", "count_ended",
];

fn facts() -> Vec<Value> {
    COMMITTED.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

fn text<'a>(fact: &'a Value, field: &str) -> &'a str {
    fact[field].as_str().unwrap_or_else(|| panic!("{field} is missing: {fact}"))
}

fn moment(fact: &Value, field: &str) -> Moment {
    Moment::parse(text(fact, field)).unwrap()
}

fn of_kind<'a>(facts: &'a [Value], kind: &str) -> Vec<&'a Value> {
    facts.iter().filter(|fact| fact["kind"] == kind).collect()
}

fn id(fact: &Value) -> (&str, u64) {
    (text(fact, "device"), fact["n"].as_u64().unwrap())
}

#[test]
fn the_generator_makes_exactly_the_committed_file() {
    let made = generator::facts().unwrap();
    let first_difference = made.lines().zip(COMMITTED.lines()).position(|(made, committed)| made != committed);
    assert_eq!(first_difference, None, "the line, from 0, where they part");
    assert_eq!(made.len(), COMMITTED.len());
}

#[test]
fn every_line_has_what_every_fact_has() {
    let facts = facts();
    for fact in &facts {
        assert_eq!(fact["v"], 1, "{fact}");
        assert!(KINDS.contains(&text(fact, "kind")), "{fact}");
        assert!(moment(fact, "written").instant() >= moment(fact, "at").instant(), "{fact}");
        for field in ["by", "vessel", "lot", "origin", "room", "round", "sample", "job", "about", "from", "to"] {
            if let Some(label) = fact[field].as_str() {
                assert!(Label::new(label).is_ok(), "{field} in {fact}");
            }
        }
    }
    for kind in KINDS {
        assert!(!of_kind(&facts, kind).is_empty(), "there is no {kind}");
    }
}

#[test]
fn facts_stand_in_order_and_numbers_have_no_gap() {
    let facts = facts();
    let keys: Vec<_> = facts.iter().map(|fact| (moment(fact, "at").instant(), id(fact))).collect();
    assert!(keys.is_sorted());
    let mut devices: BTreeMap<&str, Vec<&Value>> = BTreeMap::new();
    for fact in &facts {
        devices.entry(text(fact, "device")).or_default().push(fact);
    }
    assert_eq!(devices.len(), 3);
    for (device, mut own) in devices {
        own.sort_by_key(|fact| id(fact));
        assert!(own.iter().zip(1..).all(|(fact, n)| fact["n"] == n), "a gap in {device}");
        assert!(own.iter().map(|fact| moment(fact, "written").instant()).is_sorted(), "{device} wrote out of order");
        let prompt = own.iter().filter(|fact| fact["at"] == fact["written"]);
        assert!(prompt.map(|fact| moment(fact, "at").instant()).is_sorted(), "{device} jumps back");
    }
}

#[test]
fn the_clock_on_the_wall_is_central_european() {
    for fact in facts() {
        let at = text(&fact, "at");
        let summer = ("2025-05".."2025-10-26").contains(&at) || ("2026-03-29".."2026-10-25").contains(&at);
        assert!(at.ends_with(if summer { "+02:00" } else { "+01:00" }), "{at}");
    }
}

#[test]
fn a_retraction_names_an_earlier_fact_once() {
    let facts = facts();
    let times: BTreeMap<_, _> = facts.iter().map(|fact| (id(fact), moment(fact, "at").instant())).collect();
    let mut taken_back = BTreeSet::new();
    for retraction in of_kind(&facts, "retracted") {
        let target = id(&retraction["of"]);
        assert!(times[&target] < moment(retraction, "at").instant(), "{retraction}");
        assert!(taken_back.insert(target), "{retraction}");
    }
    assert!(taken_back.len() > 10);
}

#[test]
fn the_estate_has_its_size() {
    let facts = facts();
    assert!((12_000..=25_000).contains(&facts.len()), "{}", facts.len());
    assert!(COMMITTED.len() < 6_000_000);
    assert_eq!(of_kind(&facts, "room_laid_out").len(), 3);
    let vessels = of_kind(&facts, "vessel_registered");
    let of_type = |name: &str| vessels.iter().filter(|fact| fact["type"] == name).count();
    assert_eq!((of_type("barrel"), of_type("keg"), of_type("tank")), (338, 7, 14));
    let lots = of_kind(&facts, "lot_opened");
    let of_colour = |name: &str| lots.iter().filter(|fact| fact["colour"] == name).count();
    // The press wine and the blend of 2023 are lots without an origin of their own; the blend of 2024 is opened by the fact
    // that chooses it.
    assert_eq!((of_colour("red"), of_colour("white"), of_colour("rose")), (20, 1, 1));
    assert_eq!(of_kind(&facts, "origin_declared").len(), 20);
    let months: BTreeSet<_> = of_kind(&facts, "topped").iter().map(|fact| &text(fact, "at")[..7]).collect();
    assert_eq!(months.len(), 19);
    let texts: BTreeSet<_> = of_kind(&facts, "tasted").iter().map(|fact| text(fact, "text")).collect();
    assert!(texts.len() > 300);
}

/// Where barrels lie, as the facts say it.
#[derive(Default)]
struct Floor<'a> {
    rows: BTreeMap<(&'a str, &'a str), &'a Value>,
    lying: BTreeMap<Place, &'a str>,
}

impl<'a> Floor<'a> {
    fn take(&mut self, fact: &'a Value) {
        match text(fact, "kind") {
            "room_laid_out" => {
                let rows = fact["rows"].as_array().unwrap();
                self.rows.extend(rows.iter().map(|row| ((text(fact, "room"), text(row, "row")), row)));
            }
            "vessel_placed" => self.place(fact),
            "rack_moved" => self.move_rack(fact),
            _ => {}
        }
    }

    fn place(&mut self, fact: &'a Value) {
        let vessel = text(fact, "vessel");
        self.lying.retain(|_, lies| *lies != vessel);
        if let Some(place) = fact["place"].as_str() {
            self.lay(place.parse().unwrap(), vessel);
        }
    }

    fn move_rack(&mut self, fact: &'a Value) {
        let from: RackPlace = text(fact, "from").parse().unwrap();
        let to: RackPlace = text(fact, "to").parse().unwrap();
        assert!(self.lying.keys().all(|place| place.rack != to), "{fact}");
        let lifted: Vec<Place> = self.lying.keys().filter(|place| place.rack == from).cloned().collect();
        assert!(!lifted.is_empty(), "{fact}");
        for place in lifted {
            let vessel = self.lying.remove(&place).unwrap();
            self.lay(Place { rack: to.clone(), side: place.side }, vessel);
        }
    }

    fn lay(&mut self, place: Place, vessel: &'a str) {
        let row = self.rows[&(place.rack.room.as_str(), place.rack.row.as_str())];
        let most = |field: &str| row[field].as_u64().unwrap();
        assert!(u64::from(place.rack.stack) <= most("stacks"), "{place}");
        assert!(u64::from(place.rack.tier) <= most("tiers"), "{place}");
        assert!(u64::from(place.side) < most("sides"), "{place}");
        assert_eq!(self.lying.insert(place, vessel), None, "{vessel} is laid in a taken place");
    }
}

#[test]
fn barrels_are_laid_only_in_places_that_exist_and_are_free() {
    let facts = facts();
    let retracted: BTreeSet<_> = of_kind(&facts, "retracted").iter().map(|fact| id(&fact["of"])).collect();
    let mut floor = Floor::default();
    for fact in facts.iter().filter(|fact| !retracted.contains(&id(fact))) {
        floor.take(fact);
    }
    assert_eq!(floor.lying.len(), 312);
}

#[test]
fn the_last_morning_leaves_a_round_under_way() {
    let facts = facts();
    let last_day: Vec<&Value> = facts.iter().filter(|fact| text(fact, "at").starts_with("2026-11-25")).collect();
    let (begun, topped) = last_day.split_first().unwrap();
    assert_eq!((text(begun, "kind"), text(begun, "room")), ("round_begun", "long"));
    assert!((30..=40).contains(&topped.len()), "{}", topped.len());
    assert!(topped.iter().all(|fact| fact["kind"] == "topped" && fact["from"] == begun["from"]));
    let end = Moment::parse("2026-11-25T06:40:00+01:00").unwrap().instant();
    let last = facts.iter().map(|fact| moment(fact, "written").instant()).max().unwrap();
    assert!((end - 180_000_000..=end).contains(&last), "the last fact is not of the last minutes");
}

/// What each glass of a trial holds, by its code.
fn glasses(trial: &Value) -> BTreeMap<&str, Vec<u64>> {
    let shares =
        |glass: &Value| glass["shares_ppm"].as_array().unwrap().iter().map(|it| it.as_u64().unwrap()).collect();
    trial["glasses"].as_array().unwrap().iter().map(|glass| (text(glass, "code"), shares(glass))).collect()
}

#[test]
fn a_trial_is_finished_and_its_blend_made_to_a_few_litres() {
    let facts = facts();
    let [trial, _] = of_kind(&facts, "trial_set")[..] else { panic!("two trials") };
    let [chosen] = of_kind(&facts, "blend_chosen")[..] else { panic!("one blend") };
    assert_eq!(chosen["trial"], trial["trial"]);
    let glasses = glasses(trial);
    assert_eq!(glasses.values().collect::<BTreeSet<_>>().len(), glasses.len() - 2, "two hidden repeats");
    let shares = &glasses[text(chosen, "code")];
    let moved: Vec<&Value> =
        of_kind(&facts, "wine_moved").into_iter().filter(|fact| fact["job"] == chosen["work"]).collect();
    assert_eq!(moved.len(), 3);
    for (fact, (share, component)) in moved.iter().zip(shares.iter().zip(trial["components"].as_array().unwrap())) {
        assert_eq!((&fact["from"], &fact["to"], &fact["lot"]), (&component["vessel"], &chosen["into"], &chosen["lot"]));
        let planned = share * (chosen["volume_ul"].as_u64().unwrap() / 1_000_000);
        assert!(fact["volume_ul"].as_u64().unwrap().abs_diff(planned) < 8_000_000, "{fact}");
    }
    assert!(of_kind(&facts, "work_ended").iter().any(|ended| ended["work"] == chosen["work"]));
}

#[test]
fn a_trial_waits_for_its_reveal_and_for_a_few_ratings() {
    let facts = facts();
    let [_, trial] = of_kind(&facts, "trial_set")[..] else { panic!("two trials") };
    assert!(of_kind(&facts, "trial_revealed").iter().all(|fact| fact["trial"] != trial["trial"]));
    let of_trial = |fact: &&&Value| fact["trial"] == trial["trial"];
    let served: usize = trial["servings"]
        .as_object()
        .unwrap()
        .values()
        .flat_map(|flights| flights.as_array().unwrap())
        .map(|flight| flight.as_array().unwrap().len())
        .sum();
    let rated = of_kind(&facts, "glass_rated").iter().filter(of_trial).count();
    assert_eq!((served, rated), (108, 103));
}
