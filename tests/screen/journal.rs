//! The journal: a day a page; a line is put right in a form with what was, or taken back and given back.

use barrelwalk::tui::books::form::FormPage;
use barrelwalk::tui::books::journal::JournalPage;
use barrelwalk::tui::edge::screen::Message;

use crate::cellar;
use crate::pictures::keep;
use crate::walk::Walk;

/// The small cellar, in which 30 L of T1 were lost the day before; the journal is open.
fn opened() -> Walk {
    let mut walk = Walk::small();
    let lost = r#""kind":"lost","vessel":"T1","volume_ul":30000000,"cause":"spill""#;
    cellar::record(walk.path(), &[cellar::fact("11-24", lost)]);
    walk.take(Message::Changed);
    walk.press("/ `the journal` enter");
    assert!(walk.model.page::<JournalPage>().is_some());
    walk
}

fn litres(walk: &Walk, vessel: &str) -> u64 {
    walk.model.state.vessels.by_label(vessel).unwrap().volume().as_ul() / 1_000_000
}

fn text(walk: &Walk) -> String {
    walk.text(80, 24)
}

#[test]
fn it_opens_on_the_last_day_and_goes_from_day_to_day() {
    let mut walk = opened();
    let first = text(&walk);
    assert!(first.contains("Tue 24 Nov 2026"), "{first}");
    walk.press("left");
    assert!(!text(&walk).contains("24 Nov 2026"), "{}", text(&walk));
    walk.press("right");
    assert_eq!(text(&walk), first);
    walk.press("right");
    assert!(walk.said().contains("Nothing that fits was entered after"), "{}", walk.said());
    walk.press("`2 Sep` enter");
    assert!(text(&walk).contains("Wed 2 Sep 2026"), "{}", text(&walk));
    walk.press("`K1` enter");
    assert!(text(&walk).contains("The journal of K1: Wed 2 Sep 2026, 1 line"), "{}", text(&walk));
    walk.press("esc");
    assert!(!text(&walk).contains("of K1"), "{}", text(&walk));
}

#[test]
fn enter_puts_a_line_right_in_a_form_with_what_was() {
    let mut walk = opened();
    let before = litres(&walk, "T1");
    walk.press("`lost` enter enter");
    assert!(walk.model.page::<FormPage>().is_some());
    walk.press("down `20`");
    keep(&walk, "journal-correcting");
    walk.press("enter");
    assert_eq!(walk.said(), "Corrected: 20.0 L lost from T1: spill.");
    assert_eq!(litres(&walk, "T1"), before + 10);
    assert!(walk.model.page::<JournalPage>().is_some());
    assert!(text(&walk).contains("(taken back by mk) 30.0 L lost from T1: spill"), "{}", text(&walk));
    // When it was and who did it are put right too, and a correction is corrected.
    walk.press("end enter down down down `23 Nov` down `Ana` enter");
    assert!(walk.said().starts_with("Corrected:"), "{}", walk.said());
}

#[test]
fn what_cannot_be_put_right_says_why_and_nothing_is_half_in() {
    let mut walk = opened();
    walk.press("`lost` enter");
    let facts = walk.facts().len();
    walk.press("enter enter");
    assert!(walk.said().contains("Nothing is changed"), "{}", walk.said());
    walk.press("down `x` enter");
    assert!(walk.model.page::<FormPage>().is_some() && !walk.said().is_empty());
    walk.press("esc enter down down down `26 Nov 2026` enter");
    assert!(walk.said().contains("lies in the future"), "{}", walk.said());
    walk.press("esc");
    assert_eq!(walk.facts().len(), facts);
}

#[test]
fn delete_takes_a_line_back_and_on_that_which_took_it_back_gives_it_back() {
    let mut walk = opened();
    let before = litres(&walk, "T1");
    walk.press("`lost` enter delete");
    assert_eq!(walk.said(), "taken back: 30.0 L lost from T1: spill.");
    assert_eq!(litres(&walk, "T1"), before + 30);
    assert!(text(&walk).contains("(taken back by mk)"), "{}", text(&walk));
    walk.press("delete");
    assert!(walk.said().contains("taken back already"), "{}", walk.said());
    walk.press("enter");
    assert!(walk.said().contains("is taken back, and is not corrected"), "{}", walk.said());
    walk.press("esc esc u");
    assert_eq!(
        (walk.said(), litres(&walk, "T1")),
        ("Undone: that was taken back: 30.0 L lost from T1: spill.", before)
    );
}

#[test]
fn u_takes_the_chosen_line_back_while_nothing_is_typed() {
    let mut walk = opened();
    let before = litres(&walk, "T1");
    walk.press("`lost` enter u");
    assert_eq!((walk.said(), litres(&walk, "T1")), ("taken back: 30.0 L lost from T1: spill.", before + 30));
    walk.press("`lu`");
    assert!(text(&walk).contains("of what: lu_"), "{}", text(&walk));
}

#[test]
fn what_would_be_refused_or_fit_no_more_stands_below_while_it_is_written() {
    let mut walk = opened();
    walk.press("`lost` enter enter down `90000`");
    walk.comes();
    let below = text(&walk);
    walk.press("enter");
    let said: String = walk.said().chars().take(40).collect();
    assert!(!said.is_empty() && below.contains(&said), "{said} in {below}");
}

#[test]
fn a_reason_is_kept_with_what_is_put_right() {
    let mut walk = opened();
    walk.press("`lost` enter enter down `20` down down down down down `weighed again` enter");
    assert!(walk.said().starts_with("Corrected:"), "{}", walk.said());
    walk.press("end enter");
    assert!(text(&walk).contains("weighed again"), "{}", text(&walk));
}
