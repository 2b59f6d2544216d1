//! What can hurt somebody, at each place of the screen where a hand begins a work: before anything is done, in the look of a warning, whole in the
//! terminal of the aisle and in few words in the smallest, where it hides nothing of what is worked on.

use barrelwalk::forms;
use barrelwalk::told::hazard::Caution;
use barrelwalk::told::hazard::Hazard::{self, *};
use barrelwalk::tui::edge::screen::Message;

use crate::cellar::{fact, record};
use crate::picture::rows;
use crate::pictures::keep_at;
use crate::walk::Walk;

/// The small cellar with four empty barrels, of which E2 was sulfured on 3 November and E4 too, and rinsed since; and an open work of each kind.
fn walk() -> Walk {
    let walk = Walk::small();
    let mut facts = Vec::new();
    for barrel in ["E1", "E2", "E3", "E4"] {
        facts.push(fact(
            "11-01",
            &format!(
                r#""kind":"vessel_registered","vessel":"{barrel}","type":"barrel","capacity_ul":225000000,"fills":1"#
            ),
        ));
    }
    let cared = |day: &str, barrel: &str, care: &str| {
        fact(day, &format!(r#""kind":"barrel_cared","vessel":"{barrel}","care":"{care}""#))
    };
    facts.extend([cared("11-03", "E2", "sulfured"), cared("11-03", "E4", "sulfured"), cared("11-04", "E4", "rinsed")]);
    for (work, task) in WORKS.map(|(work, task, _)| (work, task)) {
        let stops = if task.contains("treating") {
            r#"[{"vessel":"0401","amount_ug":5000000}]"#
        } else {
            r#"[{"vessel":"E1"},{"vessel":"E2"}]"#
        };
        facts.push(fact("11-20", &format!(r#""kind":"work_set","work":"{work}",{task},"stops":{stops}"#)));
    }
    record(walk.path(), &facts);
    let mut walk = walk;
    walk.take(Message::Changed);
    walk
}

/// The works of that cellar, and what is heeded at each.
const WORKS: [(&str, &str, &[Hazard]); 9] = [
    ("rack it", r#""task":"racking","to":"T2""#, &[Gas, Stacks]),
    ("put it down", r#""task":"barrel_down","from":"T1""#, &[Gas, SulfuredWood, Stacks]),
    ("sulfur it", r#""task":"treating","material":"KMBS""#, &[SulfurDioxide]),
    ("fine it", r#""task":"treating","material":"bentonite""#, &[Dust]),
    ("sour it", r#""task":"treating","material":"tartaric acid""#, &[Harsh]),
    ("rinse", r#""task":"caring","care":"rinsed""#, &[SulfuredWood, HotWater]),
    ("steam", r#""task":"caring","care":"steamed""#, &[SulfuredWood, HotWater]),
    ("ozone", r#""task":"caring","care":"ozonated""#, &[SulfuredWood, Ozone]),
    ("burn", r#""task":"caring","care":"sulfured""#, &[BurningSulfur, SulfurDioxide]),
];

/// The pages on which a work is begun, by keys, and what is heeded at each.
const PAGES: [(&str, &[Hazard]); 10] = [
    ("b", &[Gas, Ladders, Stacks]),
    ("`W-01` enter d enter", &[Gas, Stacks]),
    ("`0402` enter d down enter", &[SulfurDioxide]),
    ("/ `T1` enter d enter", &[Gas, Stacks]),
    ("/ `T1` enter d down enter", &[Gas, Collapse]),
    ("/ `T1` enter d down enter tab", &[Gas, Collapse, Dust]),
    ("/ `T1` enter :bottle", &[Gas, HotWater, Line]),
    ("/ `T1` enter d down down down enter enter", &[Dust]),
    (":count", &[Gas, Ladders, Stacks]),
    (":messages", &[]),
];

/// All that is drawn, in one line.
fn drawn(walk: &Walk, width: u16, height: u16) -> String {
    rows(&walk.drawn(width, height)).join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Each hazard stands there, whole at the desk and in the aisle, and in few words at least in the smallest terminal.
#[track_caller]
fn stands(walk: &Walk, hazards: &[Hazard], place: &str) {
    for (width, height) in [(160, 48), (80, 24)] {
        let seen = drawn(walk, width, height);
        for hazard in Hazard::ALL {
            // Of sulfured wood the day is told, where it is known.
            let words = if hazard == SulfuredWood { "out at the bung" } else { hazard.sentence() };
            let stands = seen.contains(words) || hazard == SulfuredWood && seen.contains(hazard.sentence());
            // In the aisle the first of many is told whole, the others in few words.
            let is_folded = height == 24 && hazards.len() > 2;
            let stands = stands || is_folded && seen.to_lowercase().contains(hazard.in_short());
            assert_eq!(
                stands,
                hazards.contains(&hazard),
                "{hazard:?} at {place}, {width}x{height}:\n{}",
                walk.text(width, height)
            );
        }
        assert!(hazards.is_empty() || seen.contains("Follow local codes and licensed practice."), "{place}");
    }
    let seen = drawn(walk, 60, 16).to_lowercase();
    for hazard in hazards {
        let stands = seen.contains(hazard.in_short()) || seen.contains(&hazard.sentence().to_lowercase());
        assert!(stands || *hazard == SulfuredWood, "{hazard:?} at {place}, 60x16:\n{}", walk.text(60, 16));
    }
}

#[test]
fn each_work_that_is_taken_up_tells_its_hazards_before_its_first_barrel() {
    let mut walk = walk();
    let mut taken_up = 0;
    for at in 0..WORKS.len() {
        walk.press("`W-01` enter d home").press(&vec!["down"; at].join(" ")).press("enter");
        let label = walk.said().to_owned();
        let (work, _, hazards) = WORKS.iter().find(|(work, ..)| label.contains(&format!("the work {work}."))).unwrap();
        stands(&walk, hazards, work);
        // It stands over what is said of the work, in a look of its own.
        let lines = rows(&walk.drawn(80, 24));
        let line = |words: &str| lines.iter().position(|line| line.contains(words));
        assert!(
            line(&hazards[0].sentence()[..20]).or(line("was sulfured")) < line("Walking the work"),
            "{}",
            walk.text(80, 24)
        );
        // Once a work: the next key has the floor to itself.
        walk.press("right");
        assert!(!drawn(&walk, 80, 24).contains("licensed practice"));
        // Putting it down asks nothing, and who takes it up next is told again.
        walk.press("d");
        taken_up += 1;
    }
    assert_eq!(taken_up, WORKS.len());
}

/// At the bench the wine itself can hurt: glasses of a tasting, and of a trial.
#[test]
fn the_bench_tells_what_a_tasting_can_do() {
    let mut glasses = Walk::small();
    glasses.press("`0401` enter + `0402` enter + :bench");
    stands(&glasses, &[Tasting], "glasses at the bench");
    stands(&crate::trial_tasting::tasting(), &[Tasting], "glasses of a trial");
}

#[test]
fn the_day_of_a_sulfuring_is_told_where_the_barrel_is_filled_or_rinsed() {
    let mut walk = walk();
    walk.press("/ `barrel upkeep` enter `rinsed` down");
    walk.press(&"backspace ".repeat(12)).press("`E2`");
    let seen = drawn(&walk, 80, 24);
    assert!(seen.contains("E2 was sulfured on 3 Nov 2026: its gas comes out at the bung"), "{}", walk.text(80, 24));
    keep_at(&walk, "caution-sulfured-barrel", (80, 24));
    keep_at(&walk, "caution-sulfured-barrel", (60, 16));
    // One that was rinsed since tells nothing of sulfur.
    walk.press("backspace 4");
    let seen = drawn(&walk, 80, 24);
    assert!(!seen.contains("sulfured on") && seen.contains(HotWater.sentence()), "{}", walk.text(80, 24));
}

#[test]
fn each_page_on_which_a_work_begins_tells_its_hazards() {
    for (keys, hazards) in PAGES {
        let mut walk = Walk::small();
        walk.press(keys);
        stands(&walk, hazards, keys);
    }
    let mut walk = Walk::bottled();
    walk.press(":bins");
    stands(&walk, &[Bins], "the bins");
}

#[test]
fn each_form_tells_the_hazards_of_its_kind_and_hides_no_line_that_is_written() {
    for form in forms::forms().filter(|form| form.has_page()) {
        let mut walk = Walk::small();
        walk.press(&format!("/ `{}` enter", form.title));
        assert!(drawn(&walk, 80, 24).contains(form.title), "{}", walk.text(80, 24));
        let told = Caution::of_kind(form.kind);
        let hazards: Vec<Hazard> = Hazard::ALL.into_iter().filter(|hazard| told.tells(*hazard)).collect();
        let seen = drawn(&walk, 160, 48);
        // What stands in its fields already may say more of them than their kind.
        if !hazards.is_empty() {
            assert!(
                seen.contains("Follow local codes and licensed practice."),
                "{}: {}",
                form.kind,
                walk.text(160, 48)
            );
        }
        for (_, field) in form.filled_in() {
            assert!(walk.text(60, 16).contains('▸'), "{}: {}", field.name, walk.text(60, 16));
            walk.press("down");
        }
    }
}

#[test]
fn a_round_that_somebody_goes_on_with_tells_of_ladders_and_stacks() {
    let mut walk = Walk::small();
    walk.press("b enter enter");
    let again = walk.reopened();
    assert!(again.said().contains("A round is under way here"), "{}", again.said());
    stands(&again, &[Gas, Ladders, Stacks], "a round under way");
    keep_at(&again, "caution-round-under-way", (80, 24));
    keep_at(&again, "caution-round-under-way", (60, 16));
}
