//! A trial is set on the screen, with what it would tell beside it, and the blend that it leads to is begun from the reveal.

use barrelwalk::tui::bench::trial::{BlendPage, SetTrialPage, TrialPage};

use crate::cellar;
use crate::pictures::{keep, keep_both};
use crate::walk::{Walk, nothing};

/// Two tanks of red wine and an empty one.
pub fn tanks() -> Walk {
    let mut facts = Vec::new();
    for (tank, litres) in [("T11", 2_000), ("T12", 1_500), ("T13", 0)] {
        facts.push(cellar::fact(
            "09-03",
            &format!(r#""kind":"vessel_registered","vessel":"{tank}","type":"tank","capacity_ul":3000000000"#),
        ));
        if litres > 0 {
            facts.push(cellar::fact(
                "09-04",
                &format!(
                    r#""kind":"wine_received","vessel":"{tank}","lot":"M26 Upper Terrace","parts":[{{"origin":"M26 Upper Terrace","volume_ul":{litres}000000}}]"#
                ),
            ));
        }
    }
    let before = Walk::small();
    cellar::record(before.path(), &facts);
    let mut walk = before.reopened();
    walk.keep_cellar_of(before);
    walk
}

/// A trial of four glasses of two wines, written and not laid out yet.
pub fn written() -> Walk {
    let mut walk = tanks();
    walk.press("/ `set a trial` enter `Q` down `T11, T12` down `T11=10..90%` down down down `4` down down `anna, ben`");
    walk
}

#[test]
fn what_it_would_tell_stands_there_before_it_is_set() {
    let mut walk = written();
    keep(&walk, "trial-setting-written");
    walk.press("enter");
    let before = walk.facts().len();
    walk.press("enter");
    assert_eq!(walk.said(), "The glasses are being laid out. One moment.");
    walk.comes();
    keep_both(&walk, "trial-setting-laid");
    walk.press("up left");
    let page = walk.text(80, 24);
    assert!(page.contains("optimal-d") && page.contains("What is written has changed since"), "{page}");
    // What was laid out still stands for what is written again.
    walk.press("right enter");
    assert!(walk.model.page::<TrialPage>().is_some() && walk.model.page::<SetTrialPage>().is_none());
    assert!(walk.said().starts_with("Q is set: 4 glasses."), "{}", walk.said());
    let facts = walk.facts();
    assert!(facts.len() == before + 1 && facts[before].contains(r#"trial_set {"trial":"Q""#), "{facts:?}");
    assert!(!walk.text(160, 48).contains("10/90"), "{}", walk.text(160, 48));
}

/// What so much blend would take of each wine is said, and no glass is laid out that cannot be blended.
#[test]
fn what_the_blend_that_is_wanted_takes_is_said() {
    let mut walk = written();
    walk.press("up up up `3000` enter").comes();
    let page = walk.text(160, 48).replace("│", " ").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        page.contains("3000 L of blend would take, by the glass: 1500 L to 1980 L of T11 (20 L stay at least),"),
        "{page}"
    );
    walk.press("backspace backspace backspace backspace `much` enter");
    assert!(walk.text(80, 24).contains("'much'"), "{}", walk.text(80, 24));
}

#[test]
fn what_cannot_be_set_is_said_in_a_sentence() {
    let mut walk = written();
    walk.press("down `0 mL` enter").comes();
    assert!(walk.text(80, 24).contains("more than nothing and at most 10 L"), "{}", walk.text(80, 24));
    walk.press("up up left up `many` enter");
    walk.press("down right enter");
    assert!(walk.text(80, 24).contains("many' is no number of glasses"), "{}", walk.text(80, 24));
    let asked = walk.asked();
    walk.press("up `4` enter");
    walk.take(nothing(asked + 7, "another question"));
    assert!(!walk.text(80, 24).contains("another question"));
    walk.press("esc");
    assert!(walk.is_on_floor());
}

/// From the reveal, the page filled in for a second sitting after it.
pub fn second() -> Walk {
    let mut walk = crate::trials::revealed_with(
        r#""kind":"vessel_registered","vessel":"T20","type":"tank","capacity_ul":6000000000"#,
    );
    walk.press("/ `First blend` enter enter `second sitting` enter");
    walk
}

#[test]
fn a_second_sitting_is_set_from_the_reveal_of_the_first() {
    let mut walk = second();
    assert!(walk.model.page::<SetTrialPage>().is_some(), "{}", walk.said());
    keep(&walk, "trial-second-sitting");
    walk.press("down `4` enter").comes();
    let page = walk.text(160, 48);
    assert!(page.contains("4 glasses of a second sitting after First blend"), "{page}");
    walk.press("enter");
    let set = walk.facts().pop().unwrap();
    assert!(set.starts_with("trial_set") && set.contains(r#""after":"First blend""#), "{set}");
    assert!(walk.model.page::<TrialPage>().is_some(), "{}", walk.said());
    // While a trial is sealed its second sitting can be set as well, once something was rated.
    walk.press("/ `second sitting` enter enter").comes();
    assert!(walk.text(80, 24).contains("Too little was rated of 'First blend b'"), "{}", walk.text(80, 24));
}

/// From the reveal the blend is one key away, and begun by another.
#[test]
fn the_blend_is_chosen_from_the_reveal_and_begun() {
    let mut walk = crate::trials::revealed_with(
        r#""kind":"vessel_registered","vessel":"T20","type":"tank","capacity_ul":6000000000"#,
    );
    walk.press("/ `First blend` enter").comes().press("b");
    assert!(walk.model.page::<BlendPage>().is_some(), "{}", walk.said());
    keep_both(&walk, "trial-blend");
    walk.press("down `T11`");
    assert!(walk.text(80, 24).contains("gives to this blend itself"), "{}", walk.text(80, 24));
    walk.press("backspace backspace backspace `T20` down `90`");
    assert!(walk.text(80, 24).contains("90.0 L\n") || walk.text(80, 24).contains("90.0 L "), "{}", walk.text(80, 24));
    walk.press("enter");
    let last = walk.facts().pop().unwrap();
    assert!(last.starts_with("blend_chosen") && last.contains(r#""volume_ul":90000000"#), "{last}");
    // It is walked like any other work.
    assert!(walk.is_on_floor() && walk.said().contains("T11 is next with"), "{}", walk.said());
    let before = walk.facts().len();
    walk.press("space");
    assert!(walk.facts().len() > before && walk.facts()[before].contains(r#""to":"T20""#), "{}", walk.said());
}
