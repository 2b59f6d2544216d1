//! Whole sessions, key by key: what the model knows, what the log holds and what the screen shows must be the same.

use barrelwalk::desk::Access;
use barrelwalk::tui::bench::glasses::{Bench, Glasses, Opened};
use barrelwalk::tui::core::model::Tone;
use barrelwalk::tui::edge::screen::Message;
use barrelwalk::tui::floor::find::Find;
use barrelwalk::tui::floor::words::Words;
use barrelwalk::tui::topping::source::SourceChoice;

use crate::cellar::fact;
use crate::cellar::{self, morning};
use crate::pictures::keep;
use crate::walk::Walk;

/// What is said of a round at the top of the screen.
fn head(walk: &Walk) -> String {
    walk.text(120, 30).lines().nth(1).unwrap().trim().to_owned()
}

/// A walk on which a round was begun from the tank of the first barrels' lot, which is not the plan's choice.
fn begun() -> Walk {
    let mut walk = Walk::small();
    walk.press("b down enter enter");
    walk
}

fn topped(vessel: &str, microlitres: u64, full: bool) -> String {
    format!(r#"topped {{"vessel":"{vessel}","from":"T1","volume_ul":{microlitres},"full":{full}}}"#)
}

/// The kind of every fact that was entered, with the vessel that it is about.
fn kinds(walk: &Walk) -> Vec<String> {
    let about = |fact: &str| {
        let (kind, body) = fact.split_once(' ').unwrap();
        let body: serde_json::Value = serde_json::from_str(body).unwrap();
        body["vessel"].as_str().map_or(kind.to_owned(), |vessel| format!("{kind} {vessel}"))
    };
    walk.facts().iter().map(|fact| about(fact)).collect()
}

/// A held barrel is topped for a reason, which stands on the fact; undo takes both back.
#[test]
fn a_held_barrel_is_topped_for_a_reason_that_is_kept() {
    let mut walk = Walk::small();
    walk.press("b enter enter `0404` enter space");
    let refused = "0404 is held: film on the surface, waits for the laboratory. h frees it; to top it all the same type the litres, \
                   then say why.";
    assert_eq!(walk.said(), refused);
    walk.press("`1.2` enter `kept full so that the film gets no air` enter");
    assert_eq!(walk.said().split(" 0").next(), Some("0404 topped, 1.2 L."));
    let facts = walk.facts();
    let topped = facts.last().unwrap();
    let despite = r#"topped {"despite":"kept full so that the film gets no air","vessel":"0404""#;
    assert!(topped.starts_with(despite), "{topped}");
    assert_eq!(walk.model.state.discrepancies.len(), 0);
    walk.press("u");
    assert!(walk.said().starts_with("Undone:"), "{}", walk.said());
}

/// A barrel that was lifted out of its rack is named before the round, found by its label, topped with space or with litres, and
/// walked to last. Keys for a rack do nothing where no rack is seen.
#[test]
fn a_barrel_at_no_place_is_topped_in_the_round_it_came_from() {
    let before = Walk::small();
    let lifted = r#""kind":"vessel_placed","vessel":"0402","place":null"#;
    cellar::record(before.path(), &[cellar::fact("11-24", lifted)]);
    let mut walk = before.reopened();
    walk.press("b");
    keep(&walk, "source-no-place");
    walk.press("enter enter `0402` enter");
    assert_eq!(walk.said(), "0402 lies at no place; its card is shown. esc goes back.");
    keep(&walk, "round-no-place");
    assert!(head(&walk).contains("0 of 33 done"), "{}", head(&walk));
    walk.press("r");
    assert_eq!(
        walk.said(),
        "0402 lies at no place, in no rack, stack or row: space is for it alone, esc goes back to the floor."
    );
    walk.press("space");
    assert!(walk.said().starts_with("0402 topped, 0.5 L."), "{}", walk.said());
    assert_eq!(walk.at_vessel(), "0401");
    walk.press("u `0402` enter `1.3` enter");
    assert_eq!(walk.facts().last().unwrap(), r#"topped {"vessel":"0402","from":"K1","volume_ul":1300000,"full":true}"#);
    assert!(head(&walk).contains("1 of 33 done"), "{}", head(&walk));
    assert_eq!(walk.at_vessel(), "0401");
    // Skipped, it is come back to when all else is done or skipped.
    walk.press("u `0402` enter s");
    assert!(head(&walk).contains("1 skipped"), "{}", head(&walk));
    walk.press(&"s ".repeat(32));
    assert_eq!(walk.at_vessel(), "0402");
    assert!(walk.said().contains("0402 is next; it lies at no place, and its card is shown."), "{}", walk.said());
}

/// A suspect keg is offered last, with why, and asked about once.
#[test]
fn a_suspect_topping_vessel_is_asked_about_when_it_is_chosen() {
    let before = Walk::small();
    cellar::record(before.path(), &[cellar::fact("11-24", r#""kind":"tested","vessel":"K1","va_g_l":1.6"#)]);
    let mut walk = before.reopened();
    walk.press("b");
    keep(&walk, "source-suspect");
    walk.press("end enter");
    let asks = "K1 is suspect: volatile acidity 1.60 g/L as acetic on 24 Nov, above the alarm at 0.90. Other wine would be topped from it.";
    assert!(walk.said().contains(asks), "{}", walk.said());
    assert_eq!(walk.facts(), [""; 0]);
    walk.press("enter");
    assert!(walk.said().ends_with("topping from K1."), "{}", walk.said());
    walk.press("space");
    assert!(walk.said().starts_with("0401 topped"), "{}", walk.said());
}

/// A dip is read from the barrel's own table; a bare number is asked about and may be completed, a deep one is refused.
#[test]
fn a_vessel_is_gauged_by_a_dip_or_a_volume() {
    let mut walk = Walk::small();
    let barrel = |walk: &Walk| walk.model.state.vessels.by_label("0413").unwrap().clone();
    walk.press("`0413` enter g `30` enter");
    assert_eq!(walk.said(), "Say what 30 is: with mm behind it a dip under the bung, with L what the vessel holds.");
    walk.press("up ` mm` enter");
    let asked = "0413 gauged at 223.2 L, where 224.7 L is expected: 1.5 L less. Press the same key again to confirm.";
    assert_eq!((walk.said(), barrel(&walk).volume()), (asked, barrel(&walk).capacity));
    walk.press("enter");
    assert_eq!(walk.said(), "0413 gauged.");
    let before = barrel(&walk);
    let missing = before.wood.lying().missing_share(30.0).unwrap() * before.capacity.as_litres();
    assert!((before.book_headspace().as_litres() - missing).abs() < 1e-5, "{:?}", before.book_headspace());
    assert!(walk.text(120, 30).contains("gauged at"), "{}", walk.text(120, 30));
    walk.press("g `900 mm` enter");
    assert!(walk.said().starts_with("A dip of 900 mm does not fit 0413"), "{}", walk.said());
    walk.press("esc esc g `212 L` enter enter");
    assert_eq!((walk.said(), barrel(&walk).volume()), ("0413 gauged.", barrelwalk::units::Volume::from_litres(212)));
    walk.press("g `1000 L` enter");
    assert!(walk.said().contains("0413 would hold 1000 L"), "{}", walk.said());
}

#[test]
fn a_round_is_walked_from_its_beginning_to_its_summary() {
    let mut walk = Walk::small();
    assert!(walk.text(80, 24).contains("b begin round"));

    walk.press("b enter enter");
    assert_eq!(walk.said(), "The round long 25 Nov 2026 has begun, topping from K1.");
    assert!(head(&walk).contains("0 of 33 done"), "{}", head(&walk));
    walk.press("x down enter");
    assert_eq!(walk.said(), "Topping from T1 now.");

    assert_eq!(walk.at_vessel(), "0401");
    walk.press("space");
    assert_eq!((walk.said(), walk.at_vessel()), ("0401 topped, 0.4 L.", "0402"));
    walk.press("`1.9` enter");
    assert_eq!((walk.said(), walk.at_vessel()), ("0402 topped, 1.9 L.", "0403"));
    walk.press("`0.3p` enter");
    // The barrel beside it is held and not walked to.
    assert_eq!((walk.said(), walk.at_vessel()), ("0403 topped, 300 mL, not to the brim.", "0405"));
    walk.press("r");
    assert_eq!((walk.said(), walk.at_vessel()), ("The rack: 2 topped, 1.0 L.", "0407"));
    walk.press("s");
    assert_eq!(walk.said(), "0407 skipped, and remembered.");
    walk.press("k");
    assert_eq!((walk.said(), walk.at_vessel()), ("The stack: 5 topped, 3.1 L.", "0413"));
    walk.press("t `14.5 plum, a little closed` enter");
    assert_eq!(walk.said(), "0413 tasted.");
    walk.press("h `seeps at the head` enter");
    assert_eq!(walk.said(), "0413 held.");
    walk.press("space");
    assert!(walk.said().contains("0413 is held: seeps at the head"), "{}", walk.said());
    // Litres that are typed ask for the reason; left by esc they are still there.
    walk.press("`1.2` enter");
    assert!(walk.text(80, 24).contains("0413 Despite the hold, why: _"), "{}", walk.text(80, 24));
    walk.press("esc");
    assert_eq!(walk.typed(), "1.2");
    walk.press("esc h `dried` enter");
    assert_eq!(walk.said(), "0413 freed.");
    walk.press("w `wedge is loose` enter e");
    let wants = "0423 is topped from K2. x, then enter, takes it.";
    assert!(walk.at_vessel() == "0423" && walk.said().ends_with(wants), "{}", walk.said());
    assert!(head(&walk).contains("18 of 33 done") && head(&walk).contains("1 in part"), "{}", head(&walk));
    assert!(head(&walk).contains("1 skipped") && head(&walk).contains("1 held"), "{}", head(&walk));

    walk.press("page-up");
    walk.press("`0407` enter");
    walk.press("space page-up e");
    assert!(walk.said().starts_with("Nothing is left to do in this row."), "{}", walk.said());
    walk.press("n e");
    assert!(walk.said().starts_with("Left out: 13 to top from K2 (0423, 0424, 0425, 10 more)."), "{}", walk.said());
    walk.press("x enter e");
    assert!(walk.said().starts_with("The row: 13 topped, "), "{}", walk.said());
    // What is left is the one that was not filled to the brim.
    assert_eq!(walk.at_vessel(), "0403");
    walk.press("space");
    assert!(walk.said().starts_with("0403 is topped from K1."), "{}", walk.said());
    walk.press("x enter space");
    assert!(walk.said().starts_with("0403 topped, "), "{}", walk.said());
    assert!(walk.said().ends_with(" Every barrel of this round is done. Press z to close it."), "{}", walk.said());
    walk.press("z");
    let summary = walk.text(80, 24);
    for line in ["33 of 33 barrels topped with", "K1 still holds", "1 held back", "enter closes the round"] {
        assert!(summary.contains(line), "{line}\n{summary}");
    }
    walk.press("enter");
    assert!(walk.said().starts_with("The round long 25 Nov 2026 is closed: 33 barrels, "), "{}", walk.said());
    // The one that is held.
    assert!(head(&walk).contains("0 due · 1 over"), "{}", head(&walk));
    walk.press("q");
    assert!(walk.model.finished);

    let kinds = kinds(&walk);
    let first = [
        "round_begun",
        "source_changed",
        "topped 0401",
        "topped 0402",
        "topped 0403",
        "topped 0405",
        "topped 0406",
        "skipped 0407",
    ];
    assert_eq!(kinds[..first.len()], first);
    assert_eq!(kinds.last().unwrap(), "round_ended");
    assert_eq!(kinds.iter().filter(|kind| kind.starts_with("topped")).count(), 34);
    let words: Vec<&String> = kinds.iter().filter(|kind| kind.ends_with("0413")).collect();
    assert_eq!(words, ["tasted 0413", "held 0413", "freed 0413", "topped 0413"]);
    assert!(kinds.contains(&"noted".to_owned()));
}

/// Of the clean ones the red go first, as the round began with red; then the white one; the suspect one is last. Where
/// another vessel is wanted the plan's is named, and x has chosen it already.
#[test]
fn the_walk_goes_as_the_plan_and_says_where_another_vessel_is_wanted() {
    let mut walk = Walk::mixed();
    walk.press("b enter enter space");
    assert_eq!((walk.said(), walk.at_vessel()), ("0401 topped, 0.4 L.", "0403"));
    // What comes next is not passed by without a word.
    walk.press("`0402` enter n");
    assert_eq!(walk.at_vessel(), "0403");
    for _ in 0..18 {
        walk.press("s");
    }
    assert_eq!(walk.at_vessel(), "0423");
    assert!(walk.said().ends_with("0423 is topped from K2. x, then enter, takes it."), "{}", walk.said());
    walk.press("x enter");
    assert_eq!((walk.said(), walk.at_vessel()), ("Topping from K2 now.", "0423"));
    for _ in 0..12 {
        walk.press("s");
    }
    assert_eq!(walk.at_vessel(), "0435");
    walk.press("n");
    assert_eq!(walk.said(), "0435 comes next: top it, or s skips it.");
    walk.press("s");
    let white = "0435 skipped, and remembered. W-01 is topped from KW. x, then enter, takes it.";
    assert_eq!((walk.said(), walk.at_vessel()), (white, "W-01"));
    walk.press("space");
    assert_eq!((walk.said(), walk.at_vessel()), ("W-01 is topped from KW. x, then enter, takes it.", "W-01"));
    walk.press("x enter");
    assert_eq!((walk.said(), walk.at_vessel()), ("Topping from KW now.", "W-01"));
    walk.press("`0.1` enter");
    let suspect = "W-01 topped, 100 mL. No clean barrel is left to do; the suspect ones follow. 0402 is topped from K1. \
                   x, then enter, takes it.";
    assert_eq!((walk.said(), walk.at_vessel()), (suspect, "0402"));
    walk.press("x enter space");
    assert!(walk.said().starts_with("0402 topped"), "{}", walk.said());
    assert_eq!(walk.at_vessel(), "0403");
}

#[test]
fn a_vessel_of_another_colour_than_the_first_barrel_is_said_at_once() {
    let mut walk = Walk::mixed();
    walk.press("tab tab b down down enter enter");
    let begun = "The round long 25 Nov 2026 has begun, topping from KW.";
    assert_eq!((walk.said(), walk.at_vessel()), (begun, "W-01"));
}

/// What the plan would take stands chosen: the wine of the first barrel's own lot, though another keg is fuller.
#[test]
fn the_lots_stand_below_the_vessels() {
    let mut walk = Walk::small();
    walk.press("b");
    let shown = walk.text(80, 24);
    assert!(shown.contains("▸ K1") && shown.contains("K1 for 20, then K2 for 13"), "{shown}");
    walk.press("page-down");
    let shown = walk.text(80, 24);
    assert!(shown.contains("of others may still come in") || shown.contains("no wine of another lot"), "{shown}");
    walk.press("page-up");
    assert!(walk.text(80, 24).contains("▸ K1"));
    // Where all is one list, page down goes down it.
    walk.press("esc / page-down");
    let find: &Find = walk.model.page().unwrap();
    assert!(find.chosen_among(&find.hits(&walk.model)) > Some(5), "{:?}", find.chosen);
}

/// The two leaks of the story that lie in this room, with the words of the card; on the floor the one that is not done.
#[test]
fn leaks_are_shown_on_the_floor_and_named_at_the_end() {
    let mut walk = Walk::demo();
    let floor = walk.text(80, 24);
    assert!(floor.contains("w26") && floor.contains("w weeps"), "{floor}");
    walk.press("`0381` enter");
    let said = "drinks 2.9 times what it should, since 29 Jun";
    let card = walk.text(160, 48);
    assert!(card.contains("drinks 2.9 times what it should, since"), "{card}");
    walk.press("z");
    let summary = walk.text(80, 24);
    assert!(summary.contains(&format!("0381 {said}")) && summary.contains("0161 drinks 2.9 times"), "{summary}");
    // Held is more than that.
    walk.press("esc");
    let weeping = |walk: &Walk| walk.text(80, 24).matches("w26").count();
    let before = weeping(&walk);
    walk.press("h `stave` enter");
    assert_eq!(weeping(&walk) + 1, before, "{}", walk.text(80, 24));
}

#[test]
fn what_is_typed_is_what_is_stored() {
    let mut walk = begun();
    walk.press("space `1,9` enter `.7p` enter `0` enter");
    let facts = walk.facts();
    assert_eq!(
        facts[1..],
        [
            topped("0401", 400_000, true),
            topped("0402", 1_900_000, true),
            topped("0403", 700_000, false),
            topped("0405", 0, true),
        ]
    );
    let round = walk.model.round().map(|round| walk.model.state.rounds.get(round)).unwrap();
    // The one that was topped in part is come back to.
    assert_eq!((round.topped, round.poured.as_ul()), (3, 3_000_000));
}

#[test]
fn undo_and_redo_say_what_they_do_and_go_there() {
    let mut walk = begun();
    walk.press("space r");
    assert_eq!(walk.at_vessel(), "0403");
    walk.press("u");
    assert_eq!((walk.said(), walk.at_vessel()), ("Undone: 0402 topped with 500 mL from T1.", "0402"));
    walk.press("u");
    assert_eq!((walk.said(), walk.at_vessel()), ("Undone: 0401 topped with 400 mL from T1.", "0401"));
    assert!(head(&walk).contains("0 of 33 done"), "{}", head(&walk));
    walk.press("y y");
    assert_eq!((walk.said(), walk.at_vessel()), ("Done again: 0402 topped with 500 mL from T1.", "0402"));
    walk.press("y");
    assert_eq!(walk.model.said.last().unwrap().tone, Tone::Refused);
    walk.press("n e u");
    assert!(walk.said().starts_with("Undone: 18 facts, the first: 0403 topped with"), "{}", walk.said());
    assert!(head(&walk).contains("2 of 33 done"), "{}", head(&walk));
}

#[test]
fn undo_goes_back_to_the_empty_cellar_and_redo_to_the_full_one() {
    let mut walk = begun();
    walk.press("`T1` enter");
    let before = walk.model.state.clone();
    let mut undone = 0;
    loop {
        walk.press("u");
        walk.text(80, 24);
        if walk.model.said.last().unwrap().tone == Tone::Refused {
            break;
        }
        undone += 1;
    }
    assert!(undone > 100);
    assert!(walk.model.state.rooms.is_empty() && walk.model.state.vessels.is_empty());
    assert_eq!(walk.model.cursor, None);
    for _ in 0..undone {
        walk.press("y");
        walk.text(80, 24);
        assert_eq!(walk.model.said.last().unwrap().tone, Tone::Done, "{}", walk.said());
    }
    assert!(walk.model.state.rooms == before.rooms && walk.model.state.rounds == before.rounds);
    assert!(walk.model.cursor.is_some());
}

#[test]
fn a_row_of_another_lot_waits_for_its_own_keg() {
    let mut walk = Walk::small();
    walk.press("b enter enter e");
    assert!(walk.said().starts_with("The row: 20 topped, "), "{}", walk.said());
    walk.press("e");
    assert_eq!(walk.model.said.last().unwrap().tone, Tone::Refused, "{}", walk.said());
    assert!(walk.said().contains("13 to top from K2"), "{}", walk.said());
    let before = walk.facts().len();
    walk.press("x enter e");
    assert!(walk.said().starts_with("The row:") || walk.said().starts_with("Every barrel"), "{}", walk.said());
    assert!(walk.facts().len() > before + 2);
}

#[test]
fn improbable_litres_are_asked_about_once_and_nothing_typed_is_lost() {
    let mut walk = begun();
    walk.press("`19` enter");
    assert_eq!(walk.said(), "19.0 L at 0401, where 0.4 L is expected. Press the same key again to confirm.");
    assert_eq!(walk.typed(), "19");
    assert!(walk.facts().len() == 1 && walk.text(80, 24).contains("19_"));
    walk.press("backspace backspace `1.9` enter");
    assert_eq!(walk.said(), "0401 topped, 1.9 L.");
    walk.press("`19` enter enter");
    assert_eq!(walk.said(), "0402 topped, 19.0 L.");
    // More than a barrel can have lost is refused, and stays typed.
    walk.press("`90` enter enter");
    assert_eq!((walk.model.said.last().unwrap().tone, walk.typed()), (Tone::Refused, "90"));
    walk.press("esc");
    assert_eq!(walk.typed(), "");
    assert_eq!(walk.facts().len(), 3);
}

#[test]
fn a_scanned_label_or_place_jumps_there_with_or_without_a_round() {
    for mut walk in [Walk::small(), begun()] {
        walk.press("`0417` enter");
        assert_eq!((walk.at_vessel(), walk.typed()), ("0417", ""));
        walk.press("`W-01` enter");
        assert_eq!(walk.at_vessel(), "W-01");
        walk.take(Message::Paste("long/A-03-2-b\n".to_owned()));
        assert_eq!(walk.at_vessel(), "0416");
        walk.press("`A-03-2-a` enter");
        assert_eq!(walk.at_vessel(), "0415");
        walk.press("`A-04-3-a` enter");
        assert_eq!(walk.at_vessel(), "");
        walk.press("`K2` enter");
        assert_eq!(walk.at_vessel(), "K2");
        walk.press("esc");
        assert_eq!(walk.at_vessel(), "");
        walk.take(Message::Paste("0405\r\n".to_owned()));
        assert_eq!(walk.at_vessel(), "0405");
        walk.take(Message::Paste("0406".to_owned()));
        assert_eq!((walk.at_vessel(), walk.typed()), ("0405", "0406"));
        walk.press("enter");
        assert_eq!(walk.at_vessel(), "0406");
    }
}

#[test]
fn what_is_nothing_stays_typed_with_what_is_near_it() {
    let mut walk = begun();
    walk.press("`041` enter");
    assert!(walk.said().starts_with("Nothing is called '041'; near it: 0410, 0411, 0412."), "{}", walk.said());
    assert_eq!(walk.typed(), "041");
    walk.press("backspace `17` enter");
    assert_eq!(walk.at_vessel(), "0417");
    walk.press("`K9` enter");
    assert_eq!((walk.said(), walk.typed()), ("Nothing is called 'K9'.", "K9"));
}

#[test]
fn a_wrong_key_loses_nothing() {
    let mut walk = begun();
    walk.press("`1.` left up tab delete ctrl-x `9`");
    assert_eq!(walk.typed(), "1.9");
    assert_eq!(walk.at_vessel(), "0401");
    walk.press("x enter");
    assert_eq!(walk.typed(), "1.9x");
    assert_eq!(walk.model.said.last().unwrap().tone, Tone::Refused);
    walk.press("backspace enter");
    assert_eq!(walk.said(), "0401 topped, 1.9 L.");
    walk.press("t `dull` left tab up F1 esc ctrl-x page-up `s` enter");
    assert_eq!(walk.said(), "0402 tasted.");
    assert!(walk.facts()[2].contains(r#""text":"dulls""#));
    walk.press("/ `04` left F1 esc tab `12` ctrl-x enter");
    assert_eq!(walk.at_vessel(), "0412");
}

#[test]
fn words_that_are_refused_stay_written() {
    let mut walk = Walk::small();
    walk.press("t `25 much too good` enter");
    assert_eq!(walk.model.said.last().unwrap().tone, Tone::Refused, "{}", walk.said());
    assert!(walk.model.page().is_some_and(|words: &Words| words.text == "25 much too good"));
    walk.press("esc esc h enter");
    assert!(walk.said().starts_with("Nothing is written yet."), "{}", walk.said());
    walk.take(Message::Paste("film\r\non the\tsurface\u{202e}".to_owned()));
    walk.press("enter");
    assert_eq!(walk.said(), "0401 held.");
    assert!(walk.facts()[0].contains(r#""why":"film  on the surface""#), "{:?}", walk.facts());
}

#[test]
fn a_taste_is_keys_and_a_fault_offers_a_hold() {
    let mut walk = Walk::small();
    walk.press("t `15 pl viol` tab `cs, a little thin` enter");
    assert_eq!(
        walk.facts(),
        [r#"tasted {"vessel":"0401","score":15.0,"marks":["plum","violet","closed"],"text":"a little thin"}"#]
    );
    assert!(walk.is_on_floor());
    // Left, it is only a taste.
    walk.press("t `9 br va` enter");
    assert!(walk.text(80, 24).contains("A fault: 0401 Brettanomyces, volatile acidity. Hold it?"));
    walk.press("esc");
    assert_eq!((walk.facts().len(), walk.is_on_floor()), (2, true));
    for (number, key) in [(3, "h"), (5, "enter")] {
        walk.press("right t `br` enter").press(key);
        assert_eq!(
            walk.facts().last().unwrap(),
            &format!(r#"held {{"vessel":"{}","why":"Brettanomyces"}}"#, walk.at_vessel())
        );
        assert_eq!((walk.facts().len(), walk.is_on_floor()), (number + 1, true));
    }
    // What is held already is not offered once more.
    walk.press("t `br` enter");
    assert!(walk.is_on_floor());
}

/// Everything that a screen of some size shows while glasses are tasted names no barrel.
fn assert_blind(walk: &Walk) {
    let labels = walk.model.state.vessels.iter().map(|(_, vessel)| vessel.label.to_string());
    for label in labels.collect::<Vec<_>>() {
        for (width, height) in [(80, 24), (160, 48), (60, 16)] {
            let shown = walk.text(width, height);
            assert!(!shown.contains(&label), "{label} can be read: {shown}");
        }
    }
}

#[test]
fn barrels_are_tasted_blind_and_opened_together() {
    let mut walk = Walk::small();
    for barrel in ["0401", "0402", "0404"] {
        walk.press(&format!("`{barrel}` enter +"));
    }
    walk.press(":bench");
    assert_blind(&walk);
    for line in ["15 pl", "25", "12 br, a little thin"] {
        walk.press(&format!("`{line}`"));
        assert_blind(&walk);
        walk.press("enter");
        assert_blind(&walk);
    }
    assert!(walk.said().is_empty() || !walk.said().contains("040"), "{}", walk.said());
    // The score beyond the scale is still written; it is made right.
    walk.press("backspace backspace backspace backspace backspace backspace");
    walk.press("esc");
    assert!(walk.text(80, 24).contains("0404"));
    assert_eq!(walk.facts(), Vec::<String>::new());
    walk.press(":bench");
    assert_blind(&walk);
}

#[test]
fn what_is_written_of_a_blind_glass_is_told_before_it_is_taken() {
    let mut walk = Walk::small();
    walk.press("`0401` enter + `0402` enter + :bench `14.5 pl, a little closed`");
    assert!(walk.text(80, 24).contains("✓ glass 1: 14.5, plum, \"a little closed\""), "{}", walk.text(80, 24));
    walk.press("esc `25`");
    assert!(walk.text(80, 24).contains("between 0 and 20"), "{}", walk.text(80, 24));
    assert_blind(&walk);
    walk.press("enter");
    assert!(walk.said().contains("between 0 and 20") && walk.facts().is_empty(), "{}", walk.said());
}

#[test]
fn the_numbers_are_opened_when_asked_twice() {
    let mut walk = Walk::small();
    walk.press("`0401` enter + `0402` enter + + + :bench `15 pl` enter enter down enter");
    assert!(walk.said().starts_with("1 not tasted yet."), "{}", walk.said());
    assert_eq!((walk.model.page::<Glasses>().is_some(), walk.facts().len()), (true, 0));
    walk.press("`9 br` enter enter enter");
    assert!(walk.model.page::<Opened>().is_some());
    let facts = walk.facts();
    assert_eq!(facts.iter().filter(|fact| fact.starts_with("tasted")).count(), 2, "{facts:?}");
    walk.press("esc");
    assert!(walk.text(80, 24).contains("Brettanomyces. Hold it?"));
    walk.press("enter u u");
    assert!(walk.model.state.vessels.by_label("0401").is_some_and(|vessel| vessel.taste.is_none()));
    assert!(
        walk.model
            .state
            .vessels
            .by_label("0402")
            .is_some_and(|vessel| vessel.taste.as_ref().unwrap().score == Some(14.5))
    );
}

/// However often a key goes down, the page stops where its end is in sight, and one key up goes up.
#[test]
fn a_page_stops_at_its_ends() {
    for page in ["?", "i", ":messages"] {
        let mut walk = Walk::small();
        walk.press(&format!("{page} end"));
        let end = walk.text(80, 24);
        walk.press("page-down down down");
        assert_eq!(walk.text(80, 24), end);
        walk.press("home");
        let start = walk.text(80, 24);
        walk.press("end page-up home up");
        assert_eq!(walk.text(80, 24), start);
        if page != ":messages" {
            assert_ne!(start, end);
            walk.press("end up");
            assert_ne!(walk.text(80, 24), end);
        }
    }
}

#[test]
fn a_list_has_a_first_and_a_last_line() {
    let mut walk = Walk::small();
    walk.press("/ end");
    let find: &Find = walk.model.page().unwrap();
    let hits = find.hits(&walk.model);
    assert_eq!(find.chosen_among(&hits), Some(hits.len() - 1));
    walk.press("home");
    assert!(walk.model.page().is_some_and(|find: &Find| find.chosen_among(&hits) == Some(0)));
}

#[test]
fn a_bench_needs_barrels() {
    let mut walk = Walk::small();
    walk.press("+ :bench");
    assert!(walk.said().starts_with("One barrel cannot be tasted blind."), "{}", walk.said());
    walk.press(":bench down enter");
    assert_eq!(walk.model.kept.get::<Bench>().map(|bench| bench.flight.impressions().len()), Some(10));
    assert_blind(&walk);
    // With nothing written enter lists what can be done: to reveal them.
    walk.press("enter down enter enter");
    assert!(walk.said().starts_with("Nothing was said of any glass"), "{}", walk.said());
    assert_eq!((walk.is_on_floor(), walk.model.kept.get::<Bench>()), (true, None));
}

#[test]
fn only_the_words_of_a_taste_are_completed() {
    let mut walk = Walk::small();
    walk.press("w `pl` tab");
    assert!(walk.said().starts_with("Only the words of a taste"), "{}", walk.said());
    walk.press("esc esc t `xyz` tab");
    assert!(walk.said().starts_with("No mark begins like that"), "{}", walk.said());
    assert!(walk.model.page().is_some_and(|words: &Words| words.text == "xyz"));
}

#[test]
fn a_session_that_was_left_goes_on_where_it_stopped() {
    let mut walk = begun();
    walk.press("space space s space q");
    let mut again = walk.reopened();
    assert_eq!(again.said(), "A round is under way here: go on where you stopped.");
    assert_eq!(again.typed(), "");
    assert!(head(&again).contains("3 of 33 done") && head(&again).contains("1 skipped"), "{}", head(&again));
    again.press("space u y z enter q");
    let facts = again.facts();
    assert_eq!(facts.last().map(|fact| fact.starts_with("round_ended")), Some(true));
    let once_more = walk.reopened();
    assert!(head(&once_more).contains("barrels with wine"), "{}", head(&once_more));
}

#[test]
fn facts_of_another_program_come_into_sight() {
    let mut walk = begun();
    walk.press("space `0417` enter `1.`");
    cellar::record(walk.path(), &[fact("11-24", r#""kind":"held","vessel":"0417","why":"smells of glue""#)]);
    walk.take(Message::Changed);
    assert!(walk.said().starts_with("Another program entered facts"), "{}", walk.said());
    assert_eq!((walk.at_vessel(), walk.typed()), ("0417", "1."));
    let shown = walk.text(80, 24);
    assert!(shown.contains("HELD since 24 Nov: smells") && shown.contains("1._"), "{shown}");
    let said = walk.model.said.len();
    walk.take(Message::Changed);
    assert_eq!(walk.model.said.len(), said, "nothing has changed");
    // Numbers of rooms and vessels may be others afterwards: the cursor stays with its place.
    let earlier = r#""kind":"room_laid_out","room":"annexe","rows":[{"row":"Z","stacks":1,"tiers":1,"sides":2}]"#;
    cellar::record(walk.path(), &[fact("08-01", earlier)]);
    walk.take(Message::Changed);
    assert_eq!(walk.at_vessel(), "0417");
    assert!(walk.text(80, 24).starts_with(" long"));
}

#[test]
fn what_another_program_changes_under_an_open_list_is_followed() {
    let mut walk = begun();
    walk.press("x up");
    let choice: &SourceChoice = walk.model.page().unwrap();
    let chosen = walk.model.state.vessels.get(choice.vessel().unwrap()).label.clone();
    let earlier = r#""kind":"vessel_registered","vessel":"K0","type":"keg","capacity_ul":50000000"#;
    cellar::record(walk.path(), &[fact("08-01", earlier)]);
    walk.take(Message::Changed);
    walk.press("enter");
    assert_eq!(walk.said(), format!("Topping from {chosen} now."));
}

#[test]
fn nothing_can_be_entered_where_only_reading_is_allowed() {
    let made = begun();
    let mut walk = Walk::at(made.path().to_owned(), Access::ReadOnly, morning);
    walk.press("space b u");
    assert!(walk.said().starts_with("The cellar is still being opened."), "{}", walk.said());
    walk.take(Message::Started);
    for key in ["space", "r", "k", "e", "s", "b", "z", "x", "t", "h", "w", "u", "y", "`1.9` enter esc"] {
        walk.press(key);
        assert!(walk.said().contains("open for reading only"), "{key}: {}", walk.said());
    }
    assert_eq!(made.facts().len(), 1);
    walk.press("c m ? esc / `0417` enter");
    assert_eq!(walk.at_vessel(), "0417");
}

#[test]
fn a_second_round_on_one_day_has_a_name_of_its_own() {
    let mut walk = begun();
    walk.press("space z enter b enter enter");
    assert_eq!(walk.said(), "The round long 25 Nov 2026 2 has begun, topping from K1.");
    walk.press("b");
    assert!(walk.said().contains("is under way here. Press z to close it first."), "{}", walk.said());
}

#[test]
fn rooms_have_rounds_of_their_own() {
    let mut walk = begun();
    walk.press("space tab");
    assert!(head(&walk).contains("4 barrels with wine"), "{}", head(&walk));
    walk.press("b enter enter");
    assert!(head(&walk).contains("from KW") && head(&walk).contains("0 of 3 done"), "{}", head(&walk));
    walk.press("e");
    assert!(head(&walk).contains("3 of 3 done"), "{}", head(&walk));
    walk.press("`0405` enter");
    assert!(head(&walk).contains("1 of 33 done"), "{}", head(&walk));
}
