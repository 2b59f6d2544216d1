//! A physical count at the screen: typed blind, left and gone on with, compared, booked with a reason.

use barrelwalk::cellar::label::{Label, Text};
use barrelwalk::desk::{Access, Desk};
use barrelwalk::tui::model::Mode;
use barrelwalk::tui::screen::Screen;
use barrelwalk::units::{Volume, VolumeUnit};

use crate::pictures::keep;
use crate::support::sizes::every_size;
use crate::walk::Walk;

/// A count of the vault, which holds four barrels of wine and an empty one.
fn vault(keys: &str) -> Walk {
    let mut walk = Walk::small();
    walk.press("tab `&`").press(keys);
    walk
}

fn volume(walk: &Walk, label: &str) -> Volume {
    walk.model.state.vessels.by_label(label).unwrap().volume()
}

fn chosen(walk: &Walk) -> usize {
    match &walk.model.mode {
        Mode::Counting(page) => page.chosen,
        other => panic!("{other:?}"),
    }
}

fn counted(walk: &Walk) -> usize {
    walk.model.state.counts.iter().map(|(_, count)| count.vessels.len()).sum()
}

#[test]
fn a_count_from_its_beginning_to_the_comparison() {
    let mut walk = vault("");
    keep(&walk, "count-begun");
    walk.press("`full` enter `219.5` enter `30 mm`");
    keep(&walk, "count-under-way");
    walk.press("enter `full` enter");
    keep(&walk, "count-nearly-done");
    walk.press("`empty` enter");
    assert!(walk.said().contains("Everything here is counted"), "{}", walk.said());
    keep(&walk, "count-compared");
}

#[test]
fn the_book_is_not_shown_before_the_comparison() {
    let mut walk = vault("");
    let book = volume(&walk, "W-01").show(VolumeUnit::Litre, 1);
    walk.model.said.clear();
    for (width, height) in [(80, 24), (160, 48)] {
        let text = walk.text(width, height);
        assert!(text.contains("W-01") && !text.contains(&book) && !text.contains("lacks"), "{book}: {text}");
    }
}

#[test]
fn differences_are_booked_with_a_reason_that_is_kept_and_undone_at_once() {
    let mut walk = vault("`200` enter");
    let before = volume(&walk, "W-01");
    assert_eq!(walk.facts().iter().filter(|fact| fact.starts_with("count")).count(), 2, "begun and counted");
    walk.press("tab enter");
    assert!(walk.said().contains("Say why the book is put right"), "{}", walk.said());
    walk.press("`stock count, seep at the head` enter");
    assert_eq!(volume(&walk, "W-01"), Volume::from_litres(200), "{}", walk.said());
    assert!(matches!(walk.model.mode, Mode::Floor));
    let mut noted = Vec::new();
    let desk = Desk::open(walk.path(), Access::ReadOnly).unwrap();
    desk.export(None, &mut |line| {
        noted.extend(line.note.clone().filter(|_| line.kind == "gauged"));
        Ok(())
    })
    .unwrap();
    assert_eq!(noted.last().map(Text::as_str), Some("stock count, seep at the head"));
    walk.press("u");
    assert_eq!(volume(&walk, "W-01"), before, "{}", walk.said());
    walk.press("tab tab `&`");
    assert!(walk.said().contains("This count is under way"), "{}", walk.said());
}

#[test]
fn a_count_is_left_and_gone_on_with_by_another_program() {
    let walk = vault("`full` enter `full` enter");
    assert_eq!(chosen(&walk), 2);
    let mut again = walk.reopened();
    again.press("tab `&`");
    assert_eq!((chosen(&again), counted(&again)), (2, 2), "{}", again.said());
    again.press("`full` enter delete");
    assert_eq!((chosen(&again), counted(&again)), (2, 2), "one stands at what was taken back: {}", again.said());
    again.press("delete delete");
    assert_eq!((counted(&again), again.model.state.counts.len()), (0, 0), "the count had begun with its first figure");
}

#[test]
fn what_cannot_be_counted_is_said() {
    let mut walk = vault("");
    for (keys, part) in [
        ("`0999`", "Nothing is called '0999' here"),
        ("`0402`", "0402 does not lie in vault"),
        ("`900`", "Check the volume"),
        ("`900 mm`", "900"),
        ("`lots`", "is not a number of litres"),
    ] {
        walk.press(keys).press("enter");
        assert!(walk.said().contains(part), "{keys}: {}", walk.said());
        walk.press("esc");
    }
    walk.press("tab");
    assert!(walk.said().contains("Nothing is counted yet"), "{}", walk.said());
    assert_eq!(counted(&walk), 0);
    walk.press("`W-03` enter");
    assert_eq!(chosen(&walk), 2);
    walk.press("`full` enter tab `nobody may enter the vault` end");
    assert!(walk.said().contains("is closed; nothing was booked"), "{}", walk.said());
}

#[test]
fn the_bottles_of_a_store_are_counted_by_bin() {
    let mut walk = Walk::bottled();
    walk.press("`#` `&` `399` enter `196` enter");
    keep(&walk, "count-bottles");
    walk.press("`92` enter `empty` enter");
    let mut at_empty = walk.reopened();
    at_empty.press("`#` `&` `B-01` enter `12` enter");
    assert!(at_empty.said().contains("Say which lot code lies in cave"), "{}", at_empty.said());
    walk.press("`A-05` enter `W261 12` enter");
    assert!(walk.said().contains("cave/A-05 is counted"), "{}", walk.said());
    walk.press("tab");
    keep(&walk, "count-bottles-compared");
    walk.press("`stock count` enter");
    assert!(matches!(walk.model.mode, Mode::Bins(_)), "back on the map");
    let there = |place: &str| walk.model.state.bin(&Label::new(place).unwrap()).bottles();
    assert_eq!(["cave/A-01", "cave/A-02", "cave/A-03", "cave/A-05"].map(there), [399, 196, 92, 12], "{}", walk.said());
}

#[test]
fn a_count_is_drawn_at_every_size() {
    for keys in ["", "`full` enter tab", "`2`"] {
        let walk = vault(keys);
        every_size(|frame| walk.model.draw(frame));
    }
}
