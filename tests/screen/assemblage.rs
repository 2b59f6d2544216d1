//! A blend at the screen: its transfers, what corrects them, and the page that closes it.

use barrelwalk::tui::floor::ending::Ending;
use barrelwalk::units::Volume;

use crate::cellar;
use crate::pictures::{keep, keep_both};
use crate::walk::{Walk, resized};

/// A blend of 1,000 L in T4: 500 L from T1, 350 L from T5, 150 L from T6, begun at T1.
pub fn blend() -> Walk {
    let mut facts = Vec::new();
    for (tank, wine) in [("T4", 0), ("T5", 900), ("T6", 400)] {
        facts.push(cellar::fact(
            "09-01",
            &format!(r#""kind":"vessel_registered","vessel":"{tank}","type":"tank","capacity_ul":3000000000"#),
        ));
        if wine > 0 {
            facts.push(cellar::fact(
                "09-02",
                &format!(
                    r#""kind":"wine_received","vessel":"{tank}","lot":"C26 Long Wall","parts":[{{"origin":"C26 Long Wall","volume_ul":{wine}000000}}]"#
                ),
            ));
        }
    }
    facts.push(cellar::fact("11-24", r#""kind":"lot_opened","lot":"Assemblage 26","colour":"red""#));
    facts.push(cellar::fact(
        "11-24",
        r#""kind":"work_set","work":"blend 26","task":"blending","into":"T4","lot":"Assemblage 26","stops":[{"vessel":"T1","volume_ul":500000000},{"vessel":"T5","volume_ul":350000000},{"vessel":"T6","volume_ul":150000000}]"#,
    ));
    taken_up(&facts)
}

/// The small cellar with these facts, the first of its works taken up.
fn taken_up(facts: &[String]) -> Walk {
    let before = Walk::small();
    cellar::record(before.path(), facts);
    let mut walk = before.reopened();
    walk.keep_cellar_of(before);
    walk.press("d enter");
    walk
}

/// A blend of lot M26 in T4 with so much of a tank of lot C26 that the lot is that no more.
fn blend_of_another_lot() -> Walk {
    let tank =
        |tank: &str| format!(r#""kind":"vessel_registered","vessel":"{tank}","type":"tank","capacity_ul":9000000000"#);
    let facts = [
        cellar::fact("09-01", &tank("T4")),
        cellar::fact("09-01", &tank("T5")),
        cellar::fact(
            "09-02",
            r#""kind":"wine_received","vessel":"T5","lot":"C26 Long Wall","parts":[{"origin":"C26 Long Wall","volume_ul":8000000000}]"#,
        ),
        cellar::fact(
            "11-24",
            r#""kind":"work_set","work":"blend 26","task":"blending","into":"T4","lot":"M26 Upper Terrace","stops":[{"vessel":"T1","volume_ul":500000000},{"vessel":"T5","volume_ul":7000000000}]"#,
        ),
    ];
    taken_up(&facts)
}

/// The whole blend is asked about, though its first transfer takes nothing from the lot, and the second is not asked about again.
#[test]
fn a_blend_that_costs_a_claim_asks_before_its_first_transfer() {
    let mut walk = blend_of_another_lot();
    assert_eq!(walk.at_vessel(), "T1");
    walk.press("space");
    let question = walk.said().to_owned();
    assert!(question.starts_with("Blending into T4: M26 Upper Terrace would lose the right to say"), "{question}");
    assert_eq!(holds(&walk, "T4"), Volume::ZERO);
    keep(&walk, "blend-claim-asked");
    // Other litres are another key, and ask for themselves.
    walk.press("`498` enter");
    assert_eq!((walk.said(), holds(&walk, "T4")), (question.as_str(), Volume::ZERO));
    walk.press("enter");
    assert_eq!((holds(&walk, "T4"), walk.at_vessel()), (Volume::from_litres(498), "T5"));
    walk.press("space");
    assert!(holds(&walk, "T4") > Volume::from_litres(7_000));
}

/// What is asked at the end of a long page is seen first, and what stands above it is gone up to.
#[test]
fn a_closing_page_that_is_too_long_is_gone_up() {
    let mut walk = blend();
    walk.take(resized(60, 16));
    walk.press("space z");
    let end = walk.text(60, 16);
    assert!(end.contains("gauged at, litres: _") && end.contains("↑ ") && !end.contains("blend 26, blending"), "{end}");
    walk.press("page-up page-up");
    let start = walk.text(60, 16);
    assert!(start.contains("blend 26, blending into T4") && start.contains("↓ "), "{start}");
    walk.press("5");
    assert!(walk.text(60, 16).contains("gauged at, litres: 5_"), "{}", walk.text(60, 16));
}

fn holds(walk: &Walk, tank: &str) -> Volume {
    walk.model.state.vessels.by_label(tank).unwrap().volume()
}

#[test]
fn a_blend_whose_first_transfer_was_too_much_is_brought_right() {
    let mut walk = blend();
    assert_eq!(walk.at_vessel(), "T1");
    keep(&walk, "blend-begun");
    walk.press("`515` enter");
    assert_eq!((walk.at_vessel(), holds(&walk, "T4")), ("T5", Volume::from_litres(515)));
    assert!(walk.said().contains("T5 is next with 360.5 L, 10.5 L more than the 350.0 L planned"), "{}", walk.said());
    keep(&walk, "blend-corrected");
    walk.press("u");
    assert_eq!((walk.at_vessel(), holds(&walk, "T4")), ("T1", Volume::ZERO));
    walk.press("`515` enter space");
    assert_eq!(holds(&walk, "T4"), Volume::from_ml(875_500));
    let mut again = walk.reopened();
    again.press("d enter");
    assert_eq!(again.at_vessel(), "T6");
    again.press("z");
    keep_both(&again, "blend-so-far");
    again.press("esc space");
    assert!(
        again.said().ends_with("Every wine is in, and every share within 1 point. Press z to close it."),
        "{}",
        again.said()
    );
    again.press("z `1028.5`");
    keep(&again, "blend-closing");
    again.press("enter");
    assert_eq!((holds(&again, "T4"), again.model.working), (Volume::from_ml(1_028_500), None));
    assert!(
        again.said().contains("`barrelwalk trace lot 'Assemblage 26'` tells where its wine came from"),
        "{}",
        again.said()
    );
    let last: Vec<String> =
        again.facts().iter().rev().take(2).map(|fact| fact.split(' ').next().unwrap().to_owned()).collect();
    assert_eq!(last, ["work_ended", "gauged"]);
}

#[test]
fn a_tank_that_gave_already_gives_again() {
    let mut walk = blend();
    walk.press("space space");
    // 180 L want 1,200 L in all: T1 600, T5 420.
    walk.press("`180` enter enter");
    assert_eq!(walk.at_vessel(), "T1");
    assert!(walk.said().contains("T1 again: 100.0 L more of it bring the ratio right."), "{}", walk.said());
    keep(&walk, "blend-again");
    walk.press("space");
    assert!(walk.said().contains("T5 again: 70.0 L more of it bring the ratio right."), "{}", walk.said());
    walk.press("space");
    assert_eq!(holds(&walk, "T4"), Volume::from_litres(1_200));
    walk.press("space");
    assert!(walk.said().contains("The ratio asks for no more from T5."), "{}", walk.said());
    // By hand it gives all the same.
    walk.press("`5` enter");
    assert_eq!(holds(&walk, "T4"), Volume::from_litres(1_205));
}

#[test]
fn what_cannot_be_pressed_in_a_blend_says_why() {
    let mut walk = blend();
    for (keys, part) in [
        ("r", "A blend is made vessel by vessel"),
        ("`T4` enter space", "T4 is what the blend is made in"),
        ("`0402` enter space", "0402 is no barrel of the work"),
        ("`T1` enter `900` enter", "900.0 L at T1, where 500.0 L is expected."),
    ] {
        walk.press(keys);
        assert!(walk.said().contains(part), "{keys}: {}", walk.said());
    }
    // 900 L of T5 want 1,286 L of T1, which had 1,200.
    walk.press("enter `900` enter enter");
    assert!(walk.said().contains("Even so a share stays off by"), "{}", walk.said());
    walk.press("space space space z");
    assert!(walk.model.page::<Ending>().is_some());
    keep(&walk, "blend-off");
}
