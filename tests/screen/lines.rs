//! A line that is refused stays marked and swallows no later key: backspace edits it, another key starts anew, up brings it back.

use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::refusal::Refusal;
use barrelwalk::tui::core::acts::Acts;
use barrelwalk::tui::core::model::Tone;
use barrelwalk::tui::core::work::Answer;
use barrelwalk::tui::edge::screen::Message;
use barrelwalk::tui::finish::bottling::{BottlingPage, Field};
use barrelwalk::tui::floor::words::Words;

use crate::walk::Walk;

fn round() -> Walk {
    let mut walk = Walk::small();
    walk.press("b enter enter");
    walk
}

fn is_refused(walk: &Walk) -> bool {
    walk.model.said.last().is_some_and(|said| said.tone == Tone::Refused)
}

#[test]
fn after_a_refused_number_a_key_on_the_floor_is_a_key_again() {
    let mut walk = round();
    walk.press("`0999` enter");
    assert!(is_refused(&walk) && walk.text(80, 24).contains("[0999]"), "{}", walk.text(80, 24));
    // The bottom line names what can be pressed, as on an empty line.
    assert!(walk.text(80, 24).lines().last().unwrap().contains("s skip"), "{}", walk.text(80, 24));
    let here = walk.at_vessel().to_owned();
    walk.press("s");
    assert_eq!((walk.said(), walk.typed()), (format!("{here} skipped, and remembered.").as_str(), ""));
    // Words are words of a taste, and not of what was refused.
    walk.press("`0999` enter t `14.5 pl` enter");
    assert!(walk.facts().iter().any(|fact| fact.starts_with("tasted")), "{:?}", walk.facts());
}

#[test]
fn a_refused_number_is_edited_started_anew_or_brought_back() {
    let mut walk = round();
    walk.press("`0999` enter backspace");
    assert_eq!(walk.typed(), "099");
    walk.press("esc `0999` enter `1`");
    assert_eq!(walk.typed(), "1");
    walk.press("up");
    assert_eq!(walk.typed(), "0999");
    walk.press("up");
    assert_eq!(walk.typed(), "1");
    walk.press("esc `0999` enter up `8`");
    assert_eq!(walk.typed(), "09998", "up takes it back as it was typed");
    // Enter tries the same again, and esc clears it.
    walk.press("enter enter");
    assert_eq!(walk.typed(), "09998");
    walk.press("esc");
    assert_eq!(walk.typed(), "");
    // An arrow is an arrow again, and what is for one barrel does not go along to the next.
    let here = walk.at_vessel().to_owned();
    walk.press("`0999` enter right");
    assert_eq!(walk.typed(), "");
    assert_ne!(walk.at_vessel(), here);
}

#[test]
fn refused_words_of_a_taste_are_started_anew_and_brought_back() {
    let text = |walk: &Walk| walk.model.page::<Words>().map(|words| words.text.clone()).unwrap();
    let mut walk = Walk::small();
    walk.press("t `145 plum` enter");
    assert!(is_refused(&walk) && walk.text(80, 24).contains("[145 plum]"), "{}", walk.text(80, 24));
    walk.press("`1`");
    assert_eq!(text(&walk), "1");
    walk.press("up");
    assert_eq!(text(&walk), "145 plum");
    walk.press("enter backspace");
    assert_eq!(text(&walk), "145 plu");
}

#[test]
fn every_page_with_a_line_starts_anew_after_a_refusal() {
    for (keys, wrong, shown) in [
        ("/ `T1` enter d down enter", "99999", "[99999]"),
        ("/ `T1` enter :bench end enter enter", "a b: c: 1: 2", ""),
        ("/", "no such thing", "[no such thing]"),
        ("`W-01` enter d enter enter z", "a lot", "[a lot]"),
        (":bench enter", "99 too good", "[99 too good]"),
    ] {
        let mut walk = Walk::small();
        walk.press(keys).press(&format!("`{wrong}` enter"));
        if shown.is_empty() {
            continue;
        }
        assert!(is_refused(&walk), "{keys}: {}", walk.said());
        assert!(walk.text(80, 24).contains(shown), "{keys}: {}", walk.text(80, 24));
        walk.press("`7`");
        let page = walk.text(80, 24);
        assert!(!page.contains(&shown[1..shown.len() - 1]) && page.contains("7_"), "{keys}: {page}");
    }
}

#[test]
fn what_is_typed_stands_in_place_of_what_was_proposed() {
    let mut walk = crate::checklist::blended();
    walk.press("/ `T9` enter :bottle tab");
    let to = Field::RUN.iter().position(|field| *field == Field::Empties).unwrap();
    for _ in 0..to {
        walk.press("down");
    }
    assert!(walk.text(80, 24).contains("[no]"), "{}", walk.text(80, 24));
    walk.press("`yes`");
    let page: &BottlingPage = walk.model.page().unwrap();
    assert_eq!(page.form.text(Field::Empties), "yes");
    // What a person wrote is written on, and up goes to the line before.
    walk.press("up down `!`");
    let page: &BottlingPage = walk.model.page().unwrap();
    assert_eq!(page.form.text(Field::Empties), "yes!");
}

