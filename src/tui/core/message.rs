//! The message above the keys: what is being typed or written, else what was said last.

use ratatui::text::Line;

use crate::tui::core::model::{Model, Said, Tone};
use crate::tui::core::text::wrap;
use crate::tui::core::theme::Meaning;

/// The most lines that a message takes from the floor.
const MOST_LINES: usize = 3;

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
    let style = model.looks.theme.style(meaning);
    let mut lines = Vec::new();
    for (index, line) in wrap(text, width.saturating_sub(3), model.looks.marks).into_iter().take(MOST_LINES).enumerate()
    {
        let lead = if index == 0 { sign } else { ' ' };
        lines.push(Line::styled(format!(" {lead} {line}"), style));
    }
    lines
}
