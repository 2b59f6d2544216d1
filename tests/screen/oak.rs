//! The page of oak judged.

use barrelwalk::tui::core::marks::ASCII;
use barrelwalk::tui::core::theme::Palette;
use barrelwalk::tui::wood::oak::OakPage;

use crate::pictures::{keep, keep_both};
use crate::walk::{Walk, looks, nothing};

#[test]
fn the_demo_says_what_its_oak_did() {
    let mut walk = Walk::demo();
    walk.press("/ `cooper`");
    assert!(walk.text(80, 24).contains("What the oak did"), "{}", walk.text(80, 24));
    walk.press("enter");
    assert!(walk.text(80, 24).contains("working"));
    keep_both(walk.comes(), "oak-cooper");
    keep(walk.press("end"), "oak-cooper-end");
    walk.press("home tab").comes();
    assert!(walk.text(80, 24).contains("by forest"), "{}", walk.text(80, 24));
    for quality in ["by toast", "by seasoning", "by fill"] {
        walk.press("tab").comes();
        assert!(walk.text(80, 24).contains(quality), "{}", walk.text(80, 24));
    }
    keep(&walk, "oak-fill");
    walk.model.looks = looks(Palette::Mono, &ASCII);
    assert!(!walk.text(80, 24).contains('±'));
    walk.press("esc");
    assert!(walk.is_on_floor());
}

#[test]
fn a_cellar_of_few_scores_says_that_it_tells_nothing() {
    let mut walk = Walk::small();
    walk.press("/ `what the oak did` enter").comes();
    keep(&walk, "oak-small");
}

#[test]
fn esc_stops_waiting_and_what_comes_late_is_dropped() {
    let mut walk = Walk::small();
    walk.press("/ `what the oak did` enter esc");
    assert!(walk.is_on_floor());
    walk.press("/ `what the oak did` enter");
    walk.take(nothing(walk.asked() - 1, "late"));
    assert!(walk.model.page::<OakPage>().is_some());
    walk.comes();
}
