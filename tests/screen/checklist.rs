//! The checklist before bottling at the screen: each word a fact at once, what cannot be said in a sentence, and undo.

use barrelwalk::cellar::jobs::finish::checklist::{Check, Standing};
use barrelwalk::tui::finish::bottling::BottlingPage;
use barrelwalk::tui::finish::checklist::{CheckLine, ChecklistPage};

use crate::cellar;
use crate::pictures::{keep, keep_both};
use crate::walk::{Walk, resized};

/// The cellar with a tank T9 of 1,200 L of the lot Cuvée 26, tested in part.
pub fn blended() -> Walk {
    let facts = [
        r#""kind":"vessel_registered","vessel":"T9","type":"tank","capacity_ul":2000000000"#,
        r#""kind":"lot_opened","lot":"Cuvée 26","colour":"red""#,
        r#""kind":"wine_received","vessel":"T9","lot":"Cuvée 26","parts":[{"origin":"M26 Upper Terrace","volume_ul":1200000000}]"#,
        r#""kind":"tested","vessel":"T9","ph":3.62,"free_so2_mg_l":34,"total_so2_mg_l":88,"alcohol_pct":13.4,"va_g_l":0.52,"sugar_g_l":0.4,"malic_g_l":0.12,"turbidity_ntu":3.1,"lab":"house""#,
        r#""kind":"tasted","vessel":"T9","score":15.5,"text":"plum, firm""#,
    ];
    let before = Walk::small();
    cellar::record(before.path(), &facts.map(|rest| cellar::fact("11-22", rest)));
    let mut walk = before.reopened();
    walk.keep_cellar_of(before);
    walk
}

/// The checklist of the tank's lot.
fn list() -> Walk {
    let mut walk = blended();
    walk.press("/ `T9` enter :checklist");
    walk
}

fn check(walk: &Walk, item: &str) -> Check {
    let state = &walk.model.state;
    let lot = state.lots.find("Cuvée 26").unwrap();
    state.checklist(lot).into_iter().find(|check| check.item.to_string() == item).unwrap()
}

/// Where the item that is chosen stands.
fn chosen(walk: &Walk) -> Option<usize> {
    let page: &ChecklistPage = walk.model.page().unwrap();
    let checks = walk.model.state.checklist(walk.model.state.lots.find("Cuvée 26").unwrap());
    checks.iter().position(|check| page.chosen.is(&check.item))
}

/// Goes to an item of the list.
fn go_to(walk: &mut Walk, item: &str) {
    let state = &walk.model.state;
    let lot = state.lots.find("Cuvée 26").unwrap();
    let at = state.checklist(lot).iter().position(|check| check.item.to_string() == item).unwrap();
    let chosen = chosen(walk).unwrap();
    let (key, times) = if at < chosen { ("up", chosen - at) } else { ("down", at - chosen) };
    walk.press(&vec![key; times].join(" "));
}

#[test]
fn the_list_as_tests_answer_it() {
    let mut walk = list();
    go_to(&mut walk, "turbidity");
    keep_both(&walk, "checklist");
    let count = walk.model.state.checklist(walk.model.state.lots.find("Cuvée 26").unwrap()).len();
    walk.press("end");
    assert_eq!(chosen(&walk), Some(count - 1));
    assert!(walk.text(80, 18).contains("↑ 10 above"), "{}", walk.text(80, 18));
    walk.press("home");
    assert_eq!(chosen(&walk), Some(0));
    assert_eq!(walk.facts(), [""; 0]);
}

#[test]
fn a_tick_a_waiver_and_their_undo_are_facts_at_once() {
    let mut walk = list();
    go_to(&mut walk, "heat");
    walk.press("space");
    assert_eq!((walk.said(), check(&walk, "heat").standing), ("heat is ticked: met.", Standing::Met));
    go_to(&mut walk, "cold");
    walk.press("enter enter");
    assert_eq!(check(&walk, "cold").standing, Standing::NotMet);
    go_to(&mut walk, "turbidity");
    walk.press("space");
    assert!(walk.said().contains("'turbidity' cannot be ticked as met: 3.1 NTU was found."), "{}", walk.said());
    walk.press("s enter");
    assert_eq!(walk.said(), "Say why it may stay open: the reason is kept.");
    walk.press("`goes through the filter at the line`");
    keep(&walk, "checklist-waiver");
    walk.press("enter");
    assert_eq!(check(&walk, "turbidity").standing, Standing::Waived);
    keep(&walk, "checklist-said");
    assert_eq!(walk.facts().len(), 3);
    walk.press("u");
    assert_eq!(check(&walk, "turbidity").standing, Standing::NotMet);
    assert!(walk.model.page::<ChecklistPage>().is_some(), "the page stays");
    walk.press("y");
    assert_eq!(check(&walk, "turbidity").standing, Standing::Waived);
}

