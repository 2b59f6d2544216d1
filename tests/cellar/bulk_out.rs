//! Wine that leaves the house in bulk: no loss, and every litre of it in the ledger.

use barrelwalk::cellar::core::account::Entry;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE};

fn out(vessel: &str, microlitres: u64) -> Value {
    json!({"kind": "wine_out", "vessel": vessel, "volume_ul": microlitres, "to": "the house over the river", "why": "sold"})
}

#[test]
fn it_is_booked_for_itself_and_is_no_loss() {
    let cellar = Cellar::furnished().given(out("B1", 100 * LITRE));
    cellar.booked("B1", Entry::Removed, 100 * LITRE).booked("B1", Entry::Other, 0).holds("B1", 125 * LITRE);
}

#[test]
fn all_of_it_empties_the_vessel() {
    Cellar::furnished().given(out("B1", 225 * LITRE)).holds("B1", 0).has_lot("B1", None);
}

#[test]
fn what_is_measured_beyond_the_book_was_there() {
    Cellar::furnished().given(out("B1", 228 * LITRE)).booked("B1", Entry::Gain, 3 * LITRE).holds("B1", 0);
}

#[test]
fn what_cannot_leave_is_refused_and_has_no_effect() {
    for (fact, part) in [
        (out("E", LITRE), "E holds nothing by the book"),
        (out("nobody", LITRE), "No vessel is called 'nobody'"),
        (out("B1", 0), "No volume is said"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
}
