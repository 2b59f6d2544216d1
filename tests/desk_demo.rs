//! The demo cellar comes in through the same door as any file of facts, and looks the same after a fresh load.

#![allow(clippy::unwrap_used)] // in what the test reads

use std::path::Path;

use barrelwalk::cellar::fact::IncomingFact;
use barrelwalk::cellar::ledger::{Division, Row};
use barrelwalk::cellar::moment::Moment;
use barrelwalk::desk::{Access, Desk, IncomingLine};

fn lines(text: &str) -> Vec<IncomingLine> {
    text.lines()
        .zip(1..)
        .map(|(line, number)| {
            let (fact, body) = IncomingFact::from_json(line).unwrap();
            IncomingLine { number, fact, body }
        })
        .collect()
}

#[test]
fn the_demo_cellar_is_taken_whole_and_loads_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("demo.cellar");
    let now = Moment::parse("2026-11-25T06:41:00+01:00").unwrap();
    let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cellar/facts.jsonl")).unwrap();
    Desk::create(&path, now).unwrap();
    let mut desk = Desk::open(&path, Access::ReadWrite).unwrap();
    let outcome = desk.record(lines(&text), now, false).unwrap();
    assert_eq!(outcome.refused, []);
    assert_eq!(outcome.flagged, Vec::<String>::new());
    assert_eq!(outcome.taken.len(), text.lines().count());
    let state = desk.state().clone();
    // One on purpose: a sample from a barrel whose filling was a slip.
    let found = desk.discrepancies(&state).unwrap();
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(desk.verify().unwrap().problems, Vec::<String>::new());
    drop(desk);
    let again = Desk::open(&path, Access::ReadWrite).unwrap();
    assert!(again.warnings().is_empty(), "{:?}", again.warnings());
    assert!(*again.state() == state);
}

/// A period is folded on from month to month; its ends are the states that the desk tells of those moments, its ledger balances
/// to the microlitre, and what it lost is what its rooms lost.
#[test]
fn a_period_is_what_the_desk_tells_of_its_ends() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("demo.cellar");
    let moment = |text: &str| Moment::parse(text).unwrap();
    let now = moment("2026-11-25T06:41:00+01:00");
    barrelwalk::desk::create_demo(&path, now).unwrap();
    let desk = Desk::open(&path, Access::ReadOnly).unwrap();
    let (from, to) = (moment("2025-09-15T00:00:00+02:00"), moment("2026-10-31T23:59:59+01:00"));
    let period = desk.period(from, to, now).unwrap();
    assert!(*period.opening() == desk.state_before(from).unwrap());
    assert!(*period.closing() == desk.state_at(to).unwrap());
    for division in [Division::Whole, Division::Vessel, Division::Lot, Division::Room] {
        assert!(period.rows(division).iter().all(Row::balances), "{division:?}");
        let (parts, whole) = (period.losses(division), period.losses(Division::Whole));
        let lost: u64 = parts.values().map(|its| its.lost.as_ul()).sum();
        assert_eq!(lost, whole.values().map(|its| its.lost.as_ul()).sum::<u64>(), "{division:?}");
        let mean: f64 = parts.values().map(barrelwalk::cellar::ledger::Losses::mean_litres).sum();
        assert!((40_000.0..90_000.0).contains(&mean), "{mean} by {division:?}");
    }
}
