//! A damaged fact is said on the screen, whole, at the opening or beside the work; it is left out, and nothing can be entered any more.

use std::fs;
use std::path::{Path, PathBuf};

use barrelwalk::desk::{Access, Desk};
use barrelwalk::tui::core::work::Answer;
use barrelwalk::tui::edge::screen::Message;
use rusqlite::Connection;

use crate::cellar::{later, morning};
use crate::picture::{Told, picture};
use crate::support::damage::without_guards;
use crate::walk::Walk;

/// What lies beside a cellar.
fn beside(path: &Path, ending: &str) -> PathBuf {
    PathBuf::from(format!("{}{ending}", path.display()))
}

/// Flips one bit of the file, as a failing disk does: the newest topping that says its amount but once is given another amount.
/// It is read from its beginning, for a snapshot knows nothing of the disk.
fn flip_a_bit_of_a_topping(path: &Path) {
    let connection = Connection::open(path).unwrap();
    connection.execute_batch("PRAGMA wal_checkpoint(TRUNCATE)").unwrap();
    let select = "SELECT body FROM facts WHERE kind = 'topped' ORDER BY position DESC";
    let bodies: Vec<String> = {
        let mut statement = connection.prepare(select).unwrap();
        let rows = statement.query_map([], |row| row.get(0)).unwrap();
        rows.collect::<Result<_, _>>().unwrap()
    };
    drop(connection);
    let mut bytes = fs::read(path).unwrap();
    let places = |body: &str| {
        let body = body.as_bytes();
        let found = bytes.windows(body.len()).enumerate().filter(|(_, window)| *window == body);
        found.map(|(at, _)| at).collect::<Vec<_>>()
    };
    let only = |body: &String| <[usize; 1]>::try_from(places(body)).ok().map(|[at]| (at, body.clone()));
    let (at, body) = bodies.iter().find_map(only).unwrap();
    let amount = body.find("\"volume_ul\":").unwrap() + "\"volume_ul\":".len();
    let digits = body[amount..].bytes().take_while(u8::is_ascii_digit).count();
    bytes[at + amount + digits - 1] ^= 1;
    fs::write(path, bytes).unwrap();
    let _ = fs::remove_file(beside(path, "-snapshot"));
}

/// The screen of a cellar as it is opened by a program that is started later.
fn opened(path: &Path) -> Walk {
    let mut walk = Walk::at(path.to_owned(), Access::ReadWrite, morning);
    walk.take(Message::Started);
    walk
}

/// Keeps a picture, in which the laptop has a name that is not random.
fn keep(walk: &Walk, name: &str) {
    let said = walk.said();
    let device = said.split("fact ").nth(2).and_then(|named| named.split([' ', ')']).nth(2)).unwrap();
    let drawn = picture(&walk.drawn(80, 24), walk.model.looks.theme, Told::Telling);
    let pictured = drawn.replace(device, &"d-4f1c9a70b2e8d356".repeat(2)[..device.len()]);
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(format!("{name}-80x24"), pictured);
    });
}

fn assert_is_whole(walk: &Walk) {
    let words: String = walk.text(80, 24).split_whitespace().collect();
    let whole: String = walk.said().split_whitespace().collect();
    assert!(words.contains(&whole), "{}\n{}", walk.said(), walk.text(80, 24));
}

fn assert_nothing_can_be_entered(walk: &mut Walk, facts: i64) {
    for key in ["space", "u", "t", "b"] {
        walk.press(key);
        assert!(walk.said().contains("open for reading only: a fact is damaged"), "{key}: {}", walk.said());
    }
    let desk = Desk::open(walk.path(), Access::ReadOnly).unwrap();
    assert_eq!(desk.head().get(), facts);
}

#[test]
fn damage_is_said_when_a_cellar_is_opened() {
    let made = Walk::small();
    let sound = made.model.state.facts;
    let head = Desk::open(made.path(), Access::ReadOnly).unwrap().head().get();
    let path = made.path().with_file_name("damaged.cellar");
    Desk::open(made.path(), Access::ReadOnly).unwrap().backup(&path).unwrap();
    flip_a_bit_of_a_topping(&path);
    let mut walk = opened(&path);
    assert!(walk.said().contains("a fact is damaged and left out (fact "), "{}", walk.said());
    assert_eq!(walk.model.state.facts + 1, sound);
    assert_is_whole(&walk);
    keep(&walk, "damaged-fact");
    assert_nothing_can_be_entered(&mut walk, head);
}

