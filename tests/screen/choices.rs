//! What is chosen is chosen by what it is: another program's facts never move it under the hand, and what is gone is said.

use barrelwalk::tui::bench::glasses::Bench;
use barrelwalk::tui::core::model::Tone;
use barrelwalk::tui::edge::screen::Message;
use barrelwalk::tui::finish::checklist::ChecklistPage;
use barrelwalk::tui::finish::fining::{AgentChoice, FiningPage};
use barrelwalk::tui::floor::works_page::WorksPage;

use crate::cellar::fact;
use crate::cellar::{self};
use crate::walk::Walk;

/// What another program enters while a person looks.
pub fn elsewhere(walk: &mut Walk, facts: &[&str]) {
    let facts: Vec<String> = facts.iter().map(|rest| fact("11-24", rest)).collect();
    cellar::record(walk.path(), &facts);
    walk.take(Message::Changed);
    assert!(walk.said().starts_with("Another program entered facts"), "{}", walk.said());
}

fn tank(label: &str, litres: u64) -> String {
    format!(r#""kind":"vessel_registered","vessel":"{label}","type":"tank","capacity_ul":{litres}000000"#)
}

/// A walk through the small cellar with facts of its own entered before it is opened.
fn with(facts: &[String]) -> Walk {
    let before = Walk::small();
    cellar::record(before.path(), facts);
    let mut walk = before.reopened();
    walk.keep_cellar_of(before);
    walk
}

fn refused(walk: &Walk) -> bool {
    walk.model.said.last().is_some_and(|said| said.tone == Tone::Refused)
}

#[test]
fn a_move_goes_into_the_tank_that_was_chosen() {
    let mut walk = Walk::small();
    walk.press("/ `T1` enter d down enter `500`");
    // A larger empty tank stands before the one that is chosen.
    elsewhere(&mut walk, &[&tank("T0", 9_000)]);
    walk.press("enter");
    assert!(walk.facts().iter().any(|fact| fact.contains(r#""to":"T2""#)), "{:?}", walk.facts());
}

#[test]
fn a_move_goes_nowhere_once_the_tank_that_was_chosen_is_gone() {
    let mut walk = Walk::small();
    walk.press("/ `T1` enter d down enter `500`");
    elsewhere(&mut walk, &[r#""kind":"vessel_retired","vessel":"T2","why":"sold""#]);
    assert!(walk.said().ends_with("T2 is not here any more, and nothing is chosen."), "{}", walk.said());
    walk.press("enter");
    assert_eq!(walk.said(), "T2 is not here any more, and nothing is chosen. Choose with up and down.");
    assert!(refused(&walk) && walk.facts().is_empty(), "{:?}", walk.facts());
    // Down goes on from where it stood, and enter means that.
    walk.press("down");
    assert!(walk.text(80, 24).contains("500"), "{}", walk.text(80, 24));
}

#[test]
fn the_work_that_was_chosen_is_taken_up() {
    let racking = |work: &str, barrel: &str| {
        format!(
            r#""kind":"work_set","work":"{work}","task":"racking","to":"T2","stops":[{{"vessel":"{barrel}","volume_ul":225000000}}]"#
        )
    };
    let mut walk = with(&[fact("11-24", &racking("first", "W-01")), fact("11-24", &racking("second", "W-03"))]);
    walk.press("d");
    let page: &WorksPage = walk.model.page().unwrap();
    let chosen = format!("{:?}", page.chosen.thing());
    let label = if chosen.contains("first") { "first" } else { "second" };
    elsewhere(&mut walk, &[&format!(r#""kind":"work_ended","work":"{label}""#)]);
    walk.press("enter");
    assert_eq!(walk.model.working, None, "the neighbour was taken up");
    assert!(walk.said().starts_with(&format!("{label} is not here any more")), "{}", walk.said());
    walk.press("down enter");
    assert!(walk.model.working.is_some(), "{}", walk.said());
}

#[test]
fn the_answer_that_was_chosen_is_gone_to() {
    let mut walk = Walk::small();
    walk.press("/ `w-0`");
    assert!(walk.text(80, 24).contains("W-01"));
    // A closer name comes first from now on.
    elsewhere(&mut walk, &[&tank("w-0", 100)]);
    walk.press("enter");
    assert_eq!(walk.at_vessel(), "W-01");
    walk.press("/ `W-05`");
    elsewhere(&mut walk, &[r#""kind":"vessel_retired","vessel":"W-05","why":"sold""#]);
    walk.press("enter");
    assert!(walk.said().starts_with("W-05 is not here any more"), "{}", walk.said());
}

#[test]
fn the_lot_that_was_chosen_at_the_bench_is_poured() {
    let mut walk = Walk::small();
    walk.press("`W-01` enter :bench");
    assert!(walk.text(80, 24).contains("of W26 Chalk"), "{}", walk.text(80, 24));
    // Its wine goes, and the cursor stands at a barrel of no wine.
    elsewhere(
        &mut walk,
        &[r#""kind":"wine_moved","from":"W-01","to":"T2","volume_ul":225000000,"purpose":"racking","empties":true"#],
    );
    walk.press("enter");
    assert!(
        walk.model.kept.get::<Bench>().is_none() && walk.said().contains("is not here any more"),
        "{}",
        walk.said()
    );
}

const TRIED: &str = r#""kind":"fining_trial","trial":"egg","vessel":"T1","material":"egg white","stock_pct":5"#;

fn tried(doses: &[&str]) -> String {
    let glasses: Vec<String> = doses.iter().map(|dose| format!(r#"{{"dose_g_l":{dose}}}"#)).collect();
    format!(r#"{TRIED},"glasses":[{}]"#, glasses.join(","))
}

#[test]
fn words_are_written_of_the_glass_that_was_chosen() {
    let mut walk = with(&[fact("11-23", &tried(&["0", "0.05", "0.2"]))]);
    walk.press("/ `egg` enter up up `clear`");
    elsewhere(&mut walk, &[&tried(&["0", "0.01", "0.05", "0.2"])]);
    walk.press("enter");
    let trial = walk.model.state.finings.iter().last().unwrap().1;
    let seen: Vec<f64> =
        trial.glasses.iter().filter(|glass| glass.text.is_some()).map(|glass| glass.dose_g_l).collect();
    assert_eq!(seen, [0.05]);
}

#[test]
fn the_agent_that_was_chosen_is_tried() {
    let mut walk = Walk::small();
    walk.press("/ `T1` enter :bench end enter");
    let choice: &AgentChoice = walk.model.page().unwrap();
    let before = choice.chosen.thing().cloned().unwrap();
    // An agent of this house's own stands before those of the trade.
    elsewhere(
        &mut walk,
        &[
            r#""kind":"fining_trial","trial":"own","vessel":"T1","material":"milk","stock_pct":5,"glasses":[{"dose_g_l":0.1}]"#,
        ],
    );
    walk.press("enter");
    let page: &FiningPage = walk.model.page().unwrap();
    assert_eq!(page.tried.material, before);
}

#[test]
fn the_item_that_was_chosen_is_ticked() {
    let own = |item: &str| format!(r#""kind":"check_declared","item":"{item}","required":true,"text":"by us""#);
    let mut walk = with(&[fact("11-23", &own("bungs"))]);
    walk.press("/ `T1` enter :checklist end");
    let page: &ChecklistPage = walk.model.page().unwrap();
    assert_eq!(page.chosen.thing().unwrap().to_string(), "bungs");
    elsewhere(&mut walk, &[&own("a first one"), &own("zinc")]);
    walk.press("space");
    assert!(walk.facts().last().unwrap().contains(r#""item":"bungs""#), "{:?}", walk.facts());
}

#[test]
fn bottles_of_a_place_that_is_gone_are_not_let_out_of_its_neighbour() {
    let mut walk = Walk::bottled();
    walk.press("/ `shop shelf 2` enter o `2 sold`");
    elsewhere(
        &mut walk,
        &[r#""kind":"bottles_out","run":"Chalk 26","lot_code":"W261","bottles":12,"why":"sold","from":"shop shelf 2""#],
    );
    assert!(walk.said().contains("shop shelf 2 is not here any more"), "{}", walk.said());
    walk.press("enter");
    assert!(!walk.facts().iter().any(|fact| fact.starts_with("bottles_out") && fact.contains(r#""bottles":2,"#)));
}

#[test]
fn litres_that_were_typed_go_into_no_other_barrel() {
    let mut walk = Walk::small();
    walk.press("b enter enter `0403` enter `1.2`");
    elsewhere(
        &mut walk,
        &[
            r#""kind":"vessel_placed","vessel":"0403","place":null"#,
            r#""kind":"vessel_placed","vessel":"0501","place":"long/A-01-2-a""#,
        ],
    );
    assert!(walk.said().ends_with("0403 does not lie here any more. '1.2' was not taken."), "{}", walk.said());
    let before = walk.facts().len();
    walk.press("enter");
    assert_eq!(walk.facts().len(), before);
}

#[test]
fn a_work_that_is_closed_elsewhere_is_said_to_be() {
    let mut walk = Walk::small();
    walk.press("`W-01` enter d enter enter");
    let label = walk.model.state.works.get(walk.model.working.unwrap()).label.clone();
    let ended = format!(r#"{{"at":"2026-11-25T06:41:00+01:00","by":"jo","kind":"work_ended","work":"{label}"}}"#);
    cellar::record(walk.path(), &[ended]);
    walk.take(Message::Changed);
    assert!(walk.said().contains("is closed there: the keys are not for it any more"), "{}", walk.said());
}

#[test]
fn what_is_written_of_a_barrel_down_stays_as_it_stands() {
    let mut walk = Walk::small();
    walk.press("/ `T1` enter d enter `in vault` enter");
    if matches!(walk.fill_page().found, barrelwalk::tui::wood::fill::Found::Working(..)) {
        walk.comes();
    }
    walk.press("`Tron`");
    let before = (walk.fill_page().lines.clone(), walk.fill_page().chosen);
    elsewhere(&mut walk, &[&tank("T0", 900)]);
    assert_eq!((walk.fill_page().lines.clone(), walk.fill_page().chosen), before);
}