#[test]
fn what_the_label_states_is_declared_and_judged() {
    let mut walk = list();
    go_to(&mut walk, "alcohol");
    walk.press("space `about 13` enter");
    assert_eq!(walk.said(), "Begin with what stands on the label in % vol, for example 13.5.");
    walk.press(&"backspace ".repeat(8));
    walk.press("`13.5 vol` enter");
    assert_eq!(check(&walk, "alcohol").standing, Standing::Met);
    go_to(&mut walk, "heat");
    walk.press("enter 2 enter `no haze after three days` enter");
    assert_eq!(check(&walk, "heat").words.as_deref(), Some("no haze after three days"));
    walk.press("enter 2 enter enter");
    assert_eq!(walk.said(), "Write a figure, words, or both: for example 18 index of the laboratory.");
}

#[test]
fn the_house_adds_an_item_and_says_what_is_required() {
    let mut walk = list();
    walk.press("enter 4 enter `filterability: index below 20` enter");
    assert!(check(&walk, "filterability").required);
    go_to(&mut walk, "malic");
    walk.press("enter 3 enter");
    assert!(!check(&walk, "malic").required);
    walk.press("enter 4 enter `1,2` enter");
    assert!(walk.said().contains("cannot be an item"), "{}", walk.said());
    assert!(walk.text(80, 24).contains("[1,2]"), "what was written stays");
}

/// What is written outlasts a resize, another program's facts and one press of escape.
#[test]
fn what_is_written_is_not_lost_without_asking() {
    let mut walk = list();
    go_to(&mut walk, "heat");
    walk.press("s `sold in the year`");
    walk.take(resized(100, 30));
    cellar::record(walk.path(), &[cellar::fact("11-23", r#""kind":"noted","about":"T9","text":"lees stirred""#)]);
    walk.take(barrelwalk::tui::edge::screen::Message::Changed);
    walk.press("esc");
    assert_eq!(walk.said(), "What is written is not entered yet. enter takes it, esc again drops it.");
    assert!(walk.text(80, 24).contains("sold in the year_"));
    walk.press("enter");
    assert_eq!(check(&walk, "heat").standing, Standing::Waived);
    walk.press("s `x` esc");
    assert!(walk.model.page::<CheckLine>().is_some());
    walk.press("esc");
    assert!(walk.model.page::<ChecklistPage>().is_some());
    walk.press("esc");
    assert!(walk.is_on_floor());
}

#[test]
fn a_tick_that_lapsed_says_what_happened() {
    let walk = blended();
    let facts = [
        ("11-23", r#""kind":"checked","lot":"Cuvée 26","item":"heat","met":true"#),
        ("11-24", r#""kind":"treated","vessel":"T9","material":"bentonite","amount_ug":300000000"#),
    ];
    cellar::record(walk.path(), &facts.map(|(day, rest)| cellar::fact(day, rest)));
    let mut again = walk.reopened();
    again.press("/ `T9` enter :checklist");
    go_to(&mut again, "heat");
    assert!(again.text(80, 24).contains("tick lapsed: fined 24"), "{}", again.text(80, 24));
    go_to(&mut again, "turbidity");
    keep(&again, "checklist-test-again");
}

#[test]
fn the_list_is_reached_from_the_lot_and_by_its_name() {
    let mut walk = blended();
    walk.press("/ `Cuvée` enter enter `before` enter");
    assert!(walk.model.page::<ChecklistPage>().is_some());
    walk.press("esc / `before bottling` enter");
    assert!(walk.model.page::<ChecklistPage>().is_some());
    walk.press("esc esc `0419` enter :checklist");
    assert!(walk.said().contains("0419 holds no lot"), "{}", walk.said());
}

/// The works page of a tank leads to its checklist and to its bottling.
#[test]
fn the_works_of_a_tank_lead_to_its_checklist_and_its_bottling() {
    let chosen = |entry: &str| {
        let mut walk = blended();
        walk.press("/ `T9` enter d end");
        for _ in 0..40 {
            if walk.text(80, 24).lines().any(|line| line.contains('▸') && line.contains(entry)) {
                walk.press("enter");
                return walk;
            }
            walk.press("up");
        }
        panic!("{entry} is not offered: {}", walk.text(80, 24));
    };
    let list = chosen("Before bottling Cuvée 26: its checklist");
    assert!(list.model.page::<ChecklistPage>().is_some_and(|page| page.lot.as_str() == "Cuvée 26"));
    let bottling = chosen("Bottle T9: plan it");
    assert!(bottling.model.page::<BottlingPage>().is_some_and(|page| page.vessel.as_str() == "T9"));
}

#[test]
fn a_lot_that_is_bottled_says_which_run_holds_it() {
    let mut walk = list();
    let run = r#""kind":"bottled","vessel":"T9","run":"C26","bottles":1590,"bottle_ul":750000,"lot_code":"L1","empties":true,"despite":"sold as it is""#;
    cellar::record(walk.path(), &[cellar::fact("11-23", run)]);
    walk.take(barrelwalk::tui::edge::screen::Message::Changed);
    keep(&walk, "checklist-bottled");
    assert!(walk.text(160, 48).contains("Nothing of Cuvée 26 lies in a vessel any more: the run C26 holds it."));
}
