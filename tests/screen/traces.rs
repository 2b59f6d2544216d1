//! The page of a trace: from a vessel, a lot, a bin and a lot code.

use barrelwalk::tui::books::trace::TracePage;
use barrelwalk::tui::bottles::bins::Bins;
use barrelwalk::tui::core::model::Tone;

use crate::pictures::{keep, keep_at, keep_both};
use crate::walk::{Walk, nothing};

#[test]
fn a_lot_code_leads_back_from_the_find_box() {
    let mut walk = Walk::bottled();
    walk.press("/ `trace L262`");
    keep(&walk, "trace-find");
    walk.press("enter");
    assert!(walk.text(80, 24).contains("working"));
    keep_both(walk.comes(), "trace-back");
    keep(walk.press("page-down page-down page-down"), "trace-back-end");
    keep_at(&walk, "trace-narrow", (60, 16));
    walk.press("esc");
    assert!(walk.is_on_floor());
}

#[test]
fn a_vessel_a_lot_and_a_bin_are_traced_from_their_places() {
    let mut walk = Walk::bottled();
    let vessel = walk.model.chosen_vessel().unwrap().label.to_string();
    walk.press(":trace").comes();
    assert!(walk.text(80, 24).contains(&format!("Forward from vessel {vessel}")));
    walk.press("esc i enter `trace` enter").comes();
    assert!(walk.text(80, 24).contains("Forward from lot"), "{}", walk.text(80, 24));
    walk.press("esc :bins a").comes();
    assert!(walk.text(80, 24).contains("Trace of lot code"), "{}", walk.text(80, 24));
    walk.press("esc");
    assert!(walk.model.page::<Bins>().is_some(), "it leads back to the bin: {}", walk.said());
}

#[test]
fn what_comes_too_late_is_dropped_and_what_is_gone_is_said() {
    let mut walk = Walk::bottled();
    walk.press(":trace esc :trace");
    walk.take(nothing(walk.asked() - 1, "late"));
    assert!(walk.model.page::<TracePage>().is_some());
    walk.take(nothing(walk.asked(), "Nothing is called so."));
    assert!(walk.is_on_floor());
    assert!(walk.said().starts_with("Nothing is called"), "{}", walk.said());
    assert_eq!(walk.model.said.last().unwrap().tone, Tone::Refused);
}
