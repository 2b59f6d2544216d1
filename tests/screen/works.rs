//! Works at the screen: a racking from its plan to its end, by keys, and other works walked with the same keys.

use barrelwalk::tui::model::Mode;
use barrelwalk::units::Volume;

use crate::cellar;
use crate::pictures::keep;
use crate::walk::Walk;

/// A racking of the vault's lot into the empty tank, begun at its first barrel; W-02 is held.
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

#[test]
fn the_plan_of_a_racking() {
    let mut walk = Walk::small();
    walk.press("`W-01` enter d");
    keep(&walk, "works-page");
    walk.press("enter");
    keep(&walk, "racking-plan");
    walk.press("down");
    assert!(matches!(&walk.model.mode, Mode::Tank(choice) if choice.plan.is_err()));
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
    walk.press("n `12` enter");
    assert!(walk.said().contains("is expected? Enter again"), "{}", walk.said());
    walk.press("enter");
    assert_eq!(tank(&walk), Volume::from_litres(12));
    walk.press("`2500` enter enter");
    assert!(walk.said().contains("Check the volume"), "{}", walk.said());
    walk.press("esc esc");
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
    walk.press("`3` enter");
    assert!(walk.said().contains("no litres are measured"), "{}", walk.said());
    walk.press("esc space z enter d enter space");
    assert!(walk.said().starts_with("W-05 rinsed."), "{}", walk.said());
    let kinds: Vec<String> = walk.facts().iter().map(|fact| fact.split(' ').next().unwrap().to_owned()).collect();
    let expected = ["wine_moved", "wine_moved", "work_ended", "treated", "work_ended", "barrel_cared"];
    assert_eq!(kinds, expected);
}
