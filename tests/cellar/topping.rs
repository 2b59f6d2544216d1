//! Topping: V + X − C.

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::cellar::core::history::Event;
use barrelwalk::units::Volume;
use serde_json::json;

use crate::support::given::{Cellar, LITRE, barrel_of, lost, moved, topped, topped_in_part};

/// Book 225, capacity 225, 1.7 poured: 1.7 L were missing.
#[test]
fn what_goes_in_beyond_the_capacity_must_have_evaporated() {
    let cellar = Cellar::furnished()
        .days(21)
        .when(topped("B1", "T", 1_700_000))
        .then_taken()
        .holds("B1", 225 * LITRE)
        .booked("B1", Entry::Evaporation, 1_700_000)
        .booked("B1", Entry::Gain, 0)
        .booked("B1", Entry::MovedIn, 226_700_000)
        .holds("T", 1_548_300_000)
        .booked("T", Entry::MovedOut, 451_700_000);
    let barrel = cellar.vessel("B1");
    assert_eq!(barrel.last_topped, Some(cellar.now()));
    assert_eq!(barrel.level_known, Some(cellar.now()));
    assert_eq!(barrel.fills, 1, "topping begins no fill");
}

/// Book 223 after 2 L were lost, 2 poured: nothing evaporated.
#[test]
fn what_the_book_knows_to_be_missing_did_not_evaporate() {
    Cellar::furnished()
        .given(lost("B1", 2 * LITRE))
        .given(topped("B1", "T", 2 * LITRE))
        .holds("B1", 225 * LITRE)
        .booked("B1", Entry::Evaporation, 0)
        .booked("B1", Entry::Gain, 0);
}

/// Book 220, 2 poured and it is brimful: 3 L were there that the book did not know.
#[test]
fn a_barrel_that_is_full_too_soon_held_more_than_the_book_says() {
    Cellar::furnished()
        .given(lost("B1", 5 * LITRE))
        .given(topped("B1", "T", 2 * LITRE))
        .holds("B1", 225 * LITRE)
        .booked("B1", Entry::Evaporation, 0)
        .booked("B1", Entry::Gain, 3 * LITRE);
}

#[test]
fn a_barrel_that_takes_nothing_is_brimful_all_the_same() {
    let cellar = Cellar::furnished().given(lost("B1", LITRE)).given(topped("B1", "T", 0));
    let cellar = cellar.holds("B1", 225 * LITRE).booked("B1", Entry::Gain, LITRE);
    assert_eq!(cellar.vessel("B1").last_topped, Some(cellar.now()));
}

#[test]
fn evaporation_and_gain_take_every_origin_in_proportion_before_the_wine_comes_in() {
    // B1: 150 L of block-1 and 75 L of block-2.
    let mixed = Cellar::furnished().given(lost("B1", 75 * LITRE)).given(moved("U", "B1", 75 * LITRE));
    assert_eq!(mixed.parts("B1"), [("block-1", 150 * LITRE), ("block-2", 75 * LITRE)]);
    let cellar = mixed.clone().given(topped("B1", "U", 3 * LITRE));
    assert_eq!(cellar.parts("B1"), [("block-1", 148 * LITRE), ("block-2", 77 * LITRE)]);
    // 4.5 L lost leave 147 and 73.5; brimful with 1.5 poured is a gain of 3: 149 and 74.5, then 1.5 come in.
    let cellar = mixed.given(lost("B1", 4_500_000)).given(topped("B1", "U", 1_500_000));
    assert_eq!(cellar.parts("B1"), [("block-1", 149 * LITRE), ("block-2", 76 * LITRE)]);
}

#[test]
fn not_full_adds_and_infers_nothing_while_there_is_room() {
    let cellar = Cellar::furnished().given(lost("B1", 5 * LITRE)).given(topped_in_part("B1", "T", 2 * LITRE));
    let cellar = cellar.holds("B1", 222 * LITRE).booked("B1", Entry::Evaporation, 0).booked("B1", Entry::Gain, 0);
    assert_eq!(cellar.vessel("B1").last_topped, None, "not to the brim is no topping in full");
    assert_eq!(
        cellar.vessel("B1").history.lines().next_back().map(|line| line.event),
        Some(Event::ToppedInPart(Volume::from_litres(2)))
    );
}

#[test]
fn not_full_books_as_evaporation_what_would_stand_above_the_capacity() {
    Cellar::furnished()
        .given(lost("B1", LITRE))
        .given(topped_in_part("B1", "T", 3 * LITRE))
        .holds("B1", 225 * LITRE)
        .booked("B1", Entry::Evaporation, 2 * LITRE);
}

