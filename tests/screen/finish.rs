//! The finish at the screen: a fining trial and its dose, a tank racked or filtered into another, the ledger.

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::cellar::core::label::{Label, Text};
use barrelwalk::tui::books::ledger::Ledger;
use barrelwalk::tui::edge::screen::Message;
use barrelwalk::tui::finish::fining::FiningPage;
use barrelwalk::units::{Mass, Volume};

use crate::cellar::fact;
use crate::cellar::record;
use crate::pictures::{keep, keep_both};
use crate::walk::{Walk, nothing};

/// The page of a new trial of egg white in the 1,200 L less toppings of T1, a red wine.
fn fining() -> Walk {
    let mut walk = Walk::small();
    walk.press("/ `T1` enter :bench");
    keep_both(&walk, "fining-at-the-bench");
    walk.press("down down enter");
    keep(&walk, "fining-agents");
    walk.press("down enter");
    walk
}

fn treated(walk: &Walk) -> Vec<String> {
    walk.facts().into_iter().filter(|fact| fact.starts_with("treated")).collect()
}

#[test]
fn a_fining_trial_from_its_first_glass_to_the_dose_and_back() {
    let mut walk = fining();
    assert_eq!(walk.facts(), [""; 0], "nothing is written down before the first line");
    walk.press("`0: as it is, 12 NTU` enter `0.05: clear, 3 NTU, 15` enter `0.2: stripped` enter");
    assert_eq!(walk.facts().len(), 3);
    walk.press("enter `give` enter");
    assert!(walk.said().contains("No dose is chosen yet. Go up to a glass"), "{}", walk.said());
    walk.press("esc esc enter `choose` enter");
    assert!(walk.said().contains("Go up to the glass"), "{}", walk.said());
    walk.press("esc esc up enter down enter");
    keep(&walk, "fining-above-the-usual");
    assert!(walk.text(80, 24).contains("above the usual 0.06 to 0.1 g/L in red wine"));
    // A mistake, and its undo: the wrong glass was chosen.
    walk.press("delete");
    let trial = || walk.model.state.finings.iter().last().unwrap().1;
    assert_eq!(trial().chosen_g_l, None);
    // What was seen the day before is written over only when that is said twice.
    walk.press("up enter down enter `after a night, 14.5` enter");
    assert!(walk.said().contains("is looked at already: what is written takes its place."), "{}", walk.said());
    walk.press("enter");
    let trial = || walk.model.state.finings.iter().last().unwrap().1;
    assert_eq!((trial().chosen_g_l, trial().glasses.len()), (Some(0.05), 3));
    let seen = &trial().glasses[1];
    assert_eq!((seen.score, seen.turbidity_ntu), (Some(14.5), Some(3.0)));
    assert_eq!(seen.text.as_ref().map(Text::as_str), Some("after a night"));
    walk.press("enter `give` enter `7741-B` enter");
    let before = walk.model.state.vessels.by_label("T1").unwrap().volume();
    let given = walk.model.state.finings_done.last().unwrap();
    assert_eq!(given.batch.as_ref().map(Label::as_str), Some("7741-B"));
    assert!(given.amount > Mass::from_grams(50) && given.amount < Mass::from_grams(60), "{given:?}");
    assert_eq!(treated(&walk).len(), 1);
    keep(&walk, "fining-given");
    walk.press("enter `give` enter");
    assert!(walk.text(80, 24).contains("Given already 25 Nov!"));
    walk.press("esc delete");
    let after = walk.model.state.vessels.by_label("T1").unwrap().volume();
    assert!(walk.model.state.finings_done.is_empty() && after < before);
    walk.press("esc / `egg white T1` enter");
    assert!(walk.model.page::<FiningPage>().is_some_and(|page| page.tried.glasses.len() == 3));
}

#[test]
fn what_is_no_glass_is_a_sentence_and_enters_nothing() {
    let mut walk = fining();
    for (line, part) in [
        ("`much` enter", "The unit 'much' is not known"),
        ("`stock none` enter", "is not a number"),
        ("`40` enter", "A dose of 40 g/L is none"),
    ] {
        walk.press(line);
        assert!(walk.said().contains(part), "{line}: {}", walk.said());
        walk.press("esc");
    }
    walk.press("`stock 10%` enter");
    assert!(walk.text(80, 24).contains("stock of 10 %"));
    assert_eq!(walk.facts(), [""; 0]);
}

#[test]
fn what_is_written_of_a_glass_is_told_before_it_is_taken() {
    let mut walk = fining();
    walk.press("`0.5: clear, 8 NTU, 14.5`");
    keep(&walk, "fining-written");
    for (line, told) in [
        ("`0.5`", "✓ 0.5 g/L"),
        ("`stock 10%`", "✓ stock of 10 %"),
        ("`much`", "The unit 'much' is not known"),
        ("`40`", "A dose of 40 g/L is none"),
    ] {
        walk.press("esc");
        walk.press(line);
        assert!(walk.text(80, 24).contains(told), "{line}: {}", walk.text(80, 24));
    }
    walk.press("esc `0.5` enter up `0.5` esc");
    assert!(walk.text(80, 24).contains("A new glass: 0.5, or"), "{}", walk.text(80, 24));
}

