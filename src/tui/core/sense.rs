//! Senses: what a key means, in the whole program. A command names its sense, and has its key by that; a page that does not
//! offer a sense leaves its key without effect. No key has two senses, and none is declared twice.
//!
//! Going about (arrows, page up and down, home and end), enter, esc and backspace are no senses of commands: every page
//! understands them alike ([`super::page::Go`], [`super::page::Page::enter`], [`super::page::Page::esc`]).
//!
//! ## Keys, before the house and in it
//!
//! A key has one sense (`tui/core/sense.rs`). What each job cost before the pages moved into the house, and what it costs now; *list* is
//! **enter**, then its line by arrow, digit or a few letters. The walk (space `r` `k` `e` `s` `n` `x` `b` `z`, digits, `t` `g` `h` `w` `u`
//! `y` `i` `c`) is as it was.
//!
//! | job | before | now |
//! | --- | --- | --- |
//! | what can be done here | find box | enter, where nothing is typed |
//! | find | `/` `f` | `/`, on every page where letters are no words |
//! | help of the page | `?` on the floor and the bins; it closed other pages | `?`, F1 where letters are words |
//! | the quality before | `v` | `c` round |
//! | picture of the room, messages, ledger, trace of a vessel | `o` `l` `%` `>` | list |
//! | bench, bins, count, checklist, bottling | `=` `#` `&` `!` `*` | list |
//! | lot: another beside it, the one before, its barrels | `c`, `v`, `b` | `+`, left and right, `j` |
//! | lot: checklist, bottling, trace | `!` `*` `>` | list |
//! | ledger: month or year | `y` | `c` |
//! | bins: the run, ready, trace | enter or `i`, `d`, `>` | `i`, `c`, `a` |
//! | bins: carry, release, count the store | `m` `r` `&` | list |
//! | count: the next, close without booking | enter, end | `n`, list |
//! | checklist: met, not met, waive, words, own item, required | space or `m`, `n` `w` `t` `o` `r` | space, list, `s`, list; `n` goes to the next open item |
//! | fining: choose the dose, give it | tab, end | list |
//! | blind glasses: reveal | end, end | enter, enter once all are tasted; before that the list |
//! | trial: reveal | `v` `y` | `v`, then the line of the question, enter |
//! | surface: drawing on, back | `c` `v` | `c`, left and right |
//! | hold what was tasted with a fault | enter or `y` | enter |

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// What a key means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)] // the table below says of each what it means
pub enum Sense {
    Done,
    Rack,
    Stack,
    Row,
    Skip,
    OtherSource,
    Begin,
    Finish,
    Next,
    Day,
    Taste,
    Gauge,
    Hold,
    Note,
    Undo,
    Redo,
    Lot,
    View,
    Leave,
    Find,
    Help,
    Choose,
    Reveal,
    Map,
    Picture,
    Ancestry,
    Same,
    LayAway,
    Out,
    OtherSide,
    TakeBack,
    Before,
    After,
}

