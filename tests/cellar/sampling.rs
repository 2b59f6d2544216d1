//! A sample drawn.

use barrelwalk::cellar::core::account::Entry;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE};

fn sampled(vessel: &str, microlitres: u64) -> Value {
    json!({"kind": "sampled", "vessel": vessel, "volume_ul": microlitres, "sample": "lab-7", "purpose": "pH"})
}

#[test]
fn a_sample_leaves_the_vessel_under_its_own_line() {
    Cellar::furnished()
        .given(sampled("B1", 100_000))
        .given(sampled("B2", 100_000))
        .booked("B1", Entry::Sample, 100_000)
        .booked("B2", Entry::Sample, 100_000)
        .holds("B1", 224_900_000);
}

#[test]
fn a_sample_beyond_the_book_is_a_gain() {
    Cellar::furnished().given(sampled("B1", 226 * LITRE)).booked("B1", Entry::Gain, LITRE).holds("B1", 0);
}

#[test]
fn what_cannot_be_sampled_is_refused() {
    for (fact, part) in [
        (sampled("E", 100_000), "E holds nothing by the book"),
        (sampled("nobody", 100_000), "No vessel is called 'nobody'"),
        (sampled("B1", 0), "No volume is said"),
        (sampled("B1", u64::MAX), "more wine than any cellar holds"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
    Cellar::furnished().when(sampled("B1", 300 * LITRE)).then_counted_in_doubt("cannot have given 300 L");
}