/// T1 racked into T2: 30 L of lees, then a mistake in the litres undone and done right.
#[test]
fn a_tank_is_racked_into_another_and_the_move_undone() {
    let mut walk = Walk::small();
    walk.press("/ `T1` enter d");
    keep(&walk, "works-page-of-a-tank");
    walk.press("down enter");
    keep_both(&walk, "move-racking");
    let there = walk.model.state.vessels.by_label("T1").unwrap().volume();
    walk.press("`90, lees 30, empty`");
    keep(&walk, "move-loses-much");
    walk.press("enter");
    assert!(walk.said().contains("would be lost. Press the same key again to confirm."), "{}", walk.said());
    assert_eq!(walk.facts(), [""; 0]);
    walk.press("enter");
    let of = |walk: &Walk, label: &str| walk.model.state.vessels.by_label(label).unwrap().volume();
    assert_eq!((of(&walk, "T1"), of(&walk, "T2"), walk.at_vessel()), (Volume::ZERO, Volume::from_litres(90), "T2"));
    walk.press("u");
    assert_eq!((of(&walk, "T1"), of(&walk, "T2")), (there, Volume::ZERO));
    walk.press("/ `T1` enter d down enter `900, lees 30` enter");
    assert_eq!(
        (of(&walk, "T2"), of(&walk, "T1")),
        (Volume::from_litres(900), there.saturating_sub(Volume::from_litres(930)))
    );
}

#[test]
fn a_filtration_is_told_with_turbidity_on_the_page_of_its_lot() {
    let made = Walk::small();
    record(made.path(), &[fact("11-20", r#""kind":"tested","vessel":"T1","turbidity_ntu":45.0"#)]);
    let mut walk = made.reopened();
    walk.press("/ `T1` enter d down enter tab `900, loss 12, filter coarse pads`");
    keep(&walk, "move-filtration");
    walk.press("enter");
    assert!(walk.said().contains("T1 filtered into T2: 900.0 L arrived, 12.0 L lost."), "{}", walk.said());
    let booked = walk.model.state.vessels.by_label("T1").unwrap().account().sum(Entry::Handling);
    assert_eq!(booked, Volume::from_litres(12));
    walk.press("/ `m26 upper` enter");
    let page = walk.text(160, 160);
    for told in ["Fined and filtered", "T1 filtered into T2 through coarse pads", "12.0 L lost, 1.3 %", "NTU before 45"]
    {
        assert!(page.contains(told), "{told} in\n{page}");
    }
}

#[test]
fn the_ledger_goes_by_months_and_years_and_divides() {
    let mut walk = Walk::demo();
    walk.press(":ledger");
    assert!(walk.text(80, 24).contains("the facts are gone through once more"));
    walk.comes();
    keep_both(&walk, "ledger-month");
    walk.press("right");
    assert!(walk.said().contains("the next one is to come"), "{}", walk.said());
    walk.press("left").comes();
    assert!(walk.text(80, 24).contains("Ledger of Oct 2026, whole cellar"));
    walk.press("c").comes();
    keep(&walk, "ledger-year");
    walk.press("tab");
    keep(&walk, "ledger-by-lot");
    // In a narrow terminal a row keeps its name, and what came and went gives way.
    let narrow = walk.text(60, 24);
    assert!(narrow.contains("M24 Upper Terrace") && narrow.contains("on hand"), "{narrow}");
    walk.press("tab");
    keep(&walk, "ledger-by-room");
    walk.press("tab");
    keep(&walk, "ledger-by-vessel");
    assert!(walk.text(80, 24).contains("by vessel"));
    walk.press("esc");
    assert!(walk.is_on_floor());
}

/// What comes for an earlier month is not shown.
#[test]
fn a_ledger_that_comes_too_late_is_dropped() {
    let mut walk = Walk::small();
    walk.press(":ledger left");
    let asked = walk.asked();
    walk.press("left");
    walk.take(nothing(asked, "gone"));
    assert!(walk.model.page::<Ledger>().unwrap().is_working());
    walk.comes();
    assert!(!walk.model.page::<Ledger>().unwrap().is_working());
}

#[test]
fn a_trial_stays_one_of_a_red_wine_when_its_tank_is_empty() {
    let mut walk = Walk::small();
    let tried = r#""kind":"fining_trial","trial":"egg","vessel":"T1","material":"egg white","stock_pct":5,"glasses":[{"dose_g_l":0.05}]"#;
    let emptied =
        r#""kind":"wine_moved","from":"T1","to":"T2","volume_ul":1000000000,"purpose":"other","empties":true"#;
    record(walk.path(), &[fact("11-20", tried), fact("11-24", emptied)]);
    walk.take(Message::Changed);
    walk.press("/ `egg` enter");
    assert!(walk.model.page::<FiningPage>().is_some(), "{}", walk.text(80, 24));
    assert!(walk.text(80, 24).contains("usual 0.06 to 0.1 g/L in red wine"), "{}", walk.text(80, 24));
}
