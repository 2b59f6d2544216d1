//! The message above the keys: what is being typed or written, else what was said last.

use ratatui::text::{Line, Span};

use crate::tui::model::{Mode, Model, Said, Tone};
use crate::tui::rounds::looks_like_litres;
use crate::tui::text::{columns, fit, tail, wrap};
use crate::tui::theme::Meaning;
use crate::tui::words::Words;

/// The most lines that a message takes from the floor.
const MOST_LINES: usize = 3;

/// The lines of the message.
pub(super) fn lines(model: &Model, width: usize) -> Vec<Line<'static>> {
    let said = model.said.last().filter(|_| model.saying);
    let mut lines = said.map_or_else(Vec::new, |said| said_lines(model, said, width));
    match &model.mode {
        Mode::Words(words) => lines.push(words_line(model, words, width)),
        Mode::Floor if !model.typed.is_empty() => {
            lines.push(typed_line(model, width));
        }
        _ => {}
    }
    lines
}

fn said_lines(model: &Model, said: &Said, width: usize) -> Vec<Line<'static>> {
    let marks = model.looks.marks;
    let (mark, meaning) = match said.tone {
        Tone::Done => (marks.yes, Meaning::Fine),
        Tone::Notice => (marks.warning, Meaning::Warning),
        Tone::Refused => (marks.no, Meaning::Error),
    };
    let style = model.looks.theme.style(meaning);
    let mut lines = Vec::new();
    for (index, line) in wrap(&said.text, width.saturating_sub(3), marks).into_iter().take(MOST_LINES).enumerate() {
        let lead = if index == 0 { mark } else { ' ' };
        lines.push(Line::styled(format!(" {lead} {line}"), style));
    }
    lines
}

/// What is typed on the floor, and what enter makes of it.
fn typed_line(model: &Model, width: usize) -> Line<'static> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let typed = tail(&model.typed, width.saturating_sub(2), marks);
    let meant = match model.chosen_vessel() {
        Some(vessel) if model.round().is_some() && looks_like_litres(&model.typed) => {
            format!("   litres into {}; with p behind them not to the brim", vessel.label)
        }
        _ => "   a label or a place to go to".to_owned(),
    };
    let room = width.saturating_sub(columns(&typed) + 2);
    Line::from(vec![
        Span::styled(format!(" {typed}_"), theme.style(Meaning::Strong)),
        Span::styled(fit(&meant, room, marks), theme.style(Meaning::Muted)),
    ])
}

fn words_line(model: &Model, words: &Words, width: usize) -> Line<'static> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let question = format!(" {} {}: ", fit(words.vessel.as_str(), 20, marks), words.about.question());
    let room = width.saturating_sub(columns(&question) + 1);
    Line::from(vec![
        Span::styled(question, theme.style(Meaning::Title)),
        Span::styled(format!("{}_", tail(&words.text, room, marks)), theme.style(Meaning::Strong)),
    ])
}
