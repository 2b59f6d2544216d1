//! Yesterday's sheet, entered this morning for whoever wrote it.

use barrelwalk::desk::{Access, Desk};

use crate::pictures::{keep, keep_both};
use crate::walk::Walk;

/// The day and the name of what was entered for somebody, with its kind.
fn entered(walk: &Walk, by: &str) -> Vec<String> {
    let mut facts = Vec::new();
    let desk = Desk::open(walk.path(), Access::ReadOnly).unwrap();
    desk.export(None, &mut |line| {
        if line.by.as_str() == by {
            facts.push(format!("{} {}", line.at, line.kind));
        }
        Ok(())
    })
    .unwrap();
    facts
}

fn for_ana() -> Walk {
    let mut walk = Walk::small();
    walk.press("/ `day that is over` enter `Ana, 24 Nov`");
    walk
}

#[test]
fn it_is_said_for_whom_and_for_which_day() {
    let mut walk = for_ana();
    keep(&walk, "yesterday-asked");
    walk.press("enter");
    assert_eq!(walk.said(), "What is entered from now on was done by Ana on Tue 24 Nov 2026. / as of now ends it.");
    keep_both(&walk, "yesterday-floor");
    walk.press("i");
    keep(&walk, "yesterday-page");
}

/// On the smallest screen too, and however long a name is: what is entered for whom takes of what else stands in the head.
#[test]
fn the_smallest_screen_says_it_as_well() {
    let mut walk = Walk::small();
    walk.press("/ `day that is over` enter `Maximiliane of the long vault, 24 Nov` enter");
    for page in ["", "b enter", "i"] {
        walk.press(page);
        for (width, height) in [(60, 16), (75, 20), (80, 24)] {
            let head = walk.text(width, height).lines().next().unwrap().to_owned();
            assert!(head.ends_with(" 24 Nov, for Maximiliane of the long vault "), "{head}");
            assert!(
                head.starts_with(" A-01-1-a ") || head.starts_with(" long ") || head.starts_with(" The lot"),
                "{head}"
            );
        }
    }
}

/// One key a barrel where it was as expected, in the order of the sheet.
#[test]
fn a_sheet_is_entered_in_the_order_of_its_lines() {
    let mut walk = for_ana();
    walk.press("enter b enter");
    let first = walk.at_vessel().to_owned();
    let sheet: Vec<String> = {
        let desk = Desk::open(walk.path(), Access::ReadOnly).unwrap();
        let state = desk.state();
        let room = state.rooms.find("long").unwrap();
        let plan = state.plan_round(room, walk.model.now);
        plan.stops.iter().map(|stop| state.vessels.get(stop.vessel).label.to_string()).collect()
    };
    assert_eq!(sheet[0], first);
    for (at, line) in sheet.iter().take(6).enumerate() {
        assert_eq!(walk.at_vessel(), line, "line {at} of the sheet");
        walk.press(if at == 2 { "`1.4` enter" } else { "space" });
        assert!(!walk.said().contains("refused"), "{}", walk.said());
    }
    let facts = entered(&walk, "Ana");
    assert_eq!(facts.len(), 7, "{facts:?}");
    let minutes: Vec<&str> = facts.iter().map(|fact| &fact[..16]).collect();
    assert!(minutes.windows(2).all(|pair| pair[0] < pair[1]), "two acts are never of one instant: {facts:?}");
    assert!(facts.iter().all(|fact| fact.starts_with("2026-11-24T")), "{facts:?}");
    // What was entered last goes back first, and the walk goes on behind it.
    walk.press("u");
    assert_eq!(walk.at_vessel(), sheet[5]);
    walk.press("space");
    assert_eq!(entered(&walk, "Ana").len(), 8);
    walk.press("/ `as of now` enter");
    assert!(walk.said().starts_with("As of now again"), "{}", walk.said());
    walk.press("s");
    assert_eq!(entered(&walk, "Ana").len(), 8);
    assert_eq!(walk.model.now, walk.model.clock);
}

/// The whole of a sheet, over a change of the topping vessel: each part of the round begins at its first line.
#[test]
fn the_whole_of_a_sheet_is_entered_in_the_order_of_its_lines() {
    let mut walk = for_ana();
    walk.press("enter b enter");
    let sheet: Vec<String> = {
        let desk = Desk::open(walk.path(), Access::ReadOnly).unwrap();
        let state = desk.state_at(walk.model.now).unwrap();
        let plan = state.plan_round(state.rooms.find("long").unwrap(), walk.model.now);
        plan.stops.iter().map(|stop| state.vessels.get(stop.vessel).label.to_string()).collect()
    };
    let mut changes = 0;
    for (at, line) in sheet.iter().enumerate() {
        assert_eq!(walk.at_vessel(), line, "line {at} of {sheet:?}: {}", walk.said());
        walk.press("space");
        if walk.said().ends_with("Press the same key again to confirm.") {
            walk.press("space");
        }
        if walk.said().contains("x, then enter, takes it") {
            walk.press("x enter");
            changes += 1;
        }
    }
    assert!(sheet.len() > 20 && changes > 0, "{changes} changes on {sheet:?}");
    assert!(walk.said().contains("Every barrel of this round is done."), "{}", walk.said());
}