/// Enter that is pressed once too often lists what can be done, and nothing more: a further enter does nothing, and a figure that is typed
/// then is on the page again.
#[test]
fn what_is_typed_into_the_list_by_habit_is_typed_on_the_page() {
    let mut walk = round();
    walk.press("`1.2` enter enter");
    assert!(walk.model.page::<Acts>().is_some());
    let facts = walk.facts();
    walk.press("enter");
    assert!(walk.said().starts_with("Nothing is chosen"), "{}", walk.said());
    assert!(walk.model.page::<Acts>().is_some() && walk.facts() == facts);
    let here = walk.at_vessel().to_owned();
    walk.press("`2.1`");
    assert!(walk.is_on_floor() && walk.typed() == "2.1", "{}", walk.text(80, 24));
    walk.press("enter");
    assert!(walk.facts().last().unwrap().contains(&format!(r#""vessel":"{here}""#)), "{:?}", walk.facts());
    // Where nothing is measured a digit is the number of a line, and a scanned label still a label.
    let mut walk = Walk::small();
    walk.press("enter `0405` enter");
    assert_eq!(walk.at_vessel(), "0405");
    walk.press("enter `12`");
    assert_eq!(walk.typed(), "12");
    walk.press("esc enter `1` enter");
    assert!(!walk.model.page::<Acts>().is_some_and(|_| true), "{}", walk.text(80, 24));
}

#[test]
fn what_the_desk_refuses_is_told_with_what_may_be_meant() {
    let mut walk = Walk::small();
    let unknown = Refusal::UnknownVessel(Label::new("0404b").unwrap());
    walk.take(Message::Answer(Answer::Refused(unknown.into())));
    assert!(walk.said().starts_with("No vessel is called '0404b'. Check the label"), "{}", walk.said());
    assert!(walk.said().contains(" Did you mean '0404'"), "{}", walk.said());
}

/// A scanner writes a label with enter behind it: the floor takes it, every other page shows what came first.
#[test]
fn what_is_pasted_with_enter_behind_it_is_looked_at_first_everywhere_but_on_the_floor() {
    for (keys, text) in [
        ("/", "0405"),
        ("t", "14.5 pl"),
        ("b enter enter z", ""),
        ("tab :count down", "212"),
        ("/ `T1` enter d down enter", "90"),
        ("/ `T1` enter :bottle tab", "W9"),
        ("/ `T1` enter :checklist n s", "film"),
        (":ledger", ""),
    ] {
        let mut walk = Walk::small();
        walk.press(keys);
        let facts = walk.facts();
        walk.take(Message::Paste(format!("{text}\r\n")));
        assert_eq!(walk.facts(), facts, "{keys}");
        let said = if text.is_empty() { "so nothing is pasted" } else { "not taken yet" };
        assert!(walk.said().contains(said), "{keys}: {}", walk.said());
        let written = walk.model.pages.top().and_then(|page| page.written()).unwrap_or_default();
        assert!(written.ends_with(text), "{keys}: {written}");
    }
}

/// Where letters are words a question mark is one of them, unless it comes first: F1 belongs to some terminals themselves.
#[test]
fn a_question_mark_that_comes_first_asks_for_the_help() {
    let pages = ["w", "t", "h", "g", "/", "/ `T1` enter :bottle", "/ `T1` enter :bench down down enter"];
    for keys in pages {
        let mut walk = Walk::small();
        walk.press(keys);
        let before = walk.text(80, 24);
        assert!(before.trim_end().ends_with("? help"), "{keys}: {before}");
        walk.press("?");
        assert!(walk.text(80, 24).contains("Help: "), "{keys}: {}", walk.text(80, 24));
        walk.press("esc");
        assert_eq!(walk.text(80, 24), before, "{keys}");
    }
    let mut walk = Walk::small();
    walk.press("w `why?`");
    assert!(walk.text(80, 24).contains("why?_"), "{}", walk.text(80, 24));
    assert!(walk.text(80, 24).trim_end().ends_with("F1 help"), "{}", walk.text(80, 24));
    walk.press("F1");
    assert!(walk.text(80, 24).contains("Help: "), "{}", walk.text(80, 24));
    walk.press("esc");
    assert!(walk.text(80, 24).contains("why?_"), "{}", walk.text(80, 24));
}

#[test]
fn an_arrow_that_goes_nowhere_and_enter_without_a_list_are_not_told_as_keys() {
    let mut walk = Walk::small();
    walk.press("w down");
    assert_eq!(walk.said(), "There is no line to go to here.");
    walk.press("esc p").comes();
    walk.press("?");
    let help = walk.text(80, 24);
    assert!(!help.contains("Lists what can be done here."), "{help}");
    // With its chapter of the guide it goes on below.
    walk.press("down");
    assert_ne!(walk.text(80, 24), help);
}

#[test]
fn what_is_too_long_for_the_lines_of_a_message_ends_with_a_mark() {
    let mut walk = Walk::small();
    walk.model
        .say("This barrel and all that stand beside it are held by the cellar's own rule. ".repeat(16), Tone::Notice);
    let shown = walk.text(80, 24);
    assert!(
        shown.lines().any(|line| line.starts_with("   ") && line.trim_end().ends_with("… (all of it: / messages)")),
        "{shown}"
    );
    walk.model.say("Short.", Tone::Notice);
    assert!(walk.text(80, 24).contains(" ! Short.\n") || walk.text(80, 24).contains(" ! Short. "));
}
