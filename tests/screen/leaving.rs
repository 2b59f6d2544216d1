//! Leaving a work, a plan, glasses and the program: nothing is left by a stray key, and nothing acts that cannot be seen.

use barrelwalk::tui::floor::works_page::WorksPage;
use barrelwalk::tui::tests::dosing::DosingPage;

use crate::walk::{Walk, resized};

#[test]
fn escape_leaves_no_work() {
    let mut walk = Walk::small();
    walk.press("b enter enter `W-01` enter d enter enter");
    let work = walk.model.working;
    assert!(work.is_some(), "{}", walk.said());
    walk.press("esc esc esc");
    assert_eq!(walk.model.working, work);
    assert!(walk.said().contains("esc does not leave it: d puts it down"), "{}", walk.said());
    walk.press("d");
    assert_eq!(walk.model.working, None);
}

#[test]
fn escape_on_a_plan_goes_back_to_the_works_and_turns_no_key_into_topping() {
    let mut walk = Walk::small();
    walk.press("b enter enter d down enter");
    assert!(walk.model.page::<DosingPage>().is_some(), "{:?}", walk.model.pages);
    let before = walk.facts().len();
    walk.press("esc r");
    assert!(walk.model.page::<WorksPage>().is_some(), "{:?}", walk.model.pages);
    assert_eq!(walk.facts().len(), before, "{:?}", walk.facts());
    walk.press("enter");
    assert!(walk.model.page::<DosingPage>().is_some(), "the same line is chosen: {:?}", walk.model.pages);
    walk.press("esc esc");
    assert!(walk.is_on_floor());
}

#[test]
fn the_head_names_the_work_and_its_lot_at_every_width() {
    let mut walk = Walk::small();
    walk.press("`W-01` enter d enter enter");
    for width in [60, 80, 160] {
        let head = walk.text(width, 24).lines().nth(1).unwrap().to_owned();
        assert!(head.contains("rack W26 Chalk") && head.contains("0 of "), "{width}: {head}");
    }
}

#[test]
fn the_program_asks_before_it_loses_tastes_of_the_bench() {
    let mut walk = Walk::small();
    walk.press(":bench enter esc q");
    assert!(
        !walk.model.finished && walk.said().contains("glasses stand poured at the bench, none tasted yet"),
        "{}",
        walk.said()
    );
    walk.press(":bench `14 pl` enter esc q");
    assert!(!walk.model.finished && walk.said().contains(", 1 tasted: no taste is entered"), "{}", walk.said());
    // Another key in between, and it is asked anew.
    walk.press("right q");
    assert!(!walk.model.finished);
    walk.press("q");
    assert!(walk.model.finished);
}

#[test]
fn what_cannot_be_seen_is_not_done() {
    let mut walk = Walk::small();
    walk.press("b enter enter");
    let before = walk.facts().len();
    walk.take(resized(40, 10));
    walk.press("space r k e s `1.2` enter u z enter t `words` enter / esc d enter");
    walk.take(barrelwalk::tui::edge::screen::Message::Paste("0405\n".to_owned()));
    assert_eq!((walk.facts().len(), walk.is_on_floor(), walk.typed()), (before, true, ""));
    assert!(walk.text(40, 10).contains("q leaves"), "{}", walk.text(40, 10));
    walk.take(resized(80, 24));
    walk.press("space");
    assert_eq!(walk.facts().len(), before + 1);
    walk.take(resized(40, 10));
    walk.press("q");
    assert!(walk.model.finished);
}
