//! A physical count at the screen: typed blind, left and gone on with, compared, booked with a reason.

use barrelwalk::cellar::core::label::{Label, Text};
use barrelwalk::cellar::jobs::books::counting::keeping::Scope;
use barrelwalk::desk::{Access, Desk};
use barrelwalk::tui::books::counting::{CountPage, Spot};
use barrelwalk::tui::bottles::bins::Bins;
use barrelwalk::tui::edge::screen::{Message, Screen};
use barrelwalk::units::{Volume, VolumeUnit};

use crate::cellar;
use crate::pictures::{keep, keep_both};
use crate::support::sizes::every_size;
use crate::walk::Walk;

/// A count of the vault, which holds four barrels of wine and an empty one.
fn vault(keys: &str) -> Walk {
    let mut walk = Walk::small();
    walk.press("tab :count").press(keys);
    walk
}

fn volume(walk: &Walk, label: &str) -> Volume {
    walk.model.state.vessels.by_label(label).unwrap().volume()
}

fn chosen(walk: &Walk) -> String {
    match walk.model.page() {
        Some(CountPage { chosen: Some(Spot::Vessel(label)), .. }) => label.to_string(),
        other => panic!("{other:?}"),
    }
}

fn counted(walk: &Walk) -> usize {
    walk.model.state.counts.iter().map(|(_, count)| count.vessels.len()).sum()
}

#[test]
fn a_count_from_its_beginning_to_the_comparison() {
    let mut walk = vault("");
    keep(&walk, "count-begun");
    walk.press("space `219.5` enter `30 mm`");
    keep_both(&walk, "count-under-way");
    walk.press("enter space");
    keep(&walk, "count-nearly-done");
    walk.press("`0` enter");
    assert!(walk.said().contains("Everything here is counted"), "{}", walk.said());
    keep(&walk, "count-compared");
}

#[test]
fn the_book_is_not_shown_before_the_comparison() {
    let mut walk = vault("");
    let book = volume(&walk, "W-01").show(VolumeUnit::Litre, 1);
    walk.model.said.clear();
    for (width, height) in [(80, 24), (160, 48)] {
        let text = walk.text(width, height);
        assert!(text.contains("W-01") && !text.contains(&book) && !text.contains("lacks"), "{book}: {text}");
    }
}

#[test]
fn differences_are_booked_with_a_reason_that_is_kept_and_undone_at_once() {
    let mut walk = vault("`200` enter");
    let before = volume(&walk, "W-01");
    assert_eq!(walk.facts().iter().filter(|fact| fact.starts_with("count")).count(), 2, "begun and counted");
    walk.press("tab enter");
    assert!(walk.said().contains("Say why the book is put right"), "{}", walk.said());
    walk.press("`stock count, seep at the head` enter");
    assert!(walk.said().contains("W-01 gauged at 200.0 L, where 22"), "{}", walk.said());
    assert_eq!(volume(&walk, "W-01"), before, "it is asked once");
    walk.press("enter");
    assert_eq!(volume(&walk, "W-01"), Volume::from_litres(200), "{}", walk.said());
    assert!(walk.is_on_floor());
    let mut noted = Vec::new();
    let desk = Desk::open(walk.path(), Access::ReadOnly).unwrap();
    desk.export(None, &mut |line| {
        noted.extend(line.note.clone().filter(|_| line.kind == "gauged"));
        Ok(())
    })
    .unwrap();
    assert_eq!(noted.last().map(Text::as_str), Some("stock count, seep at the head"));
    walk.press("u");
    assert_eq!(volume(&walk, "W-01"), before, "{}", walk.said());
    walk.press("tab tab :count");
    assert!(walk.said().contains("This count is under way"), "{}", walk.said());
}

#[test]
fn a_count_is_left_and_gone_on_with_by_another_program() {
    let walk = vault("space space");
    assert_eq!(chosen(&walk), "W-03");
    let mut again = walk.reopened();
    again.press("tab :count");
    assert_eq!((chosen(&again), counted(&again)), ("W-03".to_owned(), 2), "{}", again.said());
    again.press("space u");
    let at = (chosen(&again), counted(&again));
    assert_eq!(at, ("W-03".to_owned(), 2), "one stands at what was taken back: {}", again.said());
    again.press("delete u");
    assert_eq!((counted(&again), again.model.state.counts.len()), (0, 0), "the count had begun with its first figure");
}

#[test]
fn what_cannot_be_counted_is_said() {
    let mut walk = vault("");
    for (keys, part) in [
        ("`0999`", "Nothing is called '0999' here"),
        ("`0402`", "0402 does not lie in vault"),
        ("`900`", "Check the volume"),
        ("`900 mm`", "900"),
        ("`2.2.2`", "is not a number of litres"),
    ] {
        walk.press(keys).press("enter");
        assert!(walk.said().contains(part), "{keys}: {}", walk.said());
        walk.press("esc");
    }
    walk.press("tab");
    assert!(walk.said().contains("Nothing is counted yet"), "{}", walk.said());
    assert_eq!(counted(&walk), 0);
    walk.press("`W-03` enter");
    assert_eq!(chosen(&walk), "W-03");
    walk.press("space tab tab enter down enter enter");
    assert!(walk.said().contains("Nothing of 'count vault 25 Nov 2026' would be booked."), "{}", walk.said());
    walk.press("`nobody may enter the vault` enter");
    assert!(walk.said().contains("is closed; nothing was booked"), "{}", walk.said());
}

