//! The page of a lot: opened from a barrel or by name, another lot beside it, and from there to its barrels and back.

use barrelwalk::cellar::label::Label;
use barrelwalk::tui::colouring::Colouring;
use barrelwalk::tui::model::Mode;

use crate::cellar::{fact, record};
use crate::walk::Walk;

/// The small cellar with tests, tastes and an addition in its first lot. It is looked at a little later that morning; the
/// first walk keeps its folder.
pub fn tested() -> (Walk, Walk) {
    let made = Walk::small();
    let mut facts = Vec::new();
    let mut say = |day: &str, rest: &str| facts.push(fact(day, rest));
    for (index, free) in [28, 27, 29, 12, 28, 30].into_iter().enumerate() {
        let label = 401 + index;
        say(
            "10-12",
            &format!(r#""kind":"tested","vessel":"0{label}","free_so2_mg_l":{free},"ph":3.6{index},"va_g_l":0.45"#),
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
    match &walk.model.mode {
        Mode::Lot(page) => Some((page.lot.as_str(), page.beside.as_ref().map(Label::as_str))),
        _ => None,
    }
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

#[test]
fn every_other_lot_may_stand_beside_it() {
    let mut walk = Walk::small();
    walk.press("i c");
    assert_eq!(page_of(&walk), Some(("M26 Upper Terrace", Some("C26 Long Wall"))));
    walk.press("c");
    assert_eq!(page_of(&walk), Some(("M26 Upper Terrace", Some("W26 Chalk"))));
    walk.press("right");
    assert_eq!(page_of(&walk), Some(("M26 Upper Terrace", None)));
    walk.press("v left");
    assert_eq!(page_of(&walk), Some(("M26 Upper Terrace", Some("C26 Long Wall"))));
}

#[test]
fn from_the_lot_to_its_barrels_and_back() {
    let mut walk = Walk::small();
    walk.press("/ `c26` enter b");
    assert_eq!((walk.model.mode.clone(), walk.model.colouring), (Mode::Floor, Colouring::Lot));
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
    walk.press("i c");
    walk.model.take_state(barrelwalk::cellar::state::State::default());
    assert_eq!(walk.model.mode, Mode::Floor);
}
