//! Wine that is gone, and why.

use barrelwalk::cellar::core::account::Entry;
use serde_json::json;

use crate::support::given::{Cellar, LITRE, lost};

#[test]
fn every_cause_has_its_line() {
    for (cause, entry) in [
        ("spill", Entry::Spill),
        ("lees", Entry::Lees),
        ("leak", Entry::Leak),
        ("handling", Entry::Handling),
        ("other", Entry::Other),
    ] {
        let fact = json!({"kind": "lost", "vessel": "B1", "volume_ul": LITRE, "cause": cause});
        Cellar::furnished().given(fact).booked("B1", entry, LITRE).holds("B1", 224 * LITRE);
    }
}

#[test]
fn what_is_lost_beyond_the_book_was_there() {
    Cellar::furnished().given(lost("B1", 228 * LITRE)).booked("B1", Entry::Gain, 3 * LITRE).holds("B1", 0);
}

#[test]
fn all_of_it_empties_the_vessel() {
    Cellar::furnished().given(lost("B1", 225 * LITRE)).holds("B1", 0).has_lot("B1", None);
}

#[test]
fn no_barrel_loses_more_than_it_holds() {
    Cellar::furnished()
        .when(lost("B1", 300 * LITRE))
        .then_counted_in_doubt("B1 cannot have given 300 L")
        .booked("B1", Entry::Gain, 75 * LITRE)
        .booked("B1", Entry::Spill, 300 * LITRE);
}

#[test]
fn what_cannot_be_lost_is_refused_and_has_no_effect() {
    for (fact, part) in [
        (lost("E", LITRE), "E holds nothing by the book"),
        (lost("nobody", LITRE), "No vessel is called 'nobody'"),
        (lost("B1", 0), "No volume is said"),
        (lost("B1", u64::MAX), "more wine than any cellar holds"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
}
