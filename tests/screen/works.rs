//! Works at the screen: a racking from its plan to its end, by keys, and other works walked with the same keys.

use barrelwalk::tui::floor::works_page::WorksPage;
use barrelwalk::tui::wood::fill::FillPage;
use barrelwalk::tui::wood::racking::TankChoice;
use barrelwalk::units::Volume;

use crate::cellar;
use crate::pictures::{keep, keep_at, keep_both};
use crate::walk::{Walk, resized};

/// A racking of the vault's lot into the empty tank, begun at its first barrel; W-02 is held.
/// The first walk keeps the cellar's folder.
fn racking() -> Walk {
    let mut walk = Walk::small();
    walk.press("`W-01` enter d enter enter");
    walk
}

fn tank(walk: &Walk) -> Volume {
    walk.model.state.vessels.by_label("T2").unwrap().volume()
}

fn progress(walk: &Walk) -> (usize, usize, usize) {
    let state = &walk.model.state;
    let progress = state.works.iter().last().unwrap().1.progress();
    (progress.done, progress.skipped, progress.of)
}

/// What is opened from the works goes back to them.
#[test]
fn a_plan_that_is_opened_from_the_works_goes_back_to_them() {
    let mut walk = Walk::small();
    walk.press("/ `T1` enter d");
    let works = walk.model.page::<WorksPage>().map(|_| WorksPage::entries(&walk.model).len()).unwrap();
    for line in 0..works {
        walk.press("home").press(&vec!["down"; line].join(" ")).press("enter");
        assert!(walk.model.page::<WorksPage>().is_none(), "{}", walk.text(80, 24));
        // A search is stopped first, and what is written cleared.
        for _ in 0..3 {
            if walk.model.page::<WorksPage>().is_none() {
                walk.press("esc");
                if walk.model.page::<FillPage>().is_some() {
                    walk.comes();
                }
            }
        }
        assert!(walk.model.page::<WorksPage>().is_some(), "line {line}: {}", walk.text(80, 24));
    }
    walk.press("esc");
    assert!(walk.is_on_floor());
}

#[test]
fn the_plan_of_a_racking() {
    let mut walk = Walk::small();
    walk.press("`W-01` enter d");
    keep_both(&walk, "works-page");
    walk.press("enter");
    keep_both(&walk, "racking-plan");
    walk.press("down");
    assert!(walk.model.page().is_some_and(|choice: &TankChoice| choice.plan.is_err()));
    walk.press("enter");
    assert!(walk.said().contains("T1 holds red wine"), "{}", walk.said());
    assert_eq!(walk.facts(), [""; 0]);
}

