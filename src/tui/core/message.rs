//! The message above the keys: what is being typed or written, else what was said last.

use ratatui::text::Line;

use crate::told::hazard::Caution;
use crate::tui::core::model::{Model, Said, Tone};
use crate::tui::core::text::{columns, fit, wrap};
use crate::tui::core::theme::Meaning;

/// The most lines that a message takes from the floor: what went wrong with a file is said whole, with two long paths in it.
const MOST_LINES: usize = 9;
/// What can hurt somebody takes no more than so many, so that the floor stays in sight.
const MOST_CAUTION_LINES: usize = 5;
/// On a screen of fewer lines than this …
const LOW: u16 = 20;
/// … it takes no more than so many, so that the floor stays in sight.
const MOST_LINES_WHERE_LOW: usize = 4;
/// What stands at the end of a message that is not there whole.
const CUT: &str = "(all of it: / messages)";

/// What was said last, while it stands, on a screen of so many columns and lines; before it what can hurt somebody at the work that it is about.
pub(in crate::tui) fn said(model: &Model, width: usize, height: u16) -> Vec<Line<'static>> {
    let Some(said) = model.said.last().filter(|_| model.saying) else { return Vec::new() };
    let most = if height < LOW { MOST_LINES_WHERE_LOW } else { MOST_LINES };
    let said_lines = if said.text.is_empty() { Vec::new() } else { said_lines(model, said, width, most) };
    let room = usize::from(height / 3).saturating_sub(said_lines.len());
    [caution_lines(model, &said.caution, width, room), said_lines].concat()
}

/// What can hurt somebody, whole where so many lines are enough for it, else the first of it whole, else all in a few words; nothing where
/// nothing can.
pub(in crate::tui) fn caution_lines(model: &Model, caution: &Caution, width: usize, most: usize) -> Vec<Line<'static>> {
    if caution.is_empty() {
        return Vec::new();
    }
    let lines = |text: &str| signed_lines(model, model.looks.marks.warning, text, Meaning::Warning, width);
    let ways = [Caution::words, Caution::folded].into_iter().map(|way| lines(&way(caution)));
    let fits = |lines: &Vec<Line<'static>>| lines.len() <= most.min(MOST_CAUTION_LINES);
    ways.into_iter().find(fits).unwrap_or_else(|| lines(&caution.in_short()))
}

fn said_lines(model: &Model, said: &Said, width: usize, most: usize) -> Vec<Line<'static>> {
    let marks = model.looks.marks;
    let (mark, meaning) = match said.tone {
        Tone::Done => (marks.yes, Meaning::Fine),
        Tone::Notice => (marks.warning, Meaning::Warning),
        Tone::Refused => (marks.no, Meaning::Error),
    };
    let mut lines = wrap(&said.text, room(width), marks);
    if lines.len() > most {
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            let left = room(width).saturating_sub(columns(CUT) + 1);
            *last = format!("{} {CUT}", fit(&format!("{last} {}", ".".repeat(left)), left, marks));
        }
    }
    signed(model, mark, lines, meaning)
}

/// The columns that are left for the words behind a sign.
const fn room(width: usize) -> usize {
    width.saturating_sub(3)
}

/// A text with a sign before its first line.
pub(in crate::tui) fn signed_lines(
    model: &Model,
    sign: char,
    text: &str,
    meaning: Meaning,
    width: usize,
) -> Vec<Line<'static>> {
    signed(model, sign, wrap(text, room(width), model.looks.marks), meaning)
}

fn signed(model: &Model, sign: char, lines: Vec<String>, meaning: Meaning) -> Vec<Line<'static>> {
    let style = model.looks.theme.style(meaning);
    let lead = |index: usize| if index == 0 { sign } else { ' ' };
    let line = |(index, line): (usize, String)| Line::styled(format!(" {} {line}", lead(index)), style);
    lines.into_iter().enumerate().map(line).collect()
}
