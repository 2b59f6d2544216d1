//! Keys as a person writes them down: `space r 1 . 9 enter`. What has no key is found by its name: `:bench` is the find box, that
//! name, and enter.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// The keys of a line of notation: a word is a named key or a single character, and a text in backquotes is typed
/// character by character.
pub fn keys(notation: &str) -> Vec<KeyEvent> {
    let mut keys = Vec::new();
    for (index, piece) in notation.split('`').enumerate() {
        if index % 2 == 1 {
            keys.extend(piece.chars().map(|character| plain(KeyCode::Char(character))));
        } else {
            for word in piece.split_whitespace() {
                match word.strip_prefix(':') {
                    Some(act) => keys.extend(found(act)),
                    None => keys.push(key(word)),
                }
            }
        }
    }
    keys
}

/// What is done on the floor without a key.
fn found(act: &str) -> Vec<KeyEvent> {
    let name = match act {
        "bench" => "Blind at the bench",
        "bins" => "Bottles in their bins",
        "bottle" => "Bottle this vessel",
        "checklist" => "Before bottling",
        "count" => "Count what is here",
        "discrepancies" => "Discrepancies",
        "ledger" => "The ledger",
        "messages" => "Messages",
        "results" => "Laboratory tests",
        "room-picture" => "Picture of the room",
        "spreadsheet" => "Take in a spreadsheet",
        "trace" => "Trace to the bottles",
        other => panic!("what is ':{other}'?"),
    };
    let letters = name.chars().map(|character| plain(KeyCode::Char(character)));
    [plain(KeyCode::Char('/'))].into_iter().chain(letters).chain([plain(KeyCode::Enter)]).collect()
}

fn plain(code: KeyCode) -> KeyEvent {
    KeyEvent::new(code, KeyModifiers::NONE)
}

fn key(word: &str) -> KeyEvent {
    let code = match word {
        "space" => KeyCode::Char(' '),
        "enter" => KeyCode::Enter,
        "esc" => KeyCode::Esc,
        "backspace" => KeyCode::Backspace,
        "tab" => KeyCode::Tab,
        "left" => KeyCode::Left,
        "right" => KeyCode::Right,
        "up" => KeyCode::Up,
        "down" => KeyCode::Down,
        "page-up" => KeyCode::PageUp,
        "page-down" => KeyCode::PageDown,
        "home" => KeyCode::Home,
        "end" => KeyCode::End,
        "delete" => KeyCode::Delete,
        "insert" => KeyCode::Insert,
        "F1" => KeyCode::F(1),
        "ctrl-c" => return KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL),
        "ctrl-x" => return KeyEvent::new(KeyCode::Char('x'), KeyModifiers::CONTROL),
        _ => {
            let mut characters = word.chars();
            let (first, rest) = (characters.next().unwrap(), characters.next());
            assert_eq!(rest, None, "no key is called '{word}'");
            KeyCode::Char(first)
        }
    };
    plain(code)
}

#[test]
fn keys_are_read_as_they_are_written() {
    let codes: Vec<KeyCode> = keys("space `1.9` enter").into_iter().map(|key| key.code).collect();
    let char = KeyCode::Char;
    assert_eq!(codes, [char(' '), char('1'), char('.'), char('9'), KeyCode::Enter]);
}