#[test]
fn a_whole_racking_with_undo_skip_and_measured_litres() {
    let mut walk = racking();
    assert_eq!((walk.at_vessel(), progress(&walk)), ("W-01", (0, 0, 3)));
    walk.press("space");
    assert_eq!((walk.at_vessel(), progress(&walk)), ("W-03", (1, 0, 3)));
    let first = tank(&walk);
    walk.press("s");
    assert_eq!((walk.at_vessel(), progress(&walk)), ("W-04", (1, 1, 3)));
    keep(&walk, "racking-under-way");
    walk.press("u u");
    assert_eq!((walk.at_vessel(), progress(&walk), tank(&walk)), ("W-01", (0, 0, 3), Volume::ZERO));
    walk.press("`224.5` enter");
    assert_eq!((walk.at_vessel(), tank(&walk)), ("W-03", Volume::from_ml(224_500)));
    assert!(first != tank(&walk));
    walk.press("space space");
    assert!(walk.said().ends_with("Every barrel of this work is done. Press z to close it."), "{}", walk.said());
    walk.press("z `660`");
    keep(&walk, "racking-end");
    walk.press("enter");
    assert_eq!((tank(&walk), walk.model.working), (Volume::from_litres(660), None));
    let facts = walk.facts();
    assert!(facts.iter().any(|fact| fact.starts_with("work_set ")));
    assert!(facts.iter().any(|fact| fact.contains(r#""from":"W-01","to":"T2","volume_ul":224500000"#)), "{facts:?}");
    let last: Vec<&str> = facts.iter().rev().take(2).map(|fact| fact.split(' ').next().unwrap()).collect();
    assert_eq!(last, ["work_ended", "gauged"]);
    let state = &walk.model.state;
    assert_eq!(state.vessels.by_label("W-03").unwrap().volume(), Volume::ZERO);
    assert!(!state.vessels.by_label("W-02").unwrap().volume().is_zero());
}

#[test]
fn a_racking_goes_on_after_the_program_was_ended_and_from_another_room() {
    let mut walk = racking();
    walk.press("space");
    let mut again = walk.reopened();
    assert!(again.said().contains("press d to take it up"), "{}", again.said());
    again.press("`0402` enter d enter");
    assert_eq!(again.at_vessel(), "W-03");
    again.press("r");
    assert!(again.said().contains("The rack: 2 barrels racked"), "{}", again.said());
    assert_eq!(progress(&again), (3, 0, 3));
    again.press("u");
    assert_eq!((again.at_vessel(), progress(&again)), ("W-03", (1, 0, 3)));
}

#[test]
fn what_cannot_be_pressed_in_a_work_says_why() {
    let mut walk = racking();
    for (keys, part) in [
        ("x", "A work keeps its vessel"),
        ("b", "Press d to put it down first"),
        ("`W-02` enter space", "W-02 is no barrel of the work"),
        ("`0402` enter space", "0402 is no barrel of the work"),
    ] {
        walk.press(keys);
        assert!(walk.said().contains(part), "{keys}: {}", walk.said());
    }
    let mut walk = racking();
    walk.press("h `film` enter space");
    assert!(walk.said().contains("W-01 is held: film"), "{}", walk.said());
    // Typed litres ask for the reason; without one nothing is stored, and what was typed is there again.
    walk.press("`224` enter");
    keep(&walk, "words-despite");
    walk.press("enter");
    assert!(walk.said().starts_with("Say in a few words why"), "{}", walk.said());
    walk.press("esc esc");
    assert_eq!(tank(&walk), Volume::ZERO);
    walk.press("n `12` enter");
    assert!(walk.said().contains("is expected. Press the same key again"), "{}", walk.said());
    walk.press("enter");
    assert_eq!(tank(&walk), Volume::from_litres(12));
    walk.press("`2500` enter enter");
    assert!(walk.said().contains("Check the volume"), "{}", walk.said());
    walk.press("esc esc");
    assert!(walk.said().contains("esc does not leave it: d puts it down"), "{}", walk.said());
    assert!(walk.model.working.is_some());
    walk.press("d");
    assert!(walk.said().contains("is put down. It stays open"), "{}", walk.said());
    walk.press("space");
    assert!(walk.said().contains("No round is under way"), "{}", walk.said());
}

#[test]
fn a_label_goes_before_litres() {
    let facts = [
        cellar::fact("09-01", r#""kind":"vessel_registered","vessel":"224","type":"barrel","capacity_ul":225000000"#),
        cellar::fact("09-01", r#""kind":"vessel_placed","vessel":"224","place":"vault/G-01-2-a""#),
    ];
    let before = Walk::small();
    cellar::record(before.path(), &facts);
    let mut walk = before.reopened();
    walk.press("`W-01` enter d enter enter `224` enter");
    assert_eq!((walk.at_vessel(), walk.said()), ("224", "224 is a label. For litres write 224 L."));
    walk.press("n `224 L` enter");
    assert_eq!(tank(&walk), Volume::from_litres(224));
}

#[test]
fn every_kind_of_work_is_walked_with_the_same_keys() {
    let facts = [
        cellar::fact(
            "11-24",
            r#""kind":"work_set","work":"fill","task":"barrel_down","from":"T1","stops":[{"vessel":"0436"},{"vessel":"0419"}]"#,
        ),
        cellar::fact(
            "11-24",
            r#""kind":"work_set","work":"sulfur","task":"treating","material":"so2","stops":[{"vessel":"0402","amount_ug":4000000,"volume_ul":40000}]"#,
        ),
        cellar::fact(
            "11-24",
            r#""kind":"work_set","work":"rinse","task":"caring","care":"rinsed","stops":[{"vessel":"W-05"}]"#,
        ),
    ];
    let before = Walk::small();
    cellar::record(before.path(), &facts);
    let mut walk = before.reopened();
    walk.press("d");
    keep(&walk, "works-of-every-kind");
    walk.press("enter space");
    assert_eq!((walk.at_vessel(), walk.said()), ("0419", "0436 filled, 225.0 L."));
    walk.press("`200` enter z enter");
    assert!(walk.said().contains("The work fill is closed"), "{}", walk.said());
    walk.press("d enter");
    assert_eq!(walk.at_vessel(), "0402");
    keep(&walk, "treating-under-way");
    walk.press("space z enter d enter space");
    assert!(walk.said().starts_with("W-05 rinsed."), "{}", walk.said());
    let kinds: Vec<String> = walk.facts().iter().map(|fact| fact.split(' ').next().unwrap().to_owned()).collect();
    let expected = ["wine_moved", "wine_moved", "work_ended", "treated", "work_ended", "barrel_cared"];
    assert_eq!(kinds, expected);
}

/// What nobody knows is asked about before it is given, answered by a letter, and taken back with the step.
#[test]
fn what_a_material_is_is_said_at_the_first_step_that_gives_it() {
    let set = r#""kind":"work_set","work":"settle","task":"treating","material":"Settle 9","stops":[{"vessel":"W-03","amount_ug":4000000},{"vessel":"W-04","amount_ug":4000000}]"#;
    let before = Walk::small();
    cellar::record(before.path(), &[cellar::fact("11-24", set)]);
    let mut walk = before.reopened();
    walk.press("`W-03` enter d");
    walk.press("enter space");
    assert!(walk.said().starts_with("Nobody said yet what 'Settle 9' is."), "{}", walk.said());
    keep(&walk, "words-material");
    walk.press("esc");
    assert_eq!(walk.facts(), [""; 0]);
    walk.press("space `x` enter");
    assert!(walk.said().starts_with("Say it with a letter"), "{}", walk.said());
    walk.press("backspace `s` enter");
    assert!(walk.said().starts_with("Say how much sulfur dioxide it gives"), "{}", walk.said());
    walk.press("backspace `f` enter");
    let kinds = |walk: &Walk| walk.facts().iter().map(|fact| fact.split(' ').next().unwrap().to_owned()).collect();
    let facts: Vec<String> = kinds(&walk);
    assert_eq!(facts, ["material_declared", "treated"]);
    assert_eq!((walk.at_vessel(), progress(&walk)), ("W-04", (1, 0, 2)));
    // It is asked once; one undo takes back the step and what was said with it.
    walk.press("space u u");
    assert_eq!(progress(&walk), (0, 0, 2));
    walk.press("space");
    assert!(walk.said().starts_with("Nobody said yet"), "{}", walk.said());
}

/// The vault's lot tested: W-01 by itself, its total near the limit, W-03 and W-04 as a composite; W-02 is held.
/// The first walk keeps the cellar's folder.
pub fn tested() -> (Walk, Walk) {
    let day = "11-20";
    let facts = [
        r#""kind":"tested","vessel":"W-01","ph":3.3,"free_so2_mg_l":6,"total_so2_mg_l":150"#,
        r#""kind":"sampled","vessel":"W-03","volume_ul":50000,"sample":"chalk""#,
        r#""kind":"sampled","vessel":"W-04","volume_ul":50000,"sample":"chalk""#,
        r#""kind":"tested","sample":"chalk","ph":3.3,"free_so2_mg_l":9,"total_so2_mg_l":60"#,
    ]
    .map(|rest| cellar::fact(day, rest));
    let before = Walk::small();
    cellar::record(before.path(), &facts);
    let walk = before.reopened();
    (before, walk)
}

#[test]
fn sulfur_dioxide_for_a_lot_is_planned_walked_and_ticked() {
    let (_home, mut walk) = tested();
    walk.press("`W-01` enter d down enter");
    keep_both(&walk, "dosing-plan");
    // All of it is in sight, and page down leaves it there.
    let whole = walk.text(80, 24);
    walk.press("page-down");
    assert_eq!(walk.text(80, 24), whole);
    // On a smaller terminal the doses of the last barrel stand below, and page down goes there.
    walk.take(resized(80, 16));
    assert!(!walk.text(80, 16).contains("W-04"), "{}", walk.text(80, 16));
    walk.press("page-down page-down");
    assert!(walk.text(80, 16).contains("W-04"), "{}", walk.text(80, 16));
    keep_at(&walk, "dosing-plan-below", (80, 16));
    walk.take(resized(80, 24));
    walk.press("enter");
    assert!(walk.said().contains("has begun") || walk.said().contains("Walking the work"), "{}", walk.said());
    assert!(
        walk.model.said.last().unwrap().caution.words().contains("Sulfur dioxide is toxic"),
        "{}",
        walk.text(80, 24)
    );
    assert_eq!((walk.at_vessel(), progress(&walk)), ("W-01", (0, 0, 3)));
    keep(&walk, "dosing-under-way");
    walk.press("space");
    assert_eq!((walk.at_vessel(), progress(&walk)), ("W-03", (1, 0, 3)));
    // Other millilitres than planned; far more are asked about once, and what nobody pours is refused.
    walk.press("`300`");
    keep(&walk, "dosing-typed");
    walk.press("enter");
    assert!(walk.said().contains("300 mL at W-03, where "), "{}", walk.said());
    assert_eq!(progress(&walk), (1, 0, 3));
    walk.press("esc `4000` enter enter");
    assert!(walk.said().contains("can hardly be meant"), "{}", walk.said());
    walk.press("esc `50` enter");
    assert_eq!((walk.at_vessel(), progress(&walk)), ("W-04", (2, 0, 3)));
    let facts = walk.facts();
    let given = facts.last().unwrap();
    assert!(given.contains(r#""vessel":"W-03""#) && given.contains(r#""amount_ug":5000000"#), "{given}");
    assert!(given.contains(r#""solution_ul":50000"#) && given.contains("potassium metabisulfite"), "{given}");
    walk.press("u");
    assert_eq!((walk.at_vessel(), progress(&walk)), ("W-03", (1, 0, 3)));
    walk.press("e");
    assert_eq!(progress(&walk), (3, 0, 3), "{}", walk.said());
}

/// Who stands at a held barrel means to cure it: its dose is planned alone, and asked about once before it is given.
#[test]
fn a_held_barrel_is_given_its_dose() {
    let (_home, mut walk) = tested();
    walk.press("`W-01` enter h `volatile` enter d down enter");
    keep(&walk, "dosing-held");
    walk.press("enter");
    assert_eq!((walk.at_vessel(), progress(&walk)), ("W-01", (0, 0, 1)));
    walk.press("space");
    let asks = "W-01 is held: volatile. It would be given potassium metabisulfite. Press the same key again to \
                confirm.";
    assert_eq!((walk.said(), progress(&walk)), (asks, (0, 0, 1)));
    walk.press("space");
    assert_eq!(progress(&walk), (1, 0, 1), "{}", walk.said());
    // Of its lot the others are dosed without it, which is named.
    walk.press("z enter `W-03` enter d down enter");
    assert!(walk.text(100, 40).contains("left out, held: W-01, W-02"), "{}", walk.text(100, 40));
}

#[test]
fn sulfur_dioxide_is_weighed_as_well_and_kilograms_are_refused() {
    let (_home, mut walk) = tested();
    walk.press("`W-01` enter d down enter down enter");
    assert_eq!(walk.at_vessel(), "W-01");
    walk.press("`2 kg` enter enter");
    assert!(walk.said().contains("2000 g of potassium metabisulfite into W-01"), "{}", walk.said());
    walk.press("esc `5` enter");
    assert!(walk.said().starts_with("W-01 treated with potassium metabisulfite, 5 g."), "{}", walk.said());
}

#[test]
fn a_lot_that_has_enough_is_given_nothing() {
    let mut walk = Walk::demo();
    walk.press("`0167` enter d down down down enter");
    keep(&walk, "dosing-nothing");
    let page = walk.text(80, 24);
    assert!(page.contains("nothing is to be given") && !page.contains("enter begin"), "{page}");
    walk.press("enter");
    assert!(walk.said().ends_with("Nothing is to be done."), "{}", walk.said());
}

#[test]
fn a_lot_of_unknown_ph_is_not_dosed() {
    let mut walk = Walk::small();
    walk.press("`W-01` enter d down enter");
    keep(&walk, "dosing-unknown");
    walk.press("enter");
    assert!(walk.said().contains("The pH of W-01 and 2 more is not known, and nothing is guessed"), "{}", walk.said());
    assert_eq!(walk.facts(), [""; 0]);
}

/// Tank T1 holds Merlot; the Cabernet of the long room's row B can come in under either name.
#[test]
fn a_racking_into_another_lot_says_whose_name_it_takes_and_asks_before_a_claim_is_lost() {
    let facts = [
        cellar::fact("11-20", r#""kind":"vessel_registered","vessel":"T3","type":"tank","capacity_ul":9000000000"#),
        cellar::fact("11-21", r#""kind":"wine_moved","from":"T1","to":"T3","volume_ul":1000000000,"purpose":"other""#),
    ];
    let before = Walk::small();
    cellar::record(before.path(), &facts);
    let mut walk = before.reopened();
    walk.press("`0423` enter d enter");
    keep(&walk, "racking-into-another-lot");
    let choice: &TankChoice = walk.model.page().unwrap();
    let lines: Vec<(String, Option<String>)> = choice
        .tanks
        .iter()
        .map(|line| {
            let state = &walk.model.state;
            let lot = line.all_is.map(|lot| state.lots.get(lot).label.to_string());
            (state.vessels.get(line.tank).label.to_string(), lot)
        })
        .collect();
    let named = |lot: &str| ("T3".to_owned(), Some(lot.to_owned()));
    assert_eq!(lines[..2], [named("M26 Upper Terrace"), named("C26 Long Wall")], "{lines:?}");
    let first = choice.plan.as_ref().unwrap();
    assert!(first.1.broken.iter().any(|broken| broken.lot.as_str() == "M26 Upper Terrace"), "{:?}", first.1.broken);
    walk.press("enter");
    let begun = walk.facts().len();
    // One barrel costs the lot nothing; the whole row does, and is asked about once, in the same words by the same key.
    walk.press("space");
    assert_eq!(walk.facts().len(), begun + 1, "{}", walk.said());
    walk.press("e");
    let question = walk.said().to_owned();
    assert!(
        question.starts_with("Racking these 12: M26 Upper Terrace would lose the right to say variety"),
        "{question}"
    );
    assert_eq!(walk.facts().len(), begun + 1);
    walk.press("n e");
    assert_eq!((walk.said(), walk.facts().len()), (question.as_str(), begun + 1));
    walk.press("e");
    assert_eq!(walk.facts().len(), begun + 13, "{}", walk.said());
    let moved = walk.facts().last().unwrap().clone();
    assert!(moved.contains(r#""lot":"M26 Upper Terrace""#), "{moved}");
}

/// What lees took is missing in the last barrel.
#[test]
fn what_was_racked_into_a_tank_goes_back_into_the_same_barrels() {
    let mut walk = racking();
    walk.press("space space space z `660` enter / `T2` enter d");
    keep(&walk, "works-of-a-racked-tank");
    walk.press("down enter");
    keep_both(&walk, "return-plan");
    walk.press("enter");
    assert_eq!((walk.at_vessel(), progress(&walk)), ("W-01", (0, 0, 3)), "{}", walk.said());
    keep(&walk, "return-under-way");
    walk.press("r");
    assert_eq!((tank(&walk), progress(&walk)), (Volume::ZERO, (3, 0, 3)), "{}", walk.said());
    let filled = |label: &str| walk.model.state.vessels.by_label(label).unwrap().volume();
    assert_eq!(["W-01", "W-03", "W-04"].map(filled), [225, 225, 210].map(Volume::from_litres));
    walk.press("u");
    assert_eq!((tank(&walk), progress(&walk)), (Volume::from_litres(660), (0, 0, 3)));
}
