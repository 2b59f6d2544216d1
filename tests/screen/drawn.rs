//! The pictures of a barrel and a room: asked for, waited for, left.

use barrelwalk::cellar::views::topping::evaporation::Evaporated;
use barrelwalk::tui::core::model::Tone;
use barrelwalk::tui::core::work::Answer;
use barrelwalk::tui::edge::screen::Message;
use barrelwalk::tui::floor::pictures::Picture;

use crate::walk::{Walk, found, nothing};

fn told(walk: &Walk) -> Option<&Evaporated> {
    walk.model.page::<Picture>()?.finding.told()
}

fn answer(number: u32) -> Message<Answer> {
    found(number, Evaporated::default())
}

#[test]
fn a_page_says_that_it_is_being_worked_on_until_the_picture_is_there() {
    let mut walk = Walk::small();
    walk.press(":room-picture");
    assert!(walk.text(80, 24).contains("working"));
    walk.comes();
    let text = walk.text(80, 24);
    assert!(!text.contains("working") && text.contains("mL per barrel and day"), "{text}");
}

#[test]
fn what_comes_after_the_page_was_left_is_dropped() {
    let mut walk = Walk::small();
    walk.press("p esc");
    let before = walk.text(80, 24);
    walk.take(answer(1));
    assert_eq!((walk.text(80, 24), walk.is_on_floor()), (before, true));
}

#[test]
fn what_was_reckoned_for_an_earlier_page_is_not_shown_on_a_later_one() {
    let mut walk = Walk::small();
    walk.press("p esc right p");
    walk.take(answer(1));
    assert_eq!(told(&walk), None);
    walk.take(answer(2));
    assert!(told(&walk).is_some());
}

#[test]
fn what_could_not_be_reckoned_is_said() {
    let mut walk = Walk::small();
    walk.press(":room-picture");
    walk.take(nothing(1, "The file is gone."));
    assert_eq!((walk.said(), walk.model.said[0].tone), ("The file is gone.", Tone::Refused));
    assert!(walk.is_on_floor());
}

#[test]
fn a_keg_has_no_saw_tooth() {
    let mut walk = Walk::small();
    walk.press("`K2` enter p");
    assert_eq!(walk.said(), "K2 is no barrel. Go to one, or press / to find it.");
}

#[test]
fn in_ascii_nothing_else_is_written() {
    for keys in ["p", ":room-picture"] {
        let mut walk = Walk::demo();
        walk.model.looks =
            crate::walk::looks(barrelwalk::tui::core::theme::Palette::Mono, &barrelwalk::tui::core::marks::ASCII);
        walk.press(keys).comes();
        assert!(walk.text(120, 40).is_ascii(), "{}", walk.text(120, 40));
    }
}
