//! The message above the keys: what is being typed or written, else what was said last.

use ratatui::text::Line;

use crate::tui::core::model::{Model, Said, Tone};
use crate::tui::core::text::{fit, wrap};
use crate::tui::core::theme::Meaning;

/// The most lines that a message takes from the floor: what went wrong with a file is said whole, with two long paths in it.
const MOST_LINES: usize = 9;

/// What was said last, while it stands.
pub(in crate::tui) fn said(model: &Model, width: usize) -> Vec<Line<'static>> {
    let said = model.said.last().filter(|_| model.saying);
    said.map_or_else(Vec::new, |said| said_lines(model, said, width))
}

fn said_lines(model: &Model, said: &Said, width: usize) -> Vec<Line<'static>> {
    let marks = model.looks.marks;
    let (mark, meaning) = match said.tone {
        Tone::Done => (marks.yes, Meaning::Fine),
        Tone::Notice => (marks.warning, Meaning::Warning),
        Tone::Refused => (marks.no, Meaning::Error),
    };
    signed_lines(model, mark, &said.text, meaning, width)
}

/// A text with a sign before its first line.
pub(in crate::tui) fn signed_lines(
    model: &Model,
    sign: char,
    text: &str,
    meaning: Meaning,
    width: usize,
) -> Vec<Line<'static>> {
    let (style, marks) = (model.looks.theme.style(meaning), model.looks.marks);
    let room = width.saturating_sub(3);
    let mut lines = wrap(text, room, marks);
    if lines.len() > MOST_LINES {
        lines.truncate(MOST_LINES);
        if let Some(last) = lines.last_mut() {
            *last = fit(&format!("{last} {}", ".".repeat(room)), room, marks);
        }
    }
    let lead = |index: usize| if index == 0 { sign } else { ' ' };
    let line = |(index, line): (usize, String)| Line::styled(format!(" {} {line}", lead(index)), style);
    lines.into_iter().enumerate().map(line).collect()
}