#[test]
fn the_bottles_of_a_store_are_counted_by_bin() {
    let mut walk = Walk::bottled();
    walk.press(":bins enter `count` enter");
    for (width, height) in [(80, 24), (160, 48)] {
        let text = walk.text(width, height);
        let codes = ["L261", "L262", "W261"];
        assert!(text.contains("16 of 16 still to count") && codes.iter().all(|code| !text.contains(code)), "{text}");
    }
    // Letters are words there, and no keys: the list names none.
    walk.press("enter");
    let list = walk.text(80, 24);
    let next = list.lines().find(|line| line.contains("The next that is not counted")).unwrap();
    assert!(!next.contains(" n "), "{next}");
    walk.press("esc");
    // Of which lot code they are is said once and then stays, whatever lies there on paper.
    walk.press("`399` enter");
    assert!(walk.said().contains("Say which lot code lies in cave/A-01"), "{}", walk.said());
    walk.press("`L261 399` enter `196` enter");
    assert!(walk.said().contains("cave/A-02 is counted: 196 of L261."), "{}", walk.said());
    keep(&walk, "count-bottles");
    walk.press("`L262 92` enter `empty` enter");
    assert!(walk.said().contains("cave/A-04 is counted: empty."), "{}", walk.said());
    walk.press("`A-05` enter `W261 12` enter");
    assert!(walk.said().contains("cave/A-05 is counted: 12 of W261."), "{}", walk.said());
    // What lies there on paper and was not found counts as none, and the page does not say which it was.
    walk.press("`B-02` enter `0` enter");
    let count = walk.model.state.counts.iter().next_back().unwrap().1;
    let at_b2 =
        count.bottles.iter().filter(|its| its.place.as_ref().is_some_and(|place| place.as_str() == "cave/B-02"));
    assert_eq!(at_b2.map(|its| its.found).collect::<Vec<_>>(), [0, 0]);
    assert!(
        walk.text(80, 24).lines().any(|line| line.contains("cave/B-02") && line.contains("empty")),
        "{}",
        walk.text(80, 24)
    );
    walk.press("`B-02` enter `L262 40` enter tab");
    keep(&walk, "count-bottles-compared");
    walk.press("`stock count` enter");
    assert!(walk.model.page::<Bins>().is_some(), "back on the map");
    let there = |place: &str| walk.model.state.bin(&Label::new(place).unwrap()).bottles();
    assert_eq!(["cave/A-01", "cave/A-02", "cave/A-03", "cave/A-05"].map(there), [399, 196, 92, 12], "{}", walk.said());
}

#[test]
fn a_count_is_drawn_at_every_size() {
    for keys in ["", "space tab", "`2`"] {
        let walk = vault(keys);
        every_size(|frame| walk.model.draw(frame));
    }
}

/// The verdicts of what is counted, by the vessel's label.
fn verdicts(walk: &Walk) -> Vec<(String, &'static str)> {
    let count = walk.model.state.counts.iter().next_back().unwrap().1;
    let label = |id| walk.model.state.vessels.get(id).label.to_string();
    count.vessels.values().map(|its| (label(its.vessel), its.words())).collect()
}

#[test]
fn a_rack_a_stack_or_a_row_costs_one_key() {
    let mut walk = Walk::demo();
    walk.press("tab :count");
    let room = walk.model.room().unwrap();
    assert_eq!(walk.model.state.lines_to_count(Scope::Room(room)).len(), 52, "barrels of the cave");
    walk.press("r");
    assert_eq!(counted(&walk), 2, "{}", walk.said());
    assert!(walk.said().contains("2 counted full, as it should be"), "{}", walk.said());
    walk.press("k");
    let stack = counted(&walk);
    walk.press("e");
    let row = counted(&walk);
    assert!(stack > 2 && row > stack, "{stack} {row}");
    walk.press("u");
    assert_eq!(counted(&walk), stack, "one act is undone at once");
    let mut keys = 0;
    while !walk.said().contains("Everything here is counted") && keys < 20 {
        walk.press("e");
        keys += 1;
    }
    assert_eq!(counted(&walk), 52);
    assert!(keys <= 6, "{keys} keys");
    let new = verdicts(&walk).iter().filter(|(_, words)| *words == "not in the book").count();
    assert_eq!(new, 15, "what the book has empty was said to be full");
    assert_eq!(verdicts(&walk).iter().filter(|(_, words)| *words == "as expected").count(), 37);
    let first = |walk: &Walk| walk.text(80, 24).contains("52 vessels counted");
    assert!(first(&walk));
    walk.press("page-down");
    assert!(!first(&walk), "the comparison goes on below");
    walk.press("page-up");
    assert!(first(&walk));
}