/// A long log is shown at once and checked meanwhile.
#[test]
fn damage_that_is_found_beside_the_work_is_said_over_the_floor() {
    let made = Walk::demo();
    let (sound, path) = (made.model.state.facts, made.path().with_file_name("damaged.cellar"));
    let head = Desk::open(made.path(), Access::ReadOnly).unwrap().head().get();
    Desk::open(made.path(), Access::ReadOnly).unwrap().backup(&path).unwrap();
    flip_a_bit_of_a_topping(&path);
    let mut walk = opened(&path);
    assert!(!walk.said().contains("damaged"), "{}", walk.said());
    assert_eq!(walk.model.state.facts, sound);
    walk.take(Message::Answer(Answer::Checked));
    assert!(walk.said().starts_with("This cellar is open for reading only: a fact is damaged"), "{}", walk.said());
    assert_eq!(walk.model.state.facts + 1, sound);
    assert_is_whole(&walk);
    keep(&walk, "damaged-fact-beside-the-work");
    assert_nothing_can_be_entered(&mut walk, head);
}

/// What is to be known of a file is not hidden by what there is to see to.
#[test]
fn the_gravest_of_several_warnings_stands_in_sight() {
    let made = Walk::small();
    let path = made.path().with_file_name("damaged.cellar");
    fs::copy(made.path(), &path).unwrap();
    without_guards(&path, "UPDATE facts SET author = 'nobody' WHERE position = 9");
    fs::write(beside(&path, "-mark"), "not a mark").unwrap();
    let mut walk = Walk::at(path, Access::ReadWrite, later);
    walk.take(Message::Started);
    assert!(walk.said().starts_with("This cellar is open for reading only: a fact is damaged"), "{}", walk.said());
    assert!(walk.said().ends_with("1 more is in the messages: / messages."), "{}", walk.said());
    assert!(walk.model.said.iter().any(|said| said.text.contains("-mark")), "{:?}", walk.model.said);
}

/// On the smallest screen a long sentence leaves the floor in sight, and says where the rest is.
#[test]
fn a_long_sentence_leaves_the_floor_in_sight_on_the_smallest_screen() {
    let made = Walk::small();
    let path = made.path().with_file_name("damaged.cellar");
    fs::copy(made.path(), &path).unwrap();
    without_guards(&path, "UPDATE facts SET author = 'nobody' WHERE position IN (9, 19, 29, 39, 49)");
    let mut walk = opened(&path);
    let text = walk.text(60, 16);
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines[11].starts_with(" ! This cellar is open for reading only"), "{text}");
    assert!(lines[14].trim_end().ends_with("(all of it: / messages)"), "{text}");
    walk.press(":messages");
    assert!(walk.text(60, 16).contains("verify tells more."), "{}", walk.text(60, 16));
}

/// Where a backup of the same cellar was laid over the open file, what was entered since is written elsewhere as lines that are taken in again.
#[test]
fn what_was_entered_last_outlives_a_copy_that_is_laid_over_it() {
    let mut walk = Walk::demo();
    walk.press("n space");
    let copy = walk.path().with_file_name("copy.cellar");
    Desk::open(walk.path(), Access::ReadOnly).unwrap().backup(&copy).unwrap();
    walk.press("n space");
    assert!(walk.said().contains("topped"), "{}", walk.said());
    fs::copy(&copy, walk.path()).unwrap();
    walk.take(Message::Changed);
    assert!(walk.said().contains("was written over by another program"), "{}", walk.said());
    walk.press("enter");
    assert!(
        walk.said().contains("what was entered last is in ") || walk.said().starts_with("Everything is in "),
        "{}",
        walk.said()
    );
    assert_is_whole(&walk);
    let kept = walk.path().with_file_name("home-kept.cellar.jsonl");
    if walk.said().contains("what was entered last is in ") {
        assert_eq!(fs::read_to_string(kept).unwrap().lines().count(), 2);
    }
}
