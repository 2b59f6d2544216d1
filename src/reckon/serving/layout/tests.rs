#![allow(clippy::unwrap_used)] // a test that does not get what it laid out has failed

use std::collections::BTreeSet;

use proptest::prelude::*;

use super::super::Range;
use super::*;

fn served(question: &Question, seed: u64) -> Serving {
    lay_out(question, &mut Chance::from_seed(seed)).unwrap()
}

#[test]
fn a_whole_square_of_tasters_is_balanced_exactly() {
    for glasses in [4, 6, 8, 10] {
        let question = Question::of(glasses, glasses);
        let balance = served(&question, 7).balance(&question);
        let once = Range { least: 1, most: 1 };
        assert_eq!((balance.at_place, balance.behind), (once, once), "{glasses}");
    }
    let question = Question::of(7, 14);
    let balance = served(&question, 7).balance(&question);
    let twice = Range { least: 2, most: 2 };
    assert_eq!((balance.at_place, balance.behind), (twice, twice));
}

/// Fifty glasses and eight tasters in flights of at most fifteen: as people taste them.
#[test]
fn fifty_glasses_are_served_evenly_and_repeats_stand_in_other_flights() {
    let repeats = vec![(46, 3), (47, 8), (48, 20), (49, 31)];
    let question = Question { repeats: repeats.clone(), ..Question::of(50, 8) };
    let serving = served(&question, 2026);
    let balance = serving.balance(&question);
    assert!(balance.tasted.least >= 7 && balance.tasted.most <= 8, "{balance:?}");
    assert!(balance.at_place.most <= 1 && balance.behind.most <= 1 && balance.beside.most <= 5, "{balance:?}");
    assert!(balance.connected);
    for order in &serving.orders {
        assert_eq!(order.iter().map(Vec::len).collect::<Vec<_>>(), [15, 15, 15]);
        for &(repeat, original) in &repeats {
            let flight = |glass| order.iter().position(|flight| flight.contains(&glass));
            assert!(flight(repeat).is_none() == flight(original).is_none());
            assert!(flight(repeat).is_none() || flight(repeat) != flight(original));
        }
    }
}

#[test]
fn a_repeat_in_the_same_flight_stands_far_from_its_original() {
    let question = Question { repeats: vec![(7, 2)], ..Question::of(8, 8) };
    for order in served(&question, 5).orders {
        let place = |glass| order[0].iter().position(|&standing| standing == glass).unwrap();
        assert!(place(7).abs_diff(place(2)) >= 3, "{order:?}");
    }
}

/// The balanced incomplete design of seven glasses in flights of three (each pair once) is one that the exchange should
/// come near to: no pair more than twice, each glass three times.
#[test]
fn seven_tasters_of_three_glasses_each_come_near_the_balanced_design() {
    let question = Question { most: 3, flight: 3, ..Question::of(7, 7) };
    let balance = served(&question, 1).balance(&question);
    assert_eq!(balance.tasted, Range { least: 3, most: 3 });
    assert!(balance.beside.most <= 2 && balance.connected, "{balance:?}");
}

#[test]
fn what_cannot_be_served_is_said() {
    let refused = |question: Question| lay_out(&question, &mut Chance::from_seed(1)).unwrap_err();
    assert_eq!(refused(Question::of(0, 3)), ServingError::Nothing);
    assert_eq!(refused(Question::of(3, 0)), ServingError::Nothing);
    assert_eq!(refused(Question { flight: 0, ..Question::of(3, 3) }), ServingError::Flight);
    assert_eq!(refused(Question { repeats: vec![(1, 1)], ..Question::of(3, 3) }), ServingError::Repeat(1, 1));
    assert_eq!(refused(Question { repeats: vec![(9, 1)], ..Question::of(3, 3) }), ServingError::Repeat(9, 1));
    let chain = vec![(1, 0), (2, 1)];
    assert_eq!(refused(Question { repeats: chain, ..Question::of(3, 3) }), ServingError::Repeat(2, 1));
    assert!(matches!(refused(Question { most: 10, ..Question::of(50, 4) }), ServingError::Uncovered { .. }));
    let pair = Question { repeats: vec![(1, 0)], most: 1, ..Question::of(4, 9) };
    assert_eq!(refused(pair), ServingError::RepeatsPerDay(2, 1));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn every_day_is_of_different_glasses_and_no_flight_too_long(
        glasses in 1_usize..24, tasters in 1_usize..7, flight in 1_usize..10, most in 1_usize..30, seed: u64, repeats in 0_usize..3,
    ) {
        let repeats: Vec<_> = (0..repeats.min(glasses / 3)).map(|index| (glasses - 1 - index, index)).collect();
        let question = Question { glasses, repeats, tasters, flight, most };
        let Ok(serving) = lay_out(&question, &mut Chance::from_seed(seed)) else {
            prop_assert!(most < glasses);
            return Ok(());
        };
        prop_assert_eq!(serving.orders.len(), tasters);
        for order in &serving.orders {
            let day: Vec<usize> = order.iter().flatten().copied().collect();
            let different: BTreeSet<usize> = day.iter().copied().collect();
            prop_assert!(different.len() == day.len() && day.len() <= most && day.len() + 2 >= glasses.min(most));
            prop_assert!(order.iter().all(|glasses| glasses.len() <= flight));
        }
        let balance = serving.balance(&question);
        prop_assert!(balance.tasted.least >= 1);
        prop_assert_eq!(&serving, &lay_out(&question, &mut Chance::from_seed(seed)).unwrap());
    }
}
