//! A bottling at the screen: its plan, the record of the run with its mistakes, and every bottle and litre afterwards.

use barrelwalk::cellar::jobs::finish::checklist::Standing;
use barrelwalk::tui::bottles::run::RunPage;
use barrelwalk::tui::edge::screen::Message;
use barrelwalk::tui::finish::bottling::{BottlingPage, Field};
use barrelwalk::tui::finish::checklist::ChecklistPage;
use barrelwalk::units::Volume;

use crate::cellar;
use crate::checklist::blended;
use crate::pictures::{keep, keep_both};
use crate::walk::{Walk, resized};

/// The plan of the tank T9, which holds 1,200 L; what is open on its list is waived.
fn plan() -> Walk {
    let mut walk = blended();
    let state = &walk.model.state;
    let open = state.open_checks(state.lots.find("Cuvée 26").unwrap());
    let waived = open.iter().map(|check| {
        cellar::fact(
            "11-23",
            &format!(r#""kind":"check_waived","lot":"Cuvée 26","item":"{}","why":"sold as it is""#, check.item),
        )
    });
    cellar::record(walk.path(), &waived.collect::<Vec<_>>());
    walk.take(Message::Changed);
    walk.press("/ `T9` enter :bottle");
    walk
}

/// The record of a run of the tank T9 whose list nobody has looked at.
fn unlooked_at(bottles: &str) -> Walk {
    let mut walk = blended();
    walk.press("/ `T9` enter :bottle tab");
    put(&mut walk, Field::Bottles, bottles);
    walk
}

fn page(walk: &Walk) -> &BottlingPage {
    walk.model.page().unwrap()
}

/// Writes into a field of the record, in place of what stands there.
fn put(walk: &mut Walk, field: Field, text: &str) {
    let at = Field::RUN.iter().position(|&it| it == field).unwrap();
    let before = page(walk).form.text(field).chars().count();
    walk.press(&vec!["up"; 20].join(" ")).press(&vec!["down"; at].join(" "));
    walk.press(&vec!["backspace"; before].join(" ")).press(&format!("`{text}`"));
}

/// The record of a run of so many bottles, before it is entered.
fn record(bottles: &str) -> Walk {
    let mut walk = plan();
    walk.press("tab");
    put(&mut walk, Field::Bottles, bottles);
    walk
}

/// The record of a run of 1,580 bottles.
pub fn recorded() -> Walk {
    record("1580")
}

/// Goes to the line that enters the run, and presses it.
fn enter(walk: &mut Walk) {
    walk.press(&vec!["down"; 20].join(" ")).press("enter");
}

/// 1,200 L less 1 % are 1,188 L, which are 1,584 bottles of 750 mL or 132 cases.
#[test]
fn the_plan_follows_format_and_loss() {
    let mut walk = plan();
    keep_both(&walk, "bottling-plan");
    assert!(walk.text(80, 24).contains("1584 bottles of 750 mL: 132 cases of 12, 3 pallets"));
    walk.press("down right right");
    assert!(walk.text(80, 24).contains("792 bottles of 1.5 L"));
    walk.press("down right");
    assert!(walk.text(80, 24).contains("788 bottles of 1.5 L"), "{}", walk.text(80, 24));
    walk.press("up up `1300`");
    assert!(walk.text(80, 24).contains("T9 holds 1200 L by the book, and 1300 L is to be bottled. Check the litres."));
    walk.press("backspace backspace backspace backspace `all`");
    assert!(walk.text(80, 24).contains("litres: 'all' is not"), "{}", walk.text(80, 24));
    assert_eq!(walk.facts(), [""; 0]);
}

#[test]
fn a_run_is_written_down_entered_and_accounted_for() {
    let mut walk = record("1580");
    for (field, text) in [
        (Field::Broken, "3"),
        (Field::Kept, "12"),
        (Field::Lost, "9.5"),
        (Field::Minutes, "95"),
        (Field::Fills, "748 751 752 750"),
        (Field::Oxygen, "0.6"),
        (Field::Closure, "natural cork"),
        (Field::Materials, "cork: C77, glass: G12"),
        (Field::Note, "one stop, corker"),
    ] {
        put(&mut walk, field, text);
    }
    keep_both(&walk, "bottling-run");
    assert_eq!(walk.facts(), [""; 0], "nothing is a fact before the person says so");
    enter(&mut walk);
    assert!(walk.said().starts_with("1580 bottles of Cuvée 26 "), "{}", walk.said());
    keep(&walk, "bottling-accounted");
    let facts = walk.facts();
    let kinds: Vec<&str> = facts.iter().map(|fact| fact.split(' ').next().unwrap()).collect();
    assert_eq!(kinds, ["bottled", "bottles_out", "bottles_out"]);
    let tank = walk.model.state.vessels.by_label("T9").unwrap().volume();
    assert_eq!(tank, Volume::from_ml(1_200_000 - 1_580 * 750 - 9_500));
}

#[test]
fn each_mistake_says_what_would_do_and_keeps_what_is_written() {
    for (field, text, sentence) in [
        (
            Field::Bottles,
            "1700",
            "1700 bottles of 750 mL with the loss take 1275.0 L, but T9 holds 1200.0 L by the book.",
        ),
        (Field::Bottles, "many", "bottles filled: 'many' is no whole number."),
        (Field::Bottles, "", "Say how many bottles were filled"),
        (Field::Broken, "5000", "5000 bottles broken and 0 kept are more than the 100 that were filled."),
        (Field::Fills, "1748", "A fill of 1.748 L is none of a bottle of 750 mL."),
        (Field::Oxygen, "60", "An oxygen content in mg/L of 60 is out of range."),
        (Field::Code, "", "Give the lot code"),
    ] {
        let mut walk = record("100");
        put(&mut walk, field, text);
        walk.take(resized(100, 30));
        enter(&mut walk);
        assert!(walk.said().starts_with(sentence), "{text}: {}", walk.said());
        assert_eq!((page(&walk).form.text(field), walk.facts().len()), (text, 0));
    }
    let mut walk = record("1700");
    enter(&mut walk);
    keep(&walk, "bottling-mistake");
}

#[test]
fn enter_checks_a_field_and_goes_to_the_next() {
    let mut walk = record("100");
    walk.press("enter");
    assert_eq!(Field::RUN[page(&walk).chosen], Field::Broken);
    walk.press("`x` enter");
    assert_eq!(walk.said(), "of these broken: 'x' is no whole number. Write it like 1580.");
    assert_eq!(Field::RUN[page(&walk).chosen], Field::Broken);
}

/// A list that nobody has looked at holds the run too; a reason to bottle despite it is kept as the waiver of every open item, and
/// one undo takes all of it back.
#[test]
fn a_run_over_open_items_says_why() {
    let mut walk = unlooked_at("100");
    enter(&mut walk);
    let said = walk.said().to_owned();
    assert!(said.starts_with("Cuvée 26 is not to be bottled yet: "), "{said}");
    assert_eq!(Field::RUN[page(&walk).chosen], Field::Despite);
    walk.press("`the glass is booked`");
    enter(&mut walk);
    assert!(walk.model.page::<RunPage>().is_some(), "{}", walk.said());
    let kinds: Vec<String> =
        walk.facts().iter().map(|fact| fact.split(' ').next().unwrap_or_default().to_owned()).collect();
    assert!(kinds.iter().any(|kind| kind.contains("check_waived")), "{kinds:?}");
    let lot = walk.model.state.lots.find("Cuvée 26").unwrap();
    let checks = walk.model.state.checklist(lot);
    let waived: Vec<_> = checks.iter().filter(|check| check.standing == Standing::Waived).collect();
    assert!(waived.len() > 5 && waived.iter().all(|check| check.words.as_deref() == Some("the glass is booked")));
    walk.press("u");
    assert!(walk.model.state.checklist(lot).iter().all(|check| check.standing != Standing::Waived));
    assert!(walk.model.state.runs.is_empty() || walk.model.state.discrepancies.is_empty());
}

/// In a house whose list only warns the open items are asked about once.
#[test]
fn a_list_that_warns_asks_once() {
    let mut walk = unlooked_at("100");
    cellar::record(walk.path(), &[cellar::fact("11-23", r#""kind":"practice_set","checklist":"warns""#)]);
    walk.take(Message::Changed);
    enter(&mut walk);
    assert!(walk.said().contains("Cuvée 26 would be bottled though "), "{}", walk.said());
    assert!(walk.said().ends_with("Press the same key again to confirm."), "{}", walk.said());
    walk.press("enter");
    assert!(walk.model.page::<RunPage>().is_some(), "{}", walk.said());
}

/// A list holds the run, says what is open and where it is waived; the record is there afterwards.
#[test]
fn an_open_list_holds_the_run_until_it_is_settled() {
    let mut walk = unlooked_at("100");
    walk.press("tab");
    assert!(walk.model.page::<ChecklistPage>().is_some());
    walk.press("down down down down down space tab");
    assert_eq!(page(&walk).form.text(Field::Bottles), "100");
    walk.press("tab");
    enter(&mut walk);
    let said = walk.said().to_owned();
    assert!(said.starts_with("Cuvée 26 is not to be bottled yet: ") && said.contains("cold (not tested)"), "{said}");
    assert!(said.ends_with("tab goes to the list."), "{said}");
    keep(&walk, "bottling-held");
    walk.press("tab");
    for _ in 0..20 {
        walk.press("s");
        if walk.model.page::<ChecklistPage>().is_none() {
            walk.press("`sold as it is` enter");
        }
        walk.press("down");
    }
    walk.press("tab tab");
    enter(&mut walk);
    assert!(walk.model.page::<RunPage>().is_some(), "{}", walk.said());
}

/// Undo takes the whole run back, and what was written stands there again.
#[test]
fn undo_takes_the_run_back_and_brings_back_what_was_written() {
    let mut walk = record("100");
    put(&mut walk, Field::Kept, "6");
    enter(&mut walk);
    walk.press("u");
    assert!(walk.said().ends_with("What was written stands here again."), "{}", walk.said());
    assert_eq!([Field::Bottles, Field::Kept].map(|field| page(&walk).form.text(field).to_owned()), ["100", "6"]);
    assert_eq!(walk.model.state.runs.iter().map(|(_, run)| run.bottles()).sum::<u64>(), 0);
    enter(&mut walk);
    assert!(walk.model.page::<RunPage>().is_some());
}

#[test]
fn a_run_goes_on_after_a_stop() {
    let mut walk = record("100");
    put(&mut walk, Field::Closure, "natural cork");
    enter(&mut walk);
    walk.press("b");
    assert_eq!(
        [Field::Bottles, Field::Closure].map(|field| page(&walk).form.text(field).to_owned()),
        ["", "natural cork"]
    );
    walk.press("`50`");
    enter(&mut walk);
    let (_, run) = walk.model.state.runs.iter().next().unwrap();
    assert_eq!((run.bottles(), run.stretches.len()), (150, 2));
    walk.press("u");
    assert_eq!(page(&walk).form.text(Field::Bottles), "50");
}

/// What is written outlasts escape, other pages and other vessels; the program asks before it loses it.
#[test]
fn what_is_written_is_kept_until_it_is_entered() {
    let mut walk = record("100");
    walk.press("esc");
    assert!(walk.said().contains("\"bottle this vessel\" brings it back"), "{}", walk.said());
    walk.press("`W-01` enter :bottle esc q");
    assert!(walk.said().contains("Leaving loses it. Press the same key again"), "{}", walk.said());
    assert!(!walk.model.finished);
    walk.press("/ `T9` enter :bottle");
    assert_eq!((page(&walk).form.text(Field::Bottles), page(&walk).recording), ("100", true));
    let mut walk = record("100");
    walk.press("esc q q");
    assert!(walk.model.finished);
}

#[test]
fn an_empty_vessel_and_one_of_no_wine_are_not_bottled() {
    let mut walk = blended();
    walk.press("/ `T2` enter :bottle");
    assert!(walk.said().starts_with("T2 holds nothing by the book"), "{}", walk.said());
    walk.press("/ `Cuvée` enter enter `bottle` enter");
    assert_eq!(page(&walk).vessel.as_str(), "T9");
}

#[test]
fn a_run_is_found_by_its_label_and_by_its_code() {
    let mut walk = record("100");
    enter(&mut walk);
    walk.press("esc / `L26329` enter");
    assert!(walk.model.page::<RunPage>().is_some(), "{}", walk.said());
}
