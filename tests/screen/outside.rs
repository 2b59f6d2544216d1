//! Texts from outside never disturb a line, even such as no door lets in: they may come from a damaged file.

use std::sync::Arc;

use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::state::State;
use barrelwalk::desk::DeskError;
use barrelwalk::tui::core::marks::{ASCII, UNICODE};
use barrelwalk::tui::core::theme::Palette;
use barrelwalk::tui::core::then::Then;
use barrelwalk::tui::core::work::Answer;
use barrelwalk::tui::edge::screen::Message;
use barrelwalk::tui::floor::colouring::Colouring;
use ratatui::buffer::Buffer;
use unicode_width::UnicodeWidthStr;

use crate::picture::rows;
use crate::walk::{Walk, looks};

/// Texts that reorder, hide, widen, combine, or speak to a terminal.
const TEXTS: [&str; 9] = [
    "a\u{202e}b\u{2066}c",
    "\u{200b}\u{200d}\u{feff}",
    "葡萄酒樽葡萄酒樽葡萄酒樽葡萄酒樽葡萄酒樽",
    "e\u{301}\u{302}\u{303}\u{327}\u{489}te\u{301}",
    "\u{1b}[31mred\u{1b}[2J\u{7}",
    "\u{9b}2J\u{85}\n\t\r",
    "👩‍👩‍👧‍👦🍷🇫🇷",
    "ﷺ𒐫௵ a very long name that goes on and on and on",
    "\u{e0041}\u{61c}\u{2028}x\u{ad}\u{600}",
];

/// A label that no door lets in, as a damaged snapshot might hold it: the check of [`Label::new`] is gone around by
/// way of a text that is allowed.
fn put(state: &State, replaced: &str, text: &str) -> State {
    let json = serde_json::to_string(state).unwrap();
    let written = serde_json::to_string(text).unwrap();
    serde_json::from_str(&json.replace(&format!("\"{replaced}\""), &written)).unwrap_or_else(|_| state.clone())
}

/// Every row is as wide as the frame, and no cell holds what could move a cursor or reorder a line.
fn check(buffer: &Buffer) {
    for (row, text) in rows(buffer).iter().enumerate() {
        assert_eq!(text.width(), usize::from(buffer.area.width), "row {row}: {text:?}");
        let bad = |c: char| {
            c.is_control()
                || matches!(c, '\u{61c}' | '\u{200b}' | '\u{200e}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
                | '\u{2066}'..='\u{2069}' | '\u{feff}' | '\u{e0000}'..='\u{e007f}')
        };
        assert!(!text.chars().any(bad), "row {row}: {text:?}");
    }
}

fn check_everywhere(walk: &mut Walk) {
    for (palette, marks) in [(Palette::Cave, &UNICODE), (Palette::Mono, &ASCII)] {
        walk.model.looks = looks(palette, marks);
        for (width, height) in [(160, 48), (80, 24), (60, 16)] {
            let buffer = walk.drawn(width, height);
            check(&buffer);
            if marks.ascii {
                assert!(rows(&buffer).iter().all(|row| row.is_ascii()), "{:?}", rows(&buffer));
            }
        }
    }
}

#[test]
fn labels_from_outside_keep_to_their_columns() {
    for text in TEXTS {
        // Labels of the kind that a door would let in, where there are any.
        let allowed: String = text.chars().filter(|&c| Label::new(&c.to_string()).is_ok()).take(40).collect();
        if allowed.is_empty() {
            continue;
        }
        let mut walk = Walk::small();
        let mut state = walk.model.state.clone();
        for replaced in ["long", "0401", "M26 Upper Terrace", "K2", "Tronçais", "medium"] {
            let text = format!("{allowed}{}", replaced.chars().next().unwrap());
            let text: String = text.chars().skip(text.chars().count().saturating_sub(40)).collect();
            state = put(&state, replaced, &text);
        }
        walk.take(Message::Answer(Answer::Opened { state, read_only: None, warnings: Vec::new() }));
        for keys in ["", "b", "enter", "space", "z", "esc m", "/", "esc t", "esc l", "esc `x`"] {
            walk.press(keys);
            check_everywhere(&mut walk);
        }
        walk.press("esc :ledger tab").comes();
        check_everywhere(&mut walk);
        walk.press("esc");
        for _ in Colouring::ALL {
            walk.press("c");
            check_everywhere(&mut walk);
        }
    }
}

#[test]
fn what_is_typed_and_pasted_keeps_to_its_columns() {
    for text in TEXTS {
        for keys in [
            "",
            "/",
            "t",
            "h",
            "b",
            "b enter enter",
            "/ `T1` enter d down enter",
            "/ `T1` enter :bench down down enter enter",
            "/ `T1` enter :checklist down s",
            "/ `T1` enter :bottle tab",
        ] {
            let mut walk = Walk::small();
            walk.press(keys);
            walk.take(Message::Paste(text.to_owned()));
            check_everywhere(&mut walk);
            walk.press("enter");
            check_everywhere(&mut walk);
            walk.press("esc l");
            check_everywhere(&mut walk);
        }
    }
}

#[test]
fn what_is_said_keeps_to_its_columns() {
    for text in TEXTS {
        let mut walk = Walk::small();
        let state = walk.model.state.clone();
        walk.take(Message::Answer(Answer::Stored { state, say: text.repeat(9), then: Then::STAY }));
        check_everywhere(&mut walk);
        walk.take(Message::Answer(Answer::Refused(DeskError::OnlyRead(text.to_owned()))));
        walk.press(":messages");
        check_everywhere(&mut walk);
    }
}

#[test]
fn words_of_a_taste_or_a_hold_keep_to_their_columns() {
    for text in TEXTS {
        let mut walk = Walk::small();
        let mut state = walk.model.state.clone();
        let id = state.vessels.find("0404").unwrap();
        let words: String = text.chars().filter(|&c| Label::new(&c.to_string()).is_ok()).collect();
        if let Some(hold) = &mut state.vessels.get_mut(id).held {
            Arc::make_mut(hold).why =
                barrelwalk::cellar::core::label::Text::new(&format!("{words}\n\t{words}")).unwrap();
        }
        walk.take(Message::Answer(Answer::Changed(state)));
        walk.press("`0404` enter");
        check_everywhere(&mut walk);
    }
}
