//! Opening and what came are closing and what went.

use barrelwalk::cellar::account::Entry;
use barrelwalk::cellar::ledger::{Division, Row, Subject};
use barrelwalk::units::Volume;
use serde_json::json;

use crate::support::given::{Cellar, LITRE, lost, moved, placed, topped};

#[track_caller]
fn row(rows: &[Row], subject: Subject) -> &Row {
    rows.iter().find(|row| row.subject == subject).unwrap_or_else(|| panic!("no row {subject:?}"))
}

fn litres(row: &Row) -> [u64; 4] {
    [row.opening, row.moved_in, row.moved_out, row.closing].map(|volume| volume.as_ul() / LITRE)
}

/// From full barrels to racked: a topping that found 2 L missing, a spill of 1 L, 225 L racked with 2 L of lees.
#[test]
fn a_month_in_the_cellar() {
    let before = Cellar::furnished();
    let after = before.clone().given(topped("B1", "T", 2 * LITRE)).given(lost("B2", LITRE)).given(json!({
        "kind": "wine_moved", "from": "B2", "to": "U", "volume_ul": 222 * LITRE, "purpose": "racking",
        "empties": true, "lees_ul": LITRE,
    }));
    let whole = &after.ledger_since(&before, Division::Whole)[0];
    assert_eq!(litres(whole), [3_500, 224, 224, 3_495]);
    let sums = [Entry::Evaporation, Entry::Spill, Entry::Lees, Entry::Received].map(|entry| whole.account.sum(entry));
    assert_eq!(sums.map(|sum| sum.as_ul() / LITRE), [2, 1, 2, 0]);
    assert!(whole.balances());
    let vessels = after.ledger_since(&before, Division::Vessel);
    let id = |label: &str| Subject::Vessel(after.state.vessels.find(label).unwrap_or_else(|| panic!("no {label}")));
    assert_eq!(litres(row(&vessels, id("B1"))), [225, 2, 0, 225]);
    assert_eq!(litres(row(&vessels, id("B2"))), [225, 0, 222, 0]);
    assert_eq!(litres(row(&vessels, id("T"))), [1_550, 0, 2, 1_548]);
    assert_eq!(litres(row(&vessels, id("U"))), [1_000, 222, 0, 1_222]);
    assert!(!vessels.iter().any(|row| row.subject == id("E")), "nothing was ever in it");
    assert!(vessels.iter().all(Row::balances));
}

#[test]
fn a_new_name_moves_wine_from_lot_to_lot() {
    let before = Cellar::furnished();
    let mut fact = moved("B1", "U", 225 * LITRE);
    fact["lot"] = "R".into();
    let after = before.clone().given(fact);
    let lots = after.ledger_since(&before, Division::Lot);
    let id = |label: &str| Subject::Lot(after.state.lots.find(label));
    // R: 225 L go from B1 to U, and the 1,000 L in U take its name.
    assert_eq!(litres(row(&lots, id("R"))), [2_000, 1_225, 225, 3_000]);
    assert_eq!(litres(row(&lots, id("S"))), [1_000, 0, 1_000, 0]);
    assert!(lots.iter().all(Row::balances));
    let vessels = after.ledger_since(&before, Division::Vessel);
    assert!(vessels.iter().all(Row::balances));
}

#[test]
fn a_forklift_moves_wine_from_room_to_room() {
    let before = Cellar::furnished().given(json!({
        "kind": "room_laid_out", "room": "cave", "rows": [{"row": "A", "stacks": 1, "tiers": 1, "sides": 2}],
    }));
    let after = before.clone().given(placed("B1", "cave/A-01-1-a"));
    let rooms = after.ledger_since(&before, Division::Room);
    let id = |label: &str| Subject::Room(after.state.rooms.find(label));
    assert_eq!(litres(row(&rooms, id("long"))), [450, 0, 225, 225]);
    assert_eq!(litres(row(&rooms, id("cave"))), [0, 225, 0, 225]);
    assert_eq!(litres(row(&rooms, Subject::Room(None))), [3_050, 0, 0, 3_050]);
    assert!(rooms.iter().all(Row::balances));
}

#[test]
fn a_period_in_which_nothing_was_has_one_row_of_nothing() {
    let empty = Cellar::new();
    let whole = empty.ledger_since(&empty, Division::Whole);
    assert_eq!((whole.len(), whole[0].closing, whole[0].balances()), (1, Volume::ZERO, true));
    assert_eq!(empty.ledger_since(&empty, Division::Lot), []);
}
