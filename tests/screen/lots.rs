//! The page of a lot: opened from a barrel or by name, another lot beside it, and from there to its barrels and back.

use std::sync::Arc;

use barrelwalk::cellar::core::label::Label;
use barrelwalk::tui::floor::colouring::Colouring;
use barrelwalk::tui::floor::lot_review::LotPage;

use crate::cellar::fact;
use crate::cellar::record;
use crate::pictures::keep_both;
use crate::walk::Walk;

/// The small cellar with tests, tastes and an addition in its first lot. It is looked at a little later that morning; the
/// first walk keeps its folder.
pub fn tested() -> (Walk, Walk) {
    let made = Walk::small();
    let mut facts = Vec::new();
    let mut say = |day: &str, rest: &str| facts.push(fact(day, rest));
    for (index, free) in [28, 27, 29, 12, 28, 30].into_iter().enumerate() {
        let label = 401 + index;
        let acetic = if index == 3 { 1.25 } else { 0.45 };
        say(
            "10-12",
            &format!(r#""kind":"tested","vessel":"0{label}","free_so2_mg_l":{free},"ph":3.6{index},"va_g_l":{acetic}"#),
        );
        say("11-22", &format!(r#""kind":"sampled","vessel":"0{label}","volume_ul":100000,"sample":"T-7""#));
    }
    say("11-23", r#""kind":"tested","sample":"T-7","free_so2_mg_l":24.0,"total_so2_mg_l":71.0,"alcohol_pct":13.6"#);
    for (label, score, marks) in [
        ("0401", 14.0, r#"["plum"]"#),
        ("0404", 13.5, r#"["plum","closed"]"#),
        ("0405", 15.0, r#"["plum","cedar"]"#),
        ("0406", 14.0, r#"["cedar"]"#),
        ("0407", 8.5, r#"["VA"]"#),
    ] {
        say("11-23", &format!(r#""kind":"tasted","vessel":"{label}","score":{score},"marks":{marks}"#));
    }
    say("11-24", r#""kind":"treated","vessel":"0404","material":"SO2","amount_ug":3000000"#);
    record(made.path(), &facts);
    let walk = made.reopened();
    (made, walk)
}

fn page_of(walk: &Walk) -> Option<(&str, Option<&str>)> {
    let page: &LotPage = walk.model.page()?;
    Some((page.lot.as_str(), page.beside.as_ref().map(Label::as_str)))
}

#[test]
fn a_lot_is_opened_from_its_barrel_and_by_its_name() {
    let mut walk = Walk::small();
    walk.press("i");
    assert_eq!(page_of(&walk), Some(("M26 Upper Terrace", None)));
    walk.press("esc / `c26` enter");
    assert_eq!(page_of(&walk), Some(("C26 Long Wall", None)));
    assert!(walk.text(80, 24).contains("The lot C26 Long Wall"));
}

/// What the page tells is reviewed once and kept from frame to frame.
#[test]
fn a_lot_is_reviewed_anew_only_when_something_has_changed() {
    let (_folder, mut walk) = tested();
    walk.press("i");
    let reviews = |walk: &Walk| walk.model.page::<LotPage>().unwrap().reviews(&walk.model);
    let first = reviews(&walk);
    walk.press("down");
    assert!(Arc::ptr_eq(&first, &reviews(&walk)));
    let shown = walk.text(80, 24);
    walk.press("+");
    assert_eq!((first.len(), reviews(&walk).len()), (1, 2));
    walk.press("left");
    let second = reviews(&walk);
    assert!(!Arc::ptr_eq(&first, &second));
    walk.model.take_state(walk.model.state.clone());
    assert!(!Arc::ptr_eq(&second, &reviews(&walk)));
    assert_eq!(walk.text(80, 24), shown);
}

#[test]
fn the_page_tells_how_long_the_sulfur_dioxide_will_last_and_what_is_near_a_limit() {
    let (_folder, mut walk) = tested();
    walk.press("i");
    let page = walk.text(160, 160);
    for told in [
        "by the plain model; 0.5 is wanted",
        "below what is wanted now",
        "Sulfur dioxide is toxic",
        "Limits, by the rules of both sides",
        "! amber: 0404 1.25",
        "US 27 CFR 4.21",
        "Tests through time",
    ] {
        assert!(page.contains(told), "{told} in\n{page}");
    }
}

/// Marked by a letter, whatever else the floor shows of it.
#[test]
fn barrels_that_are_chosen_for_the_bench_are_marked_on_the_floor() {
    let mut walk = Walk::small();
    walk.press("`0401` enter + `0402` enter +");
    assert!(walk.text(80, 24).contains("g26"), "{}", walk.text(80, 24));
    assert!(walk.text(80, 24).contains("g for a glass"));
    walk.press("+ `0401` enter +");
    assert!(!walk.text(80, 24).contains("g26") && !walk.text(80, 24).contains("g for a glass"));
    // A hold is seen beside it: it is what whoever draws the samples must know.
    walk.press("`0404` enter +");
    let floor = walk.text(80, 24);
    assert!(floor.contains("Hg") && floor.contains("g for a glass") && floor.contains("H held"), "{floor}");
}

#[test]
fn every_other_lot_may_stand_beside_it() {
    let mut walk = Walk::small();
    walk.press("i +");
    assert_eq!(page_of(&walk), Some(("M26 Upper Terrace", Some("C26 Long Wall"))));
    walk.press("+");
    assert_eq!(page_of(&walk), Some(("M26 Upper Terrace", Some("W26 Chalk"))));
    walk.press("right");
    assert_eq!(page_of(&walk), Some(("M26 Upper Terrace", None)));
    walk.press("left left");
    assert_eq!(page_of(&walk), Some(("M26 Upper Terrace", Some("C26 Long Wall"))));
}

#[test]
fn from_the_lot_to_its_barrels_and_back() {
    let mut walk = Walk::small();
    walk.press("/ `c26` enter j");
    assert_eq!((walk.is_on_floor(), walk.colouring()), (true, Colouring::Lot));
    let mut seen = vec![walk.at_vessel().to_owned()];
    loop {
        walk.press("j");
        if walk.at_vessel() == seen[0] {
            break;
        }
        seen.push(walk.at_vessel().to_owned());
    }
    // Every vessel of the lot once, the keg last: it lies at no place.
    let lot = walk.model.state.lots.find("C26 Long Wall").unwrap();
    let mut all: Vec<String> = walk
        .model
        .state
        .vessels
        .iter()
        .filter(|(_, it)| it.lot == Some(lot))
        .map(|(_, it)| it.label.to_string())
        .collect();
    assert_eq!(seen.last().map(String::as_str), Some("K2"));
    seen.sort();
    all.sort();
    assert_eq!(seen, all);
    walk.press("i");
    assert_eq!(page_of(&walk), Some(("C26 Long Wall", None)));
}

#[test]
fn a_lot_whose_barrels_are_undone_is_looked_at_no_more() {
    let mut walk = Walk::small();
    walk.press("i +");
    walk.model.take_state(barrelwalk::cellar::core::state::State::default());
    assert!(walk.is_on_floor());
}

/// What to draw of a lot is told on a page of its own, and entered as one composite by one key.
#[test]
fn a_sample_of_a_lot_is_planned_and_entered() {
    let mut walk = Walk::small();
    walk.press("`W-01` enter i enter `sample` enter");
    keep_both(&walk, "sample-plan");
    walk.press("tab `300`");
    assert!(walk.text(80, 24).contains("300 mL of 4 vessels"), "{}", walk.text(80, 24));
    walk.press("backspace backspace backspace `ten` enter");
    assert_eq!(walk.facts(), [""; 0]);
    walk.press("backspace backspace backspace `300` tab `S-31` enter");
    assert_eq!(walk.said(), "Drawn: the sample S-31. Its tests are entered by that.");
    let facts = walk.facts();
    assert_eq!(facts.len(), 4);
    assert!(facts.iter().all(|fact| fact.starts_with("sampled ") && fact.contains(r#""sample":"S-31""#)), "{facts:?}");
    walk.press("esc esc u");
    assert!(walk.model.state.samples.find("S-31").is_none());
    // From the floor it is found by what it is called, and by d.
    walk.press("/ `what to draw` enter");
    assert!(walk.text(80, 24).contains("A sample of W26 Chalk: what to draw"), "{}", walk.text(80, 24));
    walk.press("esc");
    assert!(walk.is_on_floor());
}
