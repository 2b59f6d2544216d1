//! The message above the keys: what is being typed or written, else what was said last.

use ratatui::text::{Line, Span};

use crate::cellar::tasting::Impression;
use crate::tui::bins;
use crate::tui::checklist;
use crate::tui::correcting;
use crate::tui::counting;
use crate::tui::fill;
use crate::tui::fining;
use crate::tui::model::{Mode, Model, Said, Tone};
use crate::tui::rounds::looks_like_litres;
use crate::tui::text::{columns, fit, shown, tail, wrap};
use crate::tui::theme::Meaning;
use crate::tui::words::{About, Words};
use crate::tui::works::{self, looks_like_a_measure};

/// The most lines that a message takes from the floor.
const MOST_LINES: usize = 3;

/// The lines of the message.
pub(super) fn lines(model: &Model, width: usize) -> Vec<Line<'static>> {
    let said = model.said.last().filter(|_| model.saying);
    let mut lines = said.map_or_else(Vec::new, |said| said_lines(model, said, width));
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
        Mode::Bins(page) => lines.extend(bins::lines(model, page, width)),
        Mode::Checklist(page) => lines.extend(checklist::line(model, page, width)),
        Mode::Fill(page) => lines.extend(page.name.iter().map(|name| fill::name_line(model, name, width))),
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

/// What is typed on the floor, and what enter makes of it.
fn typed_line(model: &Model, width: usize) -> Line<'static> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let typed = model.written(&model.typed, width.saturating_sub(2));
    let meant = match model.chosen_vessel() {
        Some(vessel) if model.round().is_some() && looks_like_litres(&model.typed) => {
            let (label, more) = (&vessel.label, model.typed.ends_with(correcting::MORE));
            let (whole, short) = match model.done_within() {
                Some(_) if more => (format!("   litres more into {label}"), "   litres more"),
                Some(_) => (
                    format!("   litres that {label} took in all; with + behind them more"),
                    "   litres in all; with + behind them more",
                ),
                None => (
                    format!("   litres into {label}; with p behind them not to the brim"),
                    "   litres; with p behind them not to the brim",
                ),
            };
            // Where the label leaves no room for all of it, what the sign does is said, and the card says where one stands.
            if columns(&whole) + columns(&typed) + 1 > width { short.to_owned() } else { whole }
        }
        Some(vessel) if model.done_within().is_some() && looks_like_a_measure(&model.typed) => {
            let (unit, _) = works::unit(model).unwrap_or(("litres", "L"));
            format!("   {unit} at {} in all; with + behind them more; or a label", vessel.label)
        }
        Some(vessel) if model.working.is_some() && looks_like_a_measure(&model.typed) => {
            let (unit, _) = works::unit(model).unwrap_or(("litres", "L"));
            format!("   {unit} at {}, or a label", vessel.label)
        }
        _ => "   a label or a place to go to".to_owned(),
    };
    let meant = if model.marked.on { "   backspace edits it, another key starts anew".to_owned() } else { meant };
    let room = width.saturating_sub(columns(&typed) + 1);
    Line::from(vec![
        Span::styled(format!(" {typed}"), theme.style(Meaning::Strong)),
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
