//! The page of a lineage: asked for, waited for, turned to the lot; and what is asked before a topping costs a claim.

use barrelwalk::cellar::views::books::lineage_tree::LineageTree;
use barrelwalk::tui::books::lineage::LineagePage;
use barrelwalk::tui::core::model::Tone;
use barrelwalk::tui::edge::screen::Message;

use crate::cellar::fact;
use crate::cellar::{self};
use crate::walk::{Walk, found, nothing};

fn told(walk: &Walk) -> Option<&LineageTree> {
    walk.model.page::<LineagePage>()?.finding.told()
}

#[test]
fn a_lineage_is_waited_for_and_what_comes_too_late_is_dropped() {
    let mut walk = Walk::small();
    walk.press("a");
    assert!(walk.text(80, 24).contains("working"));
    walk.comes();
    assert!(!walk.text(80, 24).contains("working") && told(&walk).is_some());
    walk.press("tab");
    assert_eq!(told(&walk), None, "the lot's is another one");
    let answer = |number| found(number, LineageTree::default());
    walk.take(answer(1));
    assert_eq!(told(&walk), None);
    walk.press("esc");
    walk.take(answer(2));
    assert!(walk.is_on_floor());
}

/// What another program enters is asked for; what is shown stays until it is there.
#[test]
fn a_lineage_is_asked_for_again_where_the_cellar_changed() {
    let mut walk = Walk::small();
    walk.press("a").comes();
    let before = walk.asked();
    cellar::record(walk.path(), &[fact("11-24", r#""kind":"lot_opened","lot":"A00 Brook","colour":"red""#)]);
    walk.take(Message::Changed);
    assert!(told(&walk).is_some() && walk.asked() != before);
    assert!(told(walk.comes()).is_some());
}

#[test]
fn what_cannot_be_traced_is_said() {
    let mut walk = Walk::small();
    walk.press("a");
    walk.take(nothing(1, "The file is gone."));
    assert_eq!((walk.said(), walk.is_on_floor()), ("The file is gone.", true));
}

/// A walk in the small cellar where the vintage of the white lot is 2026 and a keg of another place is topped from.
fn foreign_keg() -> Walk {
    let mut walk = Walk::small();
    let say = |rest: &str| fact("11-21", rest);
    cellar::record(
        walk.path(),
        &[
            say(
                r#""kind":"origin_declared","origin":"Away","block":"Dune","variety":"Syrah","vintage":2025,"appellation":"Other Coast","colour":"red""#,
            ),
            say(r#""kind":"lot_opened","lot":"Away","colour":"red""#),
            say(r#""kind":"vessel_registered","vessel":"K9","type":"keg","capacity_ul":150000000"#),
            say(
                r#""kind":"wine_received","vessel":"K9","lot":"Away","parts":[{"origin":"Away","volume_ul":140000000}]"#,
            ),
        ],
    );
    walk.take(Message::Changed);
    walk.press("b");
    choose_k9(&mut walk);
    walk.press("enter enter space");
    // The plan goes on with the barrel's own lot: who tops it from another says so.
    assert!(walk.said().ends_with("0401 is topped from K1. x, then enter, takes it."), "{}", walk.said());
    walk.press("x");
    choose_k9(&mut walk);
    walk.press("enter");
    let asked = "K9 holds Away, not M26 Upper Terrace: ";
    assert!(walk.said().contains(asked) && walk.said().contains("M26 Upper Terrace would lose: "), "{}", walk.said());
    walk.press("enter");
    assert_eq!(walk.said(), "Topping from K9 now.");
    walk
}

fn choose_k9(walk: &mut Walk) {
    for _ in 0..9 {
        if walk.text(80, 24).contains("▸ K9") {
            return;
        }
        walk.press("up");
    }
    panic!("{}", walk.text(80, 24));
}

#[test]
fn a_topping_that_costs_a_claim_is_asked_about_once() {
    let mut walk = foreign_keg();
    let begun = walk.facts().len();
    let barrel = walk.at_vessel().to_owned();
    walk.press("space");
    let question = walk.said().to_owned();
    assert!(
        question.starts_with(&format!("Topping {barrel}: M26 Upper Terrace would lose the right to say appellation")),
        "{question}"
    );
    assert!(question.contains("EU 1308/2013 art. 93, designation of origin: 100 %, then 99.9"), "{question}");
    assert_eq!((walk.facts().len(), walk.model.said.last().unwrap().tone), (begun, Tone::Notice));
    // Another key takes the question back; the same key twice answers it.
    walk.press("c space");
    assert_eq!((walk.said(), walk.facts().len()), (question.as_str(), begun));
    walk.press("space");
    assert_eq!(walk.facts().len(), begun + 1, "{}", walk.said());
    // The claim is lost: nobody asks again.
    walk.press("space");
    assert_eq!(walk.facts().len(), begun + 2, "{}", walk.said());
}

#[test]
fn typed_litres_are_asked_about_as_well() {
    let mut walk = foreign_keg();
    let begun = walk.facts().len();
    walk.press("`1.2` enter");
    assert!(walk.said().contains("would lose the right to say") && walk.facts().len() == begun, "{}", walk.said());
    walk.press("enter");
    assert_eq!(walk.facts().len(), begun + 1);
}
