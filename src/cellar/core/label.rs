//! The person's own names and words, made harmless where they come in.

use std::borrow::Borrow;
use std::fmt::{self, Write};

use compact_str::CompactString;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::moment::Moment;

/// The most characters a label may have.
pub const LABEL_CHARACTERS: usize = 40;
/// The most characters a free text may have.
pub const TEXT_CHARACTERS: usize = 2_000;

/// A name that a person gave to a thing: vessel, lot, origin, room, round. 1 to 40 characters, none of which can move
/// a cursor or reorder a line; compared exactly.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "CompactString", into = "CompactString")]
pub struct Label(CompactString);

impl Label {
    /// Takes a text as a label that somebody gives now: nothing in it is unseen.
    pub fn new(text: &str) -> Result<Label, TextError> {
        match (1..).zip(text.chars()).find(|&(_, c)| is_unsafe(c) && !c.is_control()) {
            Some((place, found)) => Err(TextError::Unseen(found, place)),
            None => Label::read(text),
        }
    }

    /// Reads a label that was given once, or that is made of such: history is never refused, and what is unseen in it is
    /// shown harmless.
    pub fn read(text: &str) -> Result<Label, TextError> {
        Label::try_from(CompactString::from(text))
    }

    /// A label for something that begins now: what it is and the date, with a number where that is taken. None where a
    /// thousand are.
    #[must_use]
    pub fn dated(what: &str, at: Moment, is_taken: impl Fn(&str) -> bool) -> Option<Label> {
        let date = at.show_date();
        let what: String = what.chars().take(LABEL_CHARACTERS - date.len() - 5).collect();
        (1..1000).find_map(|number| {
            let text = if number == 1 { format!("{what} {date}") } else { format!("{what} {date} {number}") };
            Label::read(&text).ok().filter(|label| !is_taken(label.as_str()))
        })
    }

    /// The text of the label.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<CompactString> for Label {
    type Error = TextError;

    fn try_from(text: CompactString) -> Result<Label, TextError> {
        // Most labels are plain printable ASCII: one pass over the bytes and no decoding.
        if text.bytes().all(|byte| (0x20..0x7f).contains(&byte)) {
            return match text.len() {
                0 => Err(TextError::Empty),
                1..=LABEL_CHARACTERS => Ok(Label(text)),
                _ => Err(TextError::LabelTooLong(text.chars().take(12).collect())),
            };
        }
        if let Some(found) = text.chars().find(|&c| moves(c)) {
            return Err(TextError::Unsafe(found));
        }
        if text.chars().count() > LABEL_CHARACTERS {
            return Err(TextError::LabelTooLong(text.chars().take(12).collect()));
        }
        Ok(Label(text))
    }
}

impl From<Label> for CompactString {
    fn from(label: Label) -> CompactString {
        label.0
    }
}

impl fmt::Display for Label {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl fmt::Debug for Label {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}", self.0.as_str())
    }
}

impl Borrow<str> for Label {
    fn borrow(&self) -> &str {
        &self.0
    }
}

/// Free text that a person wrote: a note, a reason, a taste. At most 2,000 characters; line breaks and tabs are kept,
/// every other character that can move a cursor or reorder a line is refused.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Text(String);

impl Text {
    /// Takes a text as free text.
    pub fn new(text: &str) -> Result<Text, TextError> {
        Text::try_from(text.to_owned())
    }

    /// Words that the program itself writes.
    #[must_use]
    pub fn own(words: &'static str) -> Text {
        Text(harmless(words))
    }

    /// The words themselves.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for Text {
    type Error = TextError;

    fn try_from(text: String) -> Result<Text, TextError> {
        if let Some(found) = text.chars().find(|&c| moves(c) && c != '\n' && c != '\t') {
            return Err(TextError::Unsafe(found));
        }
        if text.chars().count() > TEXT_CHARACTERS {
            return Err(TextError::TextTooLong);
        }
        Ok(Text(text))
    }
}

impl From<Text> for String {
    fn from(text: Text) -> String {
        text.0
    }
}

impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// What no label and no text was ever taken with: C0 and C1 controls, DEL, bidirectional marks and overrides, zero-width
/// characters, tags. Facts that hold more of the unseen were taken once, and stay.
fn moves(character: char) -> bool {
    matches!(character,
        '\u{0}'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}' | '\u{feff}' | '\u{e0000}'..='\u{e007f}')
}

/// Whether a character could move the cursor, start a terminal sequence, hide itself or reorder the line it stands in:
/// controls, line and paragraph separators, annotations, and what Unicode has as `Bidi_Control` or
/// `Default_Ignorable_Code_Point` (Unicode Character Database, `PropList` and `DerivedCoreProperties`).
#[must_use]
pub fn is_unsafe(character: char) -> bool {
    moves(character)
        || matches!(character,
            '\u{ad}' | '\u{34f}' | '\u{115f}'..='\u{1160}' | '\u{17b4}'..='\u{17b5}' | '\u{180b}'..='\u{180f}'
            | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{ffa0}' | '\u{fff0}'..='\u{fffb}'
            | '\u{1bca0}'..='\u{1bca3}' | '\u{1d173}'..='\u{1d17a}' | '\u{e0000}'..='\u{e0fff}')
}