/// The can ran dry at 1 L; another can filled it with 0.8 L: 1.8 L were missing in all, and over three weeks.
#[test]
fn in_part_and_then_to_the_brim_is_as_once() {
    let before = Cellar::furnished().days(21);
    let twice = before.clone().given(topped_in_part("B1", "T", LITRE)).given(topped("B1", "T", 800_000));
    let once = before.given(topped("B1", "T", 1_800_000));
    for cellar in [twice.clone(), once.clone()] {
        cellar.holds("B1", 225 * LITRE).booked("B1", Entry::Evaporation, 1_800_000);
    }
    let rate = |cellar: &Cellar| cellar.vessel("B1").last_rate.map(|rate| rate.0);
    let (twice, once) = (rate(&twice), rate(&once));
    assert!(
        twice.zip(once).is_some_and(|(twice, once)| twice.abs_diff(once) < 100),
        "microlitres a day: {twice:?}, not {once:?}"
    );
}

#[test]
fn wine_that_tops_takes_the_lot_that_is_there() {
    let cellar = Cellar::furnished().given(topped("B1", "U", LITRE)).has_lot("B1", "R");
    assert_eq!(cellar.parts("B1"), [("block-1", 224 * LITRE), ("block-2", LITRE)]);
}

#[test]
fn a_source_that_gives_more_than_its_book_gains() {
    let keg = json!({"kind": "vessel_registered", "vessel": "K", "type": "keg", "capacity_ul": 10 * LITRE});
    Cellar::furnished()
        .given(keg)
        .given(moved("T", "K", LITRE))
        .given(topped("B1", "K", 1_500_000))
        .booked("K", Entry::Gain, 500_000)
        .holds("K", 0)
        .has_lot("K", None);
}

#[test]
fn a_barrel_that_was_dry_keeps_its_lot_and_its_fill() {
    let cellar = Cellar::furnished()
        .when(topped("B1", "U", 225 * LITRE))
        .then_a_slip("would mean that 225 L was missing")
        .holds("B1", 225 * LITRE)
        .booked("B1", Entry::Evaporation, 225 * LITRE)
        .has_lot("B1", "R");
    assert_eq!(cellar.vessel("B1").fills, 1);
    assert_eq!(cellar.parts("B1"), [("block-2", 225 * LITRE)]);
}

#[test]
fn more_than_a_quarter_missing_is_most_likely_a_slip() {
    Cellar::furnished().when(topped("B1", "T", 56_000_000)).then_taken();
    Cellar::furnished().when(topped("B1", "T", 57_000_000)).then_a_slip("gauge the barrel first").booked(
        "B1",
        Entry::Evaporation,
        57 * LITRE,
    );
}

#[test]
fn no_barrel_takes_more_than_it_holds() {
    Cellar::furnished()
        .when(topped("B1", "T", 226 * LITRE))
        .then_counted_in_doubt("its capacity is 225 L")
        .booked("B1", Entry::Evaporation, 225 * LITRE)
        .holds("B1", 226 * LITRE);
}

#[test]
fn no_keg_gives_more_than_it_holds() {
    let keg = json!({"kind": "vessel_registered", "vessel": "K", "type": "keg", "capacity_ul": 10 * LITRE});
    Cellar::furnished()
        .given(keg)
        .given(moved("T", "K", LITRE))
        .when(topped("B1", "K", 11 * LITRE))
        .then_counted_in_doubt("cannot have given 11 L")
        .booked("K", Entry::Gain, 10 * LITRE);
}

#[test]
fn what_cannot_be_topped_is_refused_and_has_no_effect() {
    let cellar = Cellar::furnished().given(barrel_of("E2", 225));
    for (fact, part) in [
        (topped("E", "T", LITRE), "so it cannot be topped"),
        (topped("B1", "E", LITRE), "E holds nothing by the book"),
        (topped("B1", "B1", LITRE), "cannot be filled from itself"),
        (topped("nobody", "T", LITRE), "No vessel is called 'nobody'"),
        (topped("B1", "nobody", LITRE), "No vessel is called 'nobody'"),
        (topped_in_part("B1", "T", 0), "No volume is said"),
        (topped("B1", "T", Volume::MOST.as_ul() + 1), "more wine than any cellar holds"),
    ] {
        cellar.clone().when(fact).then_has_no_effect(part);
    }
}
