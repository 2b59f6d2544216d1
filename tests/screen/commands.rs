//! The table of commands: each can be reached, each that is hindered says why, and no keys in any order break anything.

use barrelwalk::tui::books::counting::CountPage;
use barrelwalk::tui::core::model::{Model, Tone};
use barrelwalk::tui::core::page::Offer;
use barrelwalk::tui::core::sense::{SENSES, Sense};
use barrelwalk::tui::edge::screen::Message;
use barrelwalk::tui::floor::find::{Find, Found};
use barrelwalk::tui::floor::words::Matter;
use barrelwalk::tui::rooms::HOUSE;
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use proptest::prelude::*;

use crate::walk::{Walk, drawn, resized};

fn plain(code: KeyCode) -> KeyEvent {
    KeyEvent::new(code, KeyModifiers::NONE)
}

/// What can be done on the floor, as it stands now.
fn on_the_floor(walk: &Walk) -> Vec<Offer> {
    walk.model.pages.lowest().unwrap().offers(&walk.model)
}

/// The same, as far as it has a key.
fn by_key(walk: &Walk) -> impl Iterator<Item = (Offer, KeyCode)> {
    on_the_floor(walk).into_iter().filter_map(|offer| offer.sense.map(|sense| (offer, sense.key())))
}

/// What has no key is chosen in the list, which enter opens, or in the find box.
#[test]
fn what_can_be_done_on_the_floor_stands_in_the_list_and_in_the_find_box() {
    let mut walk = Walk::small();
    for offer in on_the_floor(&walk) {
        let find = Find::of(&walk.model, offer.title);
        let first = find.hits(&walk.model).into_iter().next().unwrap();
        assert_eq!(first.found, Found::Act(offer.title), "{}", offer.title);
    }
    for way in HOUSE.ways() {
        let find = Find::of(&walk.model, way.title);
        let first = find.hits(&walk.model).into_iter().next().unwrap();
        assert_eq!(first.found, Found::Way(way.title));
    }
    walk.press("enter `count` enter");
    assert!(walk.model.page::<CountPage>().is_some(), "{:?}", walk.model.pages.top());
}

#[test]
fn every_command_of_the_floor_stands_in_the_help() {
    let mut walk = Walk::small();
    let offers = on_the_floor(&walk);
    walk.press("?");
    let page: String = drawn(&walk.model, 120, 110).content.iter().map(ratatui::buffer::Cell::symbol).collect();
    for offer in offers {
        let words = offer.help.split(' ').take(4).collect::<Vec<_>>().join(" ");
        assert!(page.contains(&words), "{}", offer.title);
    }
}

/// Walks in every situation that commands tell apart.
fn situations() -> Vec<(&'static str, Walk)> {
    let mut empty = Walk::empty();
    empty.press("esc");
    let mut situations = vec![("empty", empty), ("small", Walk::small())];
    for (name, keys) in [
        ("round", "b enter enter"),
        ("all done", "b enter enter e n e"),
        ("held", "b enter enter `0404` enter"),
        ("empty barrel", "b enter enter `0419` enter"),
        ("no barrel", "b enter enter `A-04-3-a` enter"),
        ("keg", "b enter enter `K2` enter"),
        ("of another room", "b enter enter `W-01` enter"),
        ("gone", "/ `0502` esc esc `0502` enter"),
    ] {
        let mut walk = Walk::small();
        walk.press(keys);
        situations.push((name, walk));
    }
    situations
}

#[test]
fn the_bottom_line_always_shows_find_and_help_on_the_floor() {
    for (name, walk) in situations() {
        for width in 60..=200 {
            let text = walk.text(width, 24);
            let bar = text.lines().last().unwrap();
            assert!(bar.contains("/ find  ? help"), "{name} at {width}: {bar}");
        }
    }
}

#[test]
fn the_bottom_line_names_only_what_can_be_done() {
    for (name, walk) in situations() {
        let text = walk.text(200, 24);
        let bar = text.lines().last().unwrap();
        for (offer, _) in by_key(&walk) {
            let (Some(word), Some(_)) = (&offer.word, &offer.why_not) else { continue };
            assert!(!bar.contains(&format!(" {word}  ")), "{name}: {word} in {bar}");
        }
    }
}

