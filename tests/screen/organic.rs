//! Organic wine on the pages that say what is known of it, and before something is given to it.

use crate::cellar::{fact, record};
use crate::pictures::keep_at;
use crate::walk::Walk;

/// The demo by the rules of the United States as well as those of the European Union, or by one of them.
fn demo(rules: &str) -> Walk {
    let before = Walk::demo();
    record(before.path(), &[fact("11-22", &format!(r#""kind":"practice_set","rules":"{rules}""#))]);
    let mut walk = before.reopened();
    walk.keep_cellar_of(before);
    walk
}

/// What stands on a tall page, its lines run together.
fn seen(walk: &Walk) -> String {
    walk.text(100, 120).replace(['│', '\n'], " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Barrel 0437 holds a white of organic grapes that sulfur dioxide was given to: 7 CFR 205.301(f)(5), 205.605(b).
#[test]
fn what_is_known_of_an_organic_white_stands_on_its_pages() {
    let mut walk = demo("us");
    walk.press("/ `0437` enter i");
    assert!(
        seen(&walk).contains("organic by the US rules: all grapes are; SO2 was added: in the United States at most")
    );
    walk.press("esc esc / `0437` enter :checklist");
    let list = seen(&walk);
    assert!(list.contains("organic not met US: potassium metabisulfite was added"), "{list}");
    assert!(list.contains("allergens not tested may have to name sulfites"), "{list}");
    assert!(list.contains("ingredients not tested grapes, potassium metabisulfite"), "{list}");
    let lot = walk.model.state.lots.find("W25 Spring Garden").unwrap();
    let checks = walk.model.state.checklist(lot);
    let at = checks.iter().position(|check| check.item.to_string() == "organic").unwrap();
    walk.press(&vec!["down"; at].join(" "));
    keep_at(&walk, "organic-checklist", (80, 24));
    keep_at(&walk, "organic-checklist", (160, 48));
}

/// A rosé: heat is required of it, malolactic fermentation is not.
#[test]
fn the_list_of_a_rose() {
    let mut walk = demo("eu");
    let lot = walk.model.state.lots.find("R25 Hollow Lane").unwrap();
    let barrel = walk.model.state.vessels_of(lot)[0];
    let label = walk.model.state.vessels.get(barrel).label.clone();
    walk.press(&format!("/ `{label}` enter :checklist"));
    keep_at(&walk, "organic-rose-checklist", (80, 24));
    let required = |item: &str| {
        let checks = walk.model.state.checklist(lot);
        checks.iter().find(|check| check.item.to_string() == item).unwrap().required
    };
    assert_eq!(["heat", "malic", "dry"].map(required), [true, false, true]);
}
