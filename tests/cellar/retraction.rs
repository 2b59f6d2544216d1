//! Facts taken back, and the taking-back taken back.

use barrelwalk::cellar::core::fact::{Device, FactId, FactKey};
use barrelwalk::cellar::core::fold::Retractions;
use proptest::prelude::*;

fn id(device: &str, n: u64) -> FactId {
    FactId { device: Device::new(device).unwrap_or_else(|error| panic!("{error}")), n }
}

/// The fact of a device at an instant takes back another.
fn taking(instant: i64, fact: FactId, of: FactId) -> (FactKey, FactId) {
    (FactKey { instant, id: fact }, of)
}

fn gone(retractions: impl IntoIterator<Item = (FactKey, FactId)>) -> Vec<String> {
    let mut all = Retractions::default();
    all.extend(retractions);
    let mut gone: Vec<String> = all.gone().map(ToString::to_string).collect();
    gone.sort();
    gone
}

#[test]
fn a_fact_is_taken_back_and_given_back_and_taken_back() {
    let first = taking(2, id("a", 2), id("a", 1));
    let second = taking(3, id("a", 3), id("a", 2));
    let third = taking(4, id("a", 4), id("a", 3));
    assert_eq!(gone([first.clone()]), ["a:1"]);
    assert_eq!(gone([first.clone(), second.clone()]), ["a:2"]);
    assert_eq!(gone([first, second, third]), ["a:1", "a:3"]);
}

#[test]
fn two_laptops_may_take_back_the_same_fact() {
    let ours = taking(2, id("a", 2), id("a", 1));
    let theirs = taking(3, id("b", 1), id("a", 1));
    let redo = taking(4, id("a", 3), id("a", 2));
    assert_eq!(gone([ours.clone(), theirs.clone()]), ["a:1"]);
    assert_eq!(gone([ours, theirs, redo]), ["a:1", "a:2"], "one of the two still stands");
}

/// The other laptop's clock is an hour behind: its redo is dated before the undo that it takes back.
#[test]
fn what_takes_back_may_be_dated_before_what_it_takes_back() {
    let undo = taking(3_600, id("a", 2), id("a", 1));
    let redo = taking(60, id("b", 1), id("a", 2));
    assert_eq!(gone([undo, redo]), ["a:2"]);
}

#[test]
fn a_fact_that_takes_itself_back_stands() {
    assert_eq!(gone([taking(1, id("a", 1), id("a", 1))]), [""; 0]);
    // It can still be taken back by another.
    assert_eq!(gone([taking(1, id("a", 1), id("a", 1)), taking(2, id("a", 2), id("a", 1))]), ["a:1"]);
}

#[test]
fn of_two_that_take_back_each_other_the_last_stands() {
    let earlier = taking(1, id("a", 1), id("b", 1));
    let later = taking(2, id("b", 1), id("a", 1));
    assert_eq!(gone([earlier, later]), ["a:1"]);
}

#[test]
fn of_a_ring_the_last_stands_and_the_others_follow_from_it() {
    // c:1, the last, takes back a:1; so a:1 does not take back b:1; b:1 stands but may not take back the last.
    let ring =
        [taking(1, id("a", 1), id("b", 1)), taking(2, id("b", 1), id("c", 1)), taking(3, id("c", 1), id("a", 1))];
    assert_eq!(gone(ring.clone()), ["a:1"]);
    // One from outside that takes back a part of the ring settles it.
    let outside = taking(4, id("d", 1), id("c", 1));
    assert_eq!(gone(ring.into_iter().chain([outside])), ["b:1", "c:1"]);
}

#[test]
fn what_hangs_on_a_retraction_is_followed_to_its_end_and_a_ring_once() {
    let mut all = Retractions::default();
    all.extend([
        taking(2, id("a", 2), id("a", 1)),
        taking(3, id("a", 3), id("a", 2)),
        taking(4, id("b", 1), id("b", 2)),
        taking(5, id("b", 2), id("b", 1)),
        taking(6, id("c", 1), id("c", 1)),
    ]);
    let reached = |device: &str, n: u64| {
        let mut reached: Vec<String> = all.reached_from([&id(device, n)]).iter().map(ToString::to_string).collect();
        reached.sort();
        reached
    };
    assert_eq!(reached("a", 3), ["a:1", "a:2"]);
    assert_eq!(reached("b", 1), ["b:1", "b:2"]);
    assert_eq!(reached("c", 1), ["c:1"]);
    assert_eq!(reached("a", 1), [""; 0]);
}

/// Retractions of any facts by any others, on few devices with few facts, so that chains, forks and rings are common.
fn some_retractions() -> impl Strategy<Value = Vec<(FactKey, FactId)>> {
    let fact = (0_usize..3, 1_u64..6).prop_map(|(device, n)| id(["a", "b", "c"][device], n));
    prop::collection::vec((0_i64..5, fact.clone(), fact), 0..12).prop_map(|found| {
        let mut all: Vec<(FactKey, FactId)> = Vec::new();
        for (instant, fact, of) in found {
            if all.iter().all(|(key, _)| key.id != fact) {
                all.push(taking(instant, fact, of));
            }
        }
        all
    })
}

proptest! {
    #[test]
    fn the_order_of_arrival_does_not_matter(all in some_retractions(), seed in any::<u64>()) {
        let mut shuffled = all.clone();
        shuffled.sort_by_key(|(key, _)| {
            (u64::from(key.id.device.as_str().as_bytes()[0]) * 31 + key.id.n).wrapping_mul(seed | 1)
        });
        let mut one_by_one = Retractions::default();
        for (key, of) in shuffled.clone() {
            one_by_one.extend([(key, of)]);
        }
        let mut at_once = Retractions::default();
        at_once.extend(all.clone());
        prop_assert_eq!(&one_by_one, &at_once);
        prop_assert_eq!(gone(all), gone(shuffled));
    }

    /// Where no ring is, what stands is exactly what nothing that stands takes back.
    #[test]
    fn what_stands_is_what_nothing_standing_takes_back(all in some_retractions()) {
        let honest: Vec<_> = all.into_iter().filter(|(key, of)| key.id > *of).collect();
        let mut retractions = Retractions::default();
        retractions.extend(honest.clone());
        for (key, of) in &honest {
            if !retractions.contains(&key.id) {
                prop_assert!(retractions.contains(of));
            }
        }
        for id in retractions.gone() {
            prop_assert!(honest.iter().any(|(key, of)| of == id && !retractions.contains(&key.id)));
        }
    }
}