/// A text with every unsafe character shown as `·`.
#[must_use]
pub fn harmless(text: &str) -> String {
    text.chars().map(|c| if is_unsafe(c) { '·' } else { c }).collect()
}

/// Lines with every unsafe character shown as `·`, but for the line feeds that end them.
#[must_use]
pub fn harmless_lines(text: &str) -> String {
    text.chars().map(|c| if is_unsafe(c) && c != '\n' { '·' } else { c }).collect()
}

/// JSON with every unsafe character written as an escape: who reads it reads the same strings. Such characters stand in
/// strings only; line feeds between its lines stay.
#[must_use]
pub fn harmless_json(json: &str) -> String {
    let mut written = String::with_capacity(json.len());
    for character in json.chars() {
        if is_unsafe(character) && character != '\n' {
            let units = &mut [0; 2];
            for unit in character.encode_utf16(units) {
                // Into a text nothing fails.
                let _ = write!(written, "\\u{unit:04x}");
            }
        } else {
            written.push(character);
        }
    }
    written
}

/// Why a text cannot be taken.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum TextError {
    /// A label of no characters.
    #[error("A name cannot be empty. Give it 1 to 40 characters.")]
    Empty,
    /// A label of more than 40 characters.
    #[error("The name that begins '{0}' is too long. Give it at most 40 characters.")]
    LabelTooLong(String),
    /// A text of more than 2,000 characters.
    #[error("The text is too long. Write at most 2,000 characters.")]
    TextTooLong,
    /// A character that could disturb a terminal.
    #[error("The text holds the control character U+{:04X}, which could disturb a screen. Leave it out.", u32::from(*.0))]
    Unsafe(char),
    /// A character of a name that nobody would see, and the how manieth it is.
    #[error("The name holds the unseen character U+{:04X}, as its character {}. Two names could look alike by it: leave it out.", u32::from(*.0), .1)]
    Unseen(char, usize),
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_are_taken_as_they_are_written() {
        for text in ["0417", "Côte Haute", "M24 Upper Terrace", &"é".repeat(40)] {
            assert_eq!(Label::new(text).unwrap().as_str(), text);
        }
    }

    #[test]
    fn what_could_disturb_a_screen_is_refused() {
        assert_eq!(Label::new("a\u{1b}[2J"), Err(TextError::Unsafe('\u{1b}')));
        assert_eq!(Label::new("a\u{202e}b"), Err(TextError::Unseen('\u{202e}', 2)));
        assert_eq!(Text::new("plum\u{9b}31m"), Err(TextError::Unsafe('\u{9b}')));
        assert_eq!(Label::new("a\nb"), Err(TextError::Unsafe('\n')));
        assert!(Text::new("first line\nsecond\tline").is_ok());
    }

    /// What is unseen is what the Unicode data says, as another reader of them has it.
    #[test]
    fn what_is_unseen_is_what_unicode_says() {
        let of = |class: &str| {
            let parsed = regex_syntax::parse(class).unwrap();
            let regex_syntax::hir::HirKind::Class(regex_syntax::hir::Class::Unicode(class)) = parsed.into_kind() else {
                panic!("no class")
            };
            class
        };
        let known = of(r"[\p{Cc}\p{Bidi_Control}\p{Default_Ignorable_Code_Point}\x{2028}\x{2029}\x{FFF9}-\x{FFFB}]");
        for range in known.ranges() {
            assert!((range.start()..=range.end()).all(is_unsafe), "{range:?}");
        }
        let unsafe_ones = ('\0'..=char::MAX).filter(|&c| is_unsafe(c)).count();
        assert_eq!(unsafe_ones, known.ranges().iter().map(regex_syntax::hir::ClassUnicodeRange::len).sum::<usize>());
    }

    #[test]
    fn a_name_is_refused_with_what_is_unseen_and_read_back_where_it_was_taken() {
        assert_eq!(
            Label::new("04\u{ad}17").unwrap_err().to_string(),
            "The name holds the unseen character U+00AD, as its character 3. Two names could look alike by it: leave it out."
        );
        let old: Label = serde_json::from_str("\"04\u{ad}17\"").unwrap();
        assert_eq!(harmless(old.as_str()), "04·17");
        let note: Text = serde_json::from_str("\"\u{2764}\u{fe0f}\"").unwrap();
        assert_eq!(harmless(note.as_str()), "\u{2764}·");
    }

    #[test]
    fn json_says_the_same_with_nothing_unseen_in_it() {
        let said = "a\u{7f}\u{9b}\u{202e}\u{e0041}é\u{fe0f}\u{1b}";
        let json = harmless_json(&serde_json::to_string(said).unwrap());
        assert!(!json.chars().any(is_unsafe), "{json}");
        assert_eq!(serde_json::from_str::<String>(&json).unwrap(), said);
    }

    #[test]
    fn lengths_are_bounded() {
        assert_eq!(Label::new(""), Err(TextError::Empty));
        assert!(matches!(Label::new(&"x".repeat(41)), Err(TextError::LabelTooLong(_))));
        assert!(matches!(Label::new(&"é".repeat(41)), Err(TextError::LabelTooLong(_))));
        assert_eq!(Text::new(&"x".repeat(2_001)), Err(TextError::TextTooLong));
    }
}