/// Every sense with its key and what it means.
pub const SENSES: [(Sense, KeyCode, &str); 33] = [
    (Sense::Done, KeyCode::Char(' '), "done, as it should be"),
    (Sense::Rack, KeyCode::Char('r'), "the rest of the rack"),
    (Sense::Stack, KeyCode::Char('k'), "the rest of the stack"),
    (Sense::Row, KeyCode::Char('e'), "the rest of the row"),
    (Sense::Skip, KeyCode::Char('s'), "skip it"),
    (Sense::OtherSource, KeyCode::Char('x'), "another source"),
    (Sense::Begin, KeyCode::Char('b'), "begin"),
    (Sense::Finish, KeyCode::Char('z'), "finish"),
    (Sense::Next, KeyCode::Char('n'), "the next to do"),
    (Sense::Day, KeyCode::Char('d'), "the day and its works"),
    (Sense::Taste, KeyCode::Char('t'), "taste"),
    (Sense::Gauge, KeyCode::Char('g'), "gauge"),
    (Sense::Hold, KeyCode::Char('h'), "hold or free"),
    (Sense::Note, KeyCode::Char('w'), "write a note"),
    (Sense::Undo, KeyCode::Char('u'), "undo"),
    (Sense::Redo, KeyCode::Char('y'), "redo"),
    (Sense::Lot, KeyCode::Char('i'), "the whole that this is of: the lot of a barrel, the run of a bottle"),
    (Sense::View, KeyCode::Char('c'), "another view"),
    (Sense::Leave, KeyCode::Char('q'), "leave the program"),
    (Sense::Find, KeyCode::Char('/'), "find"),
    (Sense::Help, KeyCode::Char('?'), "help"),
    (Sense::Choose, KeyCode::Char('+'), "choose it, for a glass or to compare"),
    (Sense::Reveal, KeyCode::Char('v'), "reveal"),
    (Sense::Map, KeyCode::Char('m'), "the room, small"),
    (Sense::Picture, KeyCode::Char('p'), "a picture of it"),
    (Sense::Ancestry, KeyCode::Char('a'), "where it came from and went"),
    (Sense::Same, KeyCode::Char('j'), "the next of the same lot"),
    (Sense::LayAway, KeyCode::Char('l'), "lay bottles away"),
    (Sense::Out, KeyCode::Char('o'), "let bottles out"),
    (Sense::OtherSide, KeyCode::Tab, "the other side of the page, or the next field"),
    (Sense::TakeBack, KeyCode::Delete, "take back a line"),
    (Sense::Before, KeyCode::Left, "one back, or the value before"),
    (Sense::After, KeyCode::Right, "one on, or the next value"),
];

impl Sense {
    /// The sense of a key; none where it has none, or something is pressed together with it.
    #[must_use]
    pub fn of(key: &KeyEvent) -> Option<Sense> {
        if key.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT) {
            return None;
        }
        SENSES.iter().find(|(_, code, _)| *code == key.code).map(|(sense, ..)| *sense)
    }

    /// Its key.
    #[must_use]
    pub fn key(self) -> KeyCode {
        SENSES.iter().find(|(sense, ..)| *sense == self).map_or(KeyCode::Null, |(_, code, _)| *code)
    }

    /// Its key, as it is called.
    #[must_use]
    pub fn key_name(self) -> String {
        key_name(self.key())
    }
}

/// How a key is called.
#[must_use]
pub fn key_name(key: KeyCode) -> String {
    match key {
        KeyCode::Char(' ') => "space".to_owned(),
        KeyCode::Char(character) => character.to_string(),
        KeyCode::PageUp => "page up".to_owned(),
        KeyCode::PageDown => "page down".to_owned(),
        KeyCode::F(number) => format!("F{number}"),
        other => format!("{other:?}").to_lowercase(),
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn no_key_has_two_senses_and_no_sense_two_keys() {
        let keys: HashSet<KeyCode> = SENSES.iter().map(|(_, key, _)| *key).collect();
        let senses: HashSet<Sense> = SENSES.iter().map(|(sense, ..)| *sense).collect();
        assert_eq!((keys.len(), senses.len()), (SENSES.len(), SENSES.len()));
        for (sense, key, _) in SENSES {
            assert_eq!((sense.key(), Sense::of(&KeyEvent::from(key))), (key, Some(sense)));
        }
    }

    /// Digits and capitals begin a number or a label, and punctuation is far away under gloves.
    #[test]
    fn senses_have_small_letters_and_three_signs_that_are_learned() {
        for (sense, key, _) in SENSES {
            if let KeyCode::Char(sign) = key {
                assert!(sign.is_ascii_lowercase() || matches!(sign, ' ' | '/' | '?' | '+'), "{sense:?} has {sign}");
            }
        }
    }
}
