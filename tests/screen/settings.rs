//! The settings of the house: what each is and means, who set it when, on screens of every size; changed and taken back.

use barrelwalk::tui::books::settings::SettingsPage;

use crate::cellar;
use crate::pictures::{keep_at, keep_both};
use crate::walk::Walk;

const SMALLEST: (u16, u16) = (60, 16);

fn opened() -> Walk {
    let mut walk = Walk::made(|path| {
        cellar::create(path);
        let set = r#""kind":"practice_set","molecular_so2_mg_l":0.6,"rules":"eu""#;
        cellar::record(path, &[cellar::fact("11-24", set)]);
    });
    walk.press("/ `house settings` enter");
    assert!(walk.model.page::<SettingsPage>().is_some());
    walk
}

#[test]
fn each_says_what_it_is_and_means_and_who_set_it() {
    let walk = opened();
    keep_both(&walk, "settings");
}

#[test]
fn what_the_chosen_one_means_is_in_sight_on_the_smallest_screen() {
    let mut walk = opened();
    walk.press("end");
    let text = walk.text(SMALLEST.0, SMALLEST.1);
    assert!(text.contains("above"), "the list is longer than the screen: {text}");
    walk.press("home down down down down down");
    let text = walk.text(SMALLEST.0, SMALLEST.1);
    assert!(text.contains("Set by mk 24 Nov 2026."), "{text}");
    keep_at(&walk, "settings", SMALLEST);
}

#[test]
fn one_is_changed_in_its_form_and_taken_back() {
    let mut walk = opened();
    let wanted = |walk: &Walk| walk.model.state.practice.molecular_so2_mg_l;
    walk.press("down down down down down enter");
    walk.press("`0.8` enter");
    assert!((wanted(&walk) - 0.8).abs() < 1e-9, "{}", walk.said());
    walk.press("u");
    assert!((wanted(&walk) - 0.6).abs() < 1e-9, "{}", walk.said());
}
