//! From an empty cellar to a round closed, on the screen alone.

use barrelwalk::tui::core::model::Tone;
use barrelwalk::tui::floor::begin::{Begin, BeginLine};

use crate::pictures::keep;
use crate::walk::Walk;

#[test]
fn an_empty_cellar_begins_with_a_room_barrels_and_a_lot_and_its_first_round_is_closed() {
    let mut walk = Walk::empty();
    assert!(walk.model.page::<Begin>().is_some());
    keep(&walk, "begin-nothing");
    walk.press("enter `A-D, 5 stacks, 4 high, pairs`");
    keep(&walk, "begin-room");
    walk.press("enter");
    assert_eq!(walk.said(), "cellar is laid out: 4 rows, 160 places.");
    walk.press("enter `181-210, Allier, medium, 2026`");
    keep(&walk, "begin-barrels");
    walk.press("enter");
    assert_eq!(
        walk.said(),
        "Numbered: 30 barrels, 181 to 210. From cellar/A-01-1-a to cellar/A-04-3-b. Labels like 181 are read as litres on the floor. \
         If they are plain numbers, say so by / plain numbers are labels: then litres want a point, a comma or a unit, like 1.8 or 2 L."
    );
    keep(&walk, "begin-like-litres");
    walk.press("up enter `K1, keg, 100 L` enter");
    assert_eq!(walk.said(), "Numbered: keg K1. Not on the map.");
    walk.press("enter `M26, red, Syrah, 2026, Varrow Valley, block Upper Terrace: 181-210 full, K1 full`");
    keep(&walk, "begin-lot");
    walk.press("enter");
    assert_eq!(walk.said(), "M26: 6850.0 L in 31 vessels, 181 to K1.");
    keep(&walk, "begin-there");
    walk.press("esc b");
    keep(&walk, "begin-round");
    walk.press("enter");
    walk.press("e");
    assert!(walk.said().starts_with("The row: 30 topped"), "{}", walk.said());
    walk.press("z enter");
    assert!(walk.model.state.rounds.iter().all(|(_, round)| round.ended.is_some()), "{}", walk.said());
    assert!(walk.model.state.discrepancies.is_empty());
}

#[test]
fn one_undo_takes_back_a_line_and_what_is_wrong_stays_on_it() {
    let mut walk = Walk::empty();
    walk.press("enter `A-D, 5 stakcs, 4 high` enter");
    assert!(walk.said().starts_with("'5 stakcs' is not understood."), "{}", walk.said());
    assert!(walk.model.page::<BeginLine>().is_some());
    walk.press("esc `long: A-B, 5 stacks, 4 high` enter");
    walk.press("enter `1-10, Vosges` enter");
    assert_eq!(walk.model.state.vessels.len(), 10);
    walk.press("u");
    assert_eq!((walk.model.state.vessels.len(), walk.model.state.rooms.len()), (0, 1));
    walk.press("y");
    assert_eq!(walk.model.state.vessels.len(), 10);
}

#[test]
fn the_list_of_an_empty_floor_begins_with_beginning() {
    let mut walk = Walk::empty();
    walk.press("esc enter");
    assert!(walk.text(80, 24).contains("│   1 Begin a cellar "), "{}", walk.text(80, 24));
    walk.press("1 enter");
    assert!(walk.model.page::<Begin>().is_some(), "{}", walk.text(80, 24));
}

/// That numbers are read as litres is said once, and the way that is named leads there.
#[test]
fn numbers_that_may_be_read_as_litres_are_named_once() {
    let mut walk = Walk::empty();
    walk.press("enter `A, 5 stacks, 4 high` enter enter `1-3` enter");
    assert!(walk.said().contains("Labels like 1 are read as litres on the floor."), "{}", walk.said());
    walk.press("up enter `4-6` enter");
    assert_eq!(walk.said(), "Numbered: 3 barrels, 4 to 6. From cellar/A-01-2-b to cellar/A-01-3-b.");
    walk.press("esc / `plain numbers are labels` enter");
    assert!(walk.said().starts_with("Plain numbers are labels here"), "{}", walk.said());
}

#[test]
fn a_room_is_laid_out_anew_with_what_lies_in_it() {
    let mut walk = Walk::empty();
    walk.press("enter `long: A, 2 stacks, 2 high` enter enter `1-3` enter");
    walk.press("home enter `long: A, 3 stacks, 3 high; B, 1 stack, 1 high`");
    keep(&walk, "begin-room-anew");
    walk.press("enter");
    assert_eq!(walk.model.said.last().unwrap().tone, Tone::Done, "{}", walk.said());
    let room = walk.model.state.rooms.by_label("long").unwrap();
    assert_eq!((room.slots.len(), room.slots.iter().flatten().count()), (20, 3));
    // It cannot become too small for what lies in it.
    walk.press("home enter `long: A, 1 stack, 1 high` enter");
    assert_eq!(walk.model.said.last().unwrap().tone, Tone::Refused, "{}", walk.said());
}

#[test]
fn more_of_a_lot_comes_into_a_row_and_the_empty_ones() {
    let mut walk = Walk::empty();
    walk.press("enter `long: A-B, 2 stacks, 1 high` enter enter `1-8` enter");
    walk.press("enter `M26, red, Syrah, 2026, Varrow Valley: row A 200 L` enter");
    assert_eq!(walk.said(), "M26: 800.0 L in 4 vessels, 1 to 4.");
    walk.press("end up enter `M26: all empty ones` enter");
    assert_eq!(walk.said(), "M26: 900.0 L in 4 vessels, 5 to 8.");
    walk.press("end up enter `N26: 5 full` enter");
    assert!(walk.said().contains("5 holds 225.0 L of M26 already."), "{}", walk.said());
}
