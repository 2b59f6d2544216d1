//! The message above the keys: what is being typed or written, else what was said last.

use ratatui::text::{Line, Span};

use crate::cellar::tasting::Impression;
use crate::tui::checklist;
use crate::tui::counting;
use crate::tui::fill;
use crate::tui::fining;
use crate::tui::model::{Mode, Model, Said, Tone};
use crate::tui::text::{columns, fit, shown, tail, wrap};
use crate::tui::theme::Meaning;
use crate::tui::words::{About, Words};

/// The most lines that a message takes from the floor.
const MOST_LINES: usize = 3;

/// The lines of the message.
pub(super) fn lines(model: &Model, width: usize) -> Vec<Line<'static>> {
    let mut lines = said(model, width);
    match &model.mode {
        Mode::Words(words) => {
            lines.push(words_line(model, words, width));
            if words.about == About::Taste {
                lines.push(taken_line(model, words, width));
                lines.push(near_line(model, words, width));
            }
        }
        Mode::Offer(offer) => {
            let sign = model.looks.marks.warning;
            lines.extend(signed_lines(model, sign, &offer.question(), Meaning::Warning, width));
        }
        Mode::Fining(page) => lines.extend(fining::batch_line(model, page, width)),
        Mode::Counting(page) => lines.push(counting::line(model, page, width)),
        Mode::Checklist(page) => lines.extend(checklist::line(model, page, width)),
        Mode::Fill(page) => lines.extend(page.name.iter().map(|name| fill::name_line(model, name, width))),
        _ => {}
    }
    lines
}

/// What was said last, while it stands.
pub(super) fn said(model: &Model, width: usize) -> Vec<Line<'static>> {
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
fn signed_lines(model: &Model, sign: char, text: &str, meaning: Meaning, width: usize) -> Vec<Line<'static>> {
    let style = model.looks.theme.style(meaning);
    let mut lines = Vec::new();
    for (index, line) in wrap(text, width.saturating_sub(3), model.looks.marks).into_iter().take(MOST_LINES).enumerate()
    {
        let lead = if index == 0 { sign } else { ' ' };
        lines.push(Line::styled(format!(" {lead} {line}"), style));
    }
    lines
}

fn words_line(model: &Model, words: &Words, width: usize) -> Line<'static> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let question = format!(" {} {}: ", fit(words.vessel.as_str(), 20, marks), words.about.question());
    let room = width.saturating_sub(columns(&question) + 1);
    Line::from(vec![
        Span::styled(question, theme.style(Meaning::Title)),
        Span::styled(model.written(&words.text, room), theme.style(Meaning::Strong)),
    ])
}

/// What enter makes of a taste as it stands: the score, the marks, then one's own words.
fn taken_line(model: &Model, words: &Words, width: usize) -> Line<'static> {
    let muted = model.looks.theme.style(Meaning::Muted);
    let marks = model.looks.marks;
    let said = match Impression::read(&words.text, &model.state) {
        Ok(said) if said != Impression::default() => said,
        Ok(_) => return Line::styled(fit(" for example: 14.5 pl ta, a little closed", width, marks), muted),
        Err(error) => return Line::styled(fit(&format!(" {error}"), width, marks), muted),
    };
    let faults = model.state.faults_among(&said.marks);
    let mut parts: Vec<String> = said.score.map(|score| score.to_string()).into_iter().collect();
    for mark in &said.marks {
        let fault = faults.iter().any(|fault| fault.mark == mark);
        parts.push(if fault { format!("{} {mark}", marks.warning) } else { mark.to_string() });
    }
    parts.extend(said.text.map(|text| format!("\"{text}\"")));
    let meaning = if faults.is_empty() { Meaning::Base } else { Meaning::Over };
    // What is typed last is at the end, so the end is seen.
    let parts = parts.join(", ");
    let room = width.saturating_sub(4);
    Line::styled(
        format!(" {}  {}", marks.yes, fit(&tail(&parts, room, marks), room, marks)),
        model.looks.theme.style(meaning),
    )
}

/// The marks that the word which is being typed may become, each behind its key; faults carry the sign of a warning.
fn near_line(model: &Model, words: &Words, width: usize) -> Line<'static> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let mut spans = vec![Span::raw(" ")];
    let mut left = width.saturating_sub(1);
    for (index, mark) in words.nearest_marks(&model.state).into_iter().enumerate() {
        let key = mark.key.map_or_else(String::new, |key| format!("{key} "));
        let sign = if mark.fault { format!("{} ", marks.warning) } else { String::new() };
        let warns = mark.warns.filter(|_| index == 0).map_or_else(String::new, |warns| format!(" ({warns})"));
        let name = shown(&format!("{sign}{}", mark.mark), marks);
        let taken = columns(&key) + columns(&name) + 2;
        if taken > left {
            break;
        }
        left -= taken;
        spans.push(Span::styled(key, theme.style(Meaning::Key)));
        spans.push(Span::styled(name, theme.style(if mark.fault { Meaning::Over } else { Meaning::Base })));
        if columns(&warns) <= left {
            left -= columns(&warns);
            spans.push(Span::styled(shown(&warns, marks), theme.style(Meaning::Muted)));
        }
        spans.push(Span::raw("  "));
    }
    Line::from(spans)
}