#[test]
fn what_is_hindered_gives_a_sentence_and_does_nothing() {
    let mut hindered = 0;
    for (name, mut walk) in situations() {
        for (offer, key) in by_key(&walk).collect::<Vec<_>>() {
            let Some(why) = offer.why_not else { continue };
            hindered += 1;
            assert!(why.ends_with('.') && why.len() > 15, "{name}, {}: {why}", offer.title);
            let facts = walk.facts().len();
            walk.take(Message::Key(plain(key)));
            assert_eq!((walk.said(), walk.model.said.last().unwrap().tone), (why.as_str(), Tone::Refused));
            assert_eq!(walk.facts().len(), facts, "{name}, {}", offer.title);
        }
    }
    assert!(hindered > 40);
}

#[test]
fn a_command_that_is_not_hindered_does_something_or_says_something() {
    let walking = [KeyCode::Left, KeyCode::Right];
    for (offer, key) in by_key(&Walk::small()).filter(|(_, key)| !walking.contains(key)) {
        for (name, mut walk) in situations() {
            walk.model.said.clear();
            let before = (walk.text(120, 40), walk.model.finished);
            walk.take(Message::Key(plain(key)));
            let after = (walk.text(120, 40), walk.model.finished);
            assert!(before != after, "{name}: {} changes nothing that can be seen", offer.title);
        }
    }
}

#[test]
fn every_line_of_words_has_its_question() {
    for about in [Matter::Taste, Matter::Gauge, Matter::Hold, Matter::Free, Matter::Note] {
        assert!(!about.question().is_empty());
    }
}

/// A key as a hand in a glove may hit it: mostly those that mean something.
pub fn any_key() -> impl Strategy<Value = KeyEvent> {
    let senses = SENSES.iter().filter(|(sense, ..)| *sense != Sense::Leave).map(|(_, key, _)| *key);
    let known: Vec<KeyCode> = senses.collect();
    let code = prop_oneof![
        6 => prop::sample::select(known),
        4 => prop::sample::select("0123456789.,pABKW-/ ".chars().map(KeyCode::Char).collect::<Vec<_>>()),
        3 => Just(KeyCode::Enter),
        1 => any::<char>().prop_map(KeyCode::Char),
        1 => prop::sample::select(vec![KeyCode::F(5), KeyCode::Delete, KeyCode::Insert, KeyCode::BackTab, KeyCode::Null]),
    ];
    let modifiers = prop_oneof![
        12 => Just(KeyModifiers::NONE),
        1 => Just(KeyModifiers::SHIFT),
        1 => Just(KeyModifiers::ALT),
    ];
    (code, modifiers).prop_map(|(code, modifiers)| KeyEvent::new(code, modifiers))
}

#[derive(Clone, Debug)]
enum Happening {
    Key(KeyEvent),
    Resize(u16, u16),
    Paste(String),
    Changed,
}

fn any_happening() -> impl Strategy<Value = Happening> {
    prop_oneof![
        30 => any_key().prop_map(Happening::Key),
        2 => (0_u16..140, 0_u16..50).prop_map(|(width, height)| Happening::Resize(width, height)),
        1 => ".{0,20}".prop_map(Happening::Paste),
        1 => Just(Happening::Paste("0417\r".to_owned())),
        1 => Just(Happening::Changed),
    ]
}

/// What must hold whatever happened.
fn check(model: &Model, size: (u16, u16)) {
    drawn(model, size.0, size.1);
    if let Some(cursor) = model.cursor {
        assert!(cursor.slot(&model.state).is_some(), "{cursor:?} is in no room");
    }
    if let Some(find) = model.page::<Find>() {
        let hits = find.hits(model);
        assert!(find.chosen_among(&hits).is_none_or(|at| at < hits.len()));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, max_shrink_iters: 200, ..ProptestConfig::default() })]

    #[test]
    fn any_keys_in_any_order_at_any_size_break_nothing(happenings in prop::collection::vec(any_happening(), 1..250)) {
        let mut walk = Walk::small();
        let mut size = (80, 24);
        for happening in happenings {
            match happening {
                Happening::Key(key) => walk.take(Message::Key(key)),
                Happening::Paste(text) => walk.take(Message::Paste(text)),
                Happening::Changed => walk.take(Message::Changed),
                Happening::Resize(width, height) => {
                    size = (width, height);
                    walk.take(resized(width, height));
                }
            }
            check(&walk.model, size);
        }
        // What is on the screen is what is on disk.
        let again = walk.reopened();
        prop_assert!(again.model.state == walk.model.state);
        prop_assert!(walk.owns_its_cellar() && !again.owns_its_cellar());
    }
}