/// Begun anew for the same day, it goes on behind what was entered before; leaving the program ends it.
#[test]
fn a_day_goes_on_behind_what_stands_in_the_log_of_it() {
    let mut walk = for_ana();
    walk.press("enter w `one` enter w `two` enter");
    let mut again = walk.reopened();
    assert!(again.model.behalf.is_none());
    again.keep_cellar_of(walk);
    again.press("/ `day that is over` enter `Ana 24 Nov` enter w `three` enter");
    let facts = entered(&again, "Ana");
    assert_eq!(facts.len(), 3);
    assert!(facts.windows(2).all(|pair| pair[0][..16] < pair[1][..16]), "{facts:?}");
}

#[test]
fn for_somebody_else_today_it_is_now() {
    let mut walk = Walk::small();
    walk.press("/ `day that is over` enter `Ana` enter w `one` enter");
    assert_eq!(entered(&walk, "Ana"), ["2026-11-25T06:41:00+01:00 noted"]);
    walk.press("/ `day that is over` enter `26 Nov 2026` enter");
    assert!(walk.said().contains("lies in the future"), "{}", walk.said());
}

/// A work is walked in its steps as of then.
#[test]
fn a_work_is_entered_in_its_steps() {
    let mut walk = Walk::small();
    walk.press("/ `day that is over` enter `Ana, yesterday` enter");
    walk.press("`W-01` enter d enter enter");
    let first = walk.at_vessel().to_owned();
    walk.press("space");
    assert_ne!(walk.at_vessel(), first);
    assert!(entered(&walk, "Ana").last().unwrap().ends_with("wine_moved"));
}

/// Where a house says that plain numbers are labels, no label is taken for litres.
#[test]
fn plain_numbers_are_labels_where_the_house_says_so() {
    let mut walk = Walk::small();
    crate::cellar::record(
        walk.path(),
        &[crate::cellar::fact(
            "11-24",
            r#""kind":"vessel_registered","vessel":"18","type":"barrel","capacity_ul":225000000"#,
        )],
    );
    walk.take(barrelwalk::tui::edge::screen::Message::Changed);
    walk.press("b enter enter / `plain numbers` enter");
    assert_eq!(walk.said(), "Plain numbers are labels here: litres want a point, a comma or a unit, like 1.8 or 2 L.");
    keep(&walk, "numbers-are-labels");
    let first = walk.at_vessel().to_owned();
    walk.press("`19` enter");
    assert!(walk.said().starts_with("Nothing is called '19'"), "{}", walk.said());
    assert!(walk.said().contains("Plain numbers are labels here"), "{}", walk.said());
    walk.press("esc `2 L` enter");
    assert!(walk.said().starts_with(&format!("{first} topped, 2.0 L")), "{}", walk.said());
    let second = walk.at_vessel().to_owned();
    walk.press("`1.8` enter");
    assert!(walk.said().starts_with(&format!("{second} topped, 1.8 L")), "{}", walk.said());
    walk.press("`18` enter");
    assert_eq!(walk.at_vessel(), "18");
}

/// The cellar is looked at as of then: what was done today is not done yet, and what is estimated and asked is what the desk would ask of that day.
#[test]
fn what_was_done_today_is_not_done_yet_on_the_day_that_is_entered() {
    let mut walk = Walk::small();
    walk.press("b enter enter");
    let first = walk.at_vessel().to_owned();
    walk.press("space");
    assert!(walk.said().contains("topped"), "{}", walk.said());
    let topped = |walk: &Walk| walk.model.state.vessels.by_label(&first).unwrap().last_topped;
    let today = topped(&walk);
    walk.press("/ `day that is over` enter `Ana, 24 Nov` enter");
    assert_ne!(topped(&walk), today);
    assert!(
        walk.said().ends_with("The round of long had not begun then: b begins it as of that day."),
        "{}",
        walk.said()
    );
    assert!(walk.model.round().is_none());
    walk.press("/ `as of now` enter");
    assert_eq!(topped(&walk), today);
    assert!(walk.model.round().is_some());
}

/// A sheet of a work that was begun in the book today only: the work is begun as of that day as well, and its steps are ticked.
#[test]
fn a_work_is_begun_as_of_the_day_of_its_sheet() {
    let mut walk = Walk::small();
    walk.press("`W-01` enter d enter enter");
    let work = walk.model.state.works.iter().next().unwrap().1.label.clone();
    walk.press("/ `day that is over` enter `Ana, 24 Nov` enter");
    assert!(
        walk.said().ends_with(&format!("The work {work} had not begun then: begin it as of that day.")),
        "{}",
        walk.said()
    );
    assert!(walk.model.working.is_none());
    walk.press("`W-01` enter d enter enter");
    assert!(walk.model.working.is_some());
    let first = walk.at_vessel().to_owned();
    walk.press("space");
    assert_ne!(walk.at_vessel(), first);
    let facts = entered(&walk, "Ana");
    assert_eq!(facts, ["2026-11-24T08:00:00+01:00 work_set", "2026-11-24T08:01:00+01:00 wine_moved"]);
    assert!(walk.text(80, 24).contains("1 of 3 done"), "{}", walk.text(80, 24));
    walk.press("/ `as of now` enter");
    assert!(walk.text(80, 24).contains("1 of 3 done"), "it goes on as of now: {}", walk.text(80, 24));
}