#[test]
fn what_is_typed_is_said_of_a_whole_row_too() {
    let walk = vault("`0` e");
    let lying = counted(&walk);
    assert!(lying >= 5, "{lying}");
    assert!(walk.said().contains("counted as typed"), "{}", walk.said());
    let mut walk = vault("`30 mm` r");
    assert!(counted(&walk) >= 1, "{}", walk.said());
    // Letters of a label are letters.
    walk.press("`W-03` enter");
    assert_eq!(chosen(&walk), "W-03");
    walk.press("`x`");
    assert!(counted(&walk) < 5 && walk.said().contains("does nothing here"), "{}", walk.said());
}

#[test]
fn a_tank_is_measured() {
    let mut walk = Walk::small();
    walk.press("`T1` enter :count `T1` enter space");
    assert!(
        walk.said().contains("T1 is not kept full and is dipped, not ticked: type what is there, in litres."),
        "{}",
        walk.said()
    );
    walk.press("r");
    assert!(walk.said().contains("lies in no rack"), "{}", walk.said());
    assert_eq!(counted(&walk), 0);
}

/// Nobody can tell from the page what the book has empty.
#[test]
fn the_blind_page_shows_all_vessels_alike() {
    let walk = vault("");
    for (width, height) in [(80, 24), (60, 20), (160, 48)] {
        let text = walk.text(width, height);
        assert!(!text.contains("with wine") && !text.contains("empty") && !text.contains("Terrace"), "{text}");
        let words = |label: &str| text.lines().find(|line| line.contains(label)).unwrap().split_whitespace().count();
        let all: Vec<usize> = ["W-02", "W-03", "W-04", "W-05"].map(words).to_vec();
        assert!(all.iter().all(|words| words == &all[0]), "{all:?} {text}");
    }
}

#[test]
fn wine_that_the_book_does_not_have_is_asked_for_its_lot() {
    let new = |walk: &Walk| verdicts(walk).into_iter().find(|(_, words)| *words == "not in the book").unwrap().0;
    let mut walk = vault("e");
    let label = new(&walk);
    walk.press("tab tab `stock count` enter");
    assert!(walk.said().contains(&format!("On paper there is no wine in {label}. Type its lot")), "{}", walk.said());
    keep(&walk, "count-found");
    walk.press("`nothing` enter");
    assert!(walk.said().contains("No lot is called 'nothing'"), "{}", walk.said());
    walk.press("`M26 Uper Terrace` enter");
    assert!(walk.said().ends_with("books it as found. Did you mean 'M26 Upper Terrace'?"), "{}", walk.said());
    walk.press("esc esc");
    assert!(walk.model.page::<CountPage>().is_some_and(|page| page.text == "stock count"), "back at the reason");
    walk.press("enter enter");
    let state = &walk.model.state;
    let vessel = state.vessels.by_label(&label).unwrap();
    assert_eq!(vessel.lot.map(|lot| state.lots.get(lot).label.to_string()).as_deref(), Some("found"));
    assert_eq!(vessel.volume(), vessel.capacity, "{}", walk.said());
    walk.press("u");
    assert!(volume(&walk, &label).is_zero() && walk.model.state.lots.find("found").is_none(), "{}", walk.said());
}

/// Another program's facts never move what is chosen under the hand.
#[test]
fn what_is_chosen_stays_chosen_while_another_program_writes() {
    let mut walk = vault("down `212`");
    assert_eq!(chosen(&walk), "W-02");
    record_and_look(&mut walk, r#""kind":"vessel_registered","vessel":"W-00","type":"barrel","capacity_ul":225000000"#);
    record_and_look(&mut walk, r#""kind":"vessel_placed","vessel":"W-01","place":null"#);
    record_and_look(&mut walk, r#""kind":"vessel_placed","vessel":"W-00","place":"vault/G-01-1-a""#);
    walk.press("enter");
    let count = walk.model.state.counts.iter().next().unwrap().1;
    let labels: Vec<_> = count.vessels.keys().map(|&id| walk.model.state.vessels.get(id).label.as_str()).collect();
    assert_eq!(labels, ["W-02"]);
    walk.press("`W-02` enter");
    record_and_look(&mut walk, r#""kind":"vessel_placed","vessel":"W-02","place":null"#);
    walk.press("`200` enter");
    assert!(walk.said().contains("W-02 is not to be counted here any more"), "{}", walk.said());
    assert_eq!(counted(&walk), 1, "nothing else is taken for it");
}

fn record_and_look(walk: &mut Walk, rest: &str) {
    cellar::record(walk.path(), &[cellar::fact("11-24", rest)]);
    walk.take(Message::Changed);
}
