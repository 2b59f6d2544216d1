//! Breaking words into lines.

use unicode_width::UnicodeWidthStr;

/// A text broken between words into lines of a width; a longer word stands by itself.
#[must_use]
pub fn wrapped(text: &str, width: usize) -> Vec<String> {
    if text.width() <= width {
        return vec![text.to_owned()];
    }
    let mut lines: Vec<String> = vec![String::new()];
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if line.width() + 1 + word.width() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
