//! A line of every kind in every version, frozen: old logs open for ever, and mean what they meant.
//!
//! `frozen.jsonl` is the log of a small cellar. A line of it is never changed. Whoever adds a kind, or a version of one, adds
//! a line behind the others that says every field; the picture beside it shows what all of them come to.
#![allow(clippy::unwrap_used)] // a test may stop at the first surprise

use std::collections::BTreeSet;
use std::fmt::Write;

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::cellar::core::fact::{Fact, IncomingFact, KINDS, Line, What};
use barrelwalk::cellar::core::fold::{Retractions, fold};
use barrelwalk::cellar::core::state::{State, Vessel};

const FROZEN: &str = include_str!("frozen.jsonl");

fn lines() -> Vec<Line> {
    let line = |json: &str| {
        let (incoming, body) = IncomingFact::from_json(json).unwrap_or_else(|error| panic!("{error}\n{json}"));
        Line {
            id: incoming.id.unwrap(),
            at: incoming.at,
            written: incoming.written.unwrap(),
            by: incoming.by,
            version: incoming.version,
            kind: incoming.what.kind().into(),
            body,
            job: incoming.job,
            note: incoming.note,
        }
    };
    FROZEN.lines().map(line).collect()
}

#[test]
fn there_is_a_line_of_every_kind_and_version() {
    let there: BTreeSet<(String, u32)> = lines().iter().map(|line| (line.kind.to_string(), line.version)).collect();
    for &kind in KINDS {
        for version in 1..=What::newest_version(kind).unwrap() {
            assert!(
                there.contains(&(kind.to_owned(), version)),
                "tests/cellar/frozen.jsonl has no line of '{kind}' in version {version}. Put one behind the others that says every field."
            );
        }
    }
}

/// Each is written again, in the newest version, as it always was.
#[test]
fn every_line_reads_as_it_always_did() {
    let written = lines().into_iter().map(|line| {
        let fact = line.fact().unwrap_or_else(|error| panic!("{error}\n{}", line.to_json()));
        Line::try_from(&fact).unwrap().to_json()
    });
    insta::assert_snapshot!("frozen-read", written.collect::<Vec<_>>().join("\n"));
}

/// Together they do what they always did.
#[test]
fn they_come_to_what_they_always_came_to() {
    let mut facts: Vec<Fact> = lines().iter().map(|line| line.fact().unwrap()).collect();
    facts.sort_by_key(Fact::key);
    let mut retractions = Retractions::default();
    retractions.extend(facts.iter().filter_map(|fact| match &fact.what {
        What::Retracted(retracted) => Some((fact.key(), retracted.of.clone())),
        _ => None,
    }));
    let mut state = State::default();
    for fact in &facts {
        fold(&mut state, &retractions, &fact.stamp(), &fact.what);
    }
    insta::assert_snapshot!("frozen-fold", told(&state));
}

fn told(state: &State) -> String {
    let mut told = String::new();
    for (_, vessel) in state.vessels.iter() {
        writeln!(told, "{}", of_vessel(state, vessel)).unwrap();
    }
    for (_, round) in state.rounds.iter() {
        let poured = round.poured.as_ul();
        writeln!(told, "round {}: {} topped, {poured} µL, ended {}", round.label, round.topped, round.ended.is_some())
            .unwrap();
    }
    for (_, lot) in state.lots.iter() {
        writeln!(told, "lot {}: {:?}", lot.label, lot.colour).unwrap();
    }
    for (_, work) in state.works.iter() {
        writeln!(told, "work {}: {} stops, open {}", work.label, work.stops.len(), work.ended.is_none()).unwrap();
    }
    let counts = [
        ("rooms", state.rooms.len()),
        ("origins", state.origins.len()),
        ("samples", state.samples.len()),
        ("trials", state.trials.len()),
        ("runs", state.runs.len()),
        ("stores", state.stores.len()),
        ("counts", state.counts.len()),
        ("fining trials", state.finings.len()),
        ("marks of the house", state.house_marks.len()),
        ("checks of the house", state.house_checks.len()),
    ];
    for (things, count) in counts {
        writeln!(told, "{things}: {count}").unwrap();
    }
    for discrepancy in state.discrepancies.iter() {
        writeln!(told, "does not fit: {} {}", discrepancy.kind, discrepancy.problem).unwrap();
    }
    told
}

fn of_vessel(state: &State, vessel: &Vessel) -> String {
    let lot = vessel.lot.map_or("no lot", |lot| state.lots.get(lot).label.as_str());
    let mut told = format!("{}: {} of {} µL, {lot}", vessel.label, vessel.volume().as_ul(), vessel.capacity.as_ul());
    let account = vessel.account();
    for entry in Entry::ALL {
        let sum = account.sum(entry).as_ul();
        if sum > 0 {
            write!(told, "; {entry:?} {sum}").unwrap();
        }
    }
    let marks = [
        ("placed", vessel.slot.is_some()),
        ("retired", vessel.retired.is_some()),
        ("held", vessel.held.is_some()),
        ("tasted", vessel.taste.is_some()),
        ("topped", vessel.last_topped.is_some()),
    ];
    for (word, _) in marks.iter().filter(|(_, is_so)| *is_so) {
        write!(told, "; {word}").unwrap();
    }
    if !vessel.additions.is_empty() {
        write!(told, "; {} additions", vessel.additions.len()).unwrap();
    }
    told
}
