//! The whole frame, where there is room for one; and what is drawn on any page: lines, two columns, a name and what it is.
//!
//! **Too small** a terminal takes only **q** (`draw::is_too_small`): what cannot be seen is not done.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect, Size};
use ratatui::style::Style;
use ratatui::text::{Line, Span};

use crate::tui::core::frame as pages;
use crate::tui::core::model::Model;
use crate::tui::core::text::{columns, fit, left, wrap};
use crate::tui::core::theme::Meaning;

/// Below this nothing sensible can be shown.
const LEAST: (u16, u16) = (60, 16);
/// From this width on a card stands beside what is drawn.
pub(in crate::tui) const CARD_FROM: u16 = 76;

/// Draws the frame.
pub(in crate::tui) fn draw(model: &Model, frame: &mut Frame<'_>) {
    let area = frame.area();
    if is_too_small(area.as_size()) {
        too_small(model, frame, area);
        return;
    }
    pages::draw(model, frame);
}

/// Whether a terminal is too small for anything to be shown, so that no key may do anything.
pub(in crate::tui) fn is_too_small(size: Size) -> bool {
    size.width < LEAST.0 || size.height < LEAST.1
}

/// Head, body, message and keys, one below the other.
pub(in crate::tui) fn stripes(area: Rect, message_lines: usize) -> [Rect; 4] {
    let message_height = u16::try_from(message_lines.max(1)).unwrap_or(1);
    Layout::vertical([
        Constraint::Length(2),
        Constraint::Min(0),
        Constraint::Length(message_height),
        Constraint::Length(1),
    ])
    .areas(area)
}

fn too_small(model: &Model, frame: &mut Frame<'_>, area: Rect) {
    let (width, height) = LEAST;
    let mut text = format!("Too small: {width}×{height} is needed, this is {}×{}. q leaves.", area.width, area.height);
    if let Some(said) = model.said.last().filter(|_| model.saying) {
        text = format!("{text} {}", said.text);
    }
    let lines = wrap(&text, usize::from(area.width), model.looks.marks);
    for (line, y) in lines.iter().zip(area.y..area.bottom()) {
        write(frame, Rect { y, height: 1, ..area }, line, model.looks.theme.style(Meaning::Warning));
    }
}

/// Writes one line, cut to its area.
pub(in crate::tui) fn write(frame: &mut Frame<'_>, area: Rect, text: &str, style: Style) {
    let area = area.intersection(frame.area());
    if area.width > 0 && area.height > 0 {
        frame.buffer_mut().set_stringn(area.x, area.y, text, usize::from(area.width), style);
    }
}

/// Writes lines down an area, as many as fit.
pub(in crate::tui) fn write_lines(frame: &mut Frame<'_>, area: Rect, lines: Vec<Line<'static>>) {
    for (line, y) in lines.into_iter().zip(area.y..area.bottom()) {
        frame.render_widget(line, Rect { y, height: 1, ..area });
    }
}

/// Words in as many lines as they take.
pub(in crate::tui) fn paragraph(model: &Model, text: &str, width: usize, meaning: Meaning) -> Vec<Line<'static>> {
    let style = model.looks.theme.style(meaning);
    wrap(text, width, model.looks.marks).into_iter().map(|line| Line::styled(line, style)).collect()
}

/// Lines in two columns, the first of which has a width; what stands between them is drawn on every line.
pub(in crate::tui) fn beside(
    mut ours: Vec<Line<'static>>,
    mut theirs: Vec<Line<'static>>,
    column: usize,
    between: &[Span<'static>],
) -> Vec<Line<'static>> {
    let height = ours.len().max(theirs.len());
    ours.resize(height, Line::default());
    theirs.resize(height, Line::default());
    let joined = |(ours, theirs): (Line<'static>, Line<'static>)| {
        let space = " ".repeat(column.saturating_sub(ours.width()));
        let mut spans = styled_spans(&ours);
        spans.push(Span::raw(space));
        spans.extend(between.iter().cloned());
        spans.extend(styled_spans(&theirs));
        Line::from(spans)
    };
    ours.into_iter().zip(theirs).map(joined).collect()
}

/// The spans of a line with its own style in each.
fn styled_spans(line: &Line<'static>) -> Vec<Span<'static>> {
    line.spans.iter().map(|span| Span::styled(span.content.clone(), line.style.patch(span.style))).collect()
}

/// A name and what it is, in one line of exactly so many columns.
pub(in crate::tui) fn pair(model: &Model, name: &str, what: &str, width: usize, style: Style) -> Line<'static> {
    let marks = model.looks.marks;
    let name_width = columns(name) + 1;
    Line::from(vec![
        Span::styled(left(name, name_width, marks), model.looks.theme.style(Meaning::Muted)),
        Span::styled(fit(what, width.saturating_sub(name_width), marks), style),
    ])
}

/// A name and what it is, in as many lines as that takes: the further ones stand under what it is.
pub(in crate::tui) fn pairs(model: &Model, name: &str, what: &str, width: usize, style: Style) -> Vec<Line<'static>> {
    let name_width = columns(name) + 1;
    let parts = wrap(what, width.saturating_sub(name_width), model.looks.marks);
    let named = |(at, part): (usize, String)| pair(model, if at == 0 { name } else { "" }, &part, width, style);
    let under = |(at, line): (usize, Line<'static>)| {
        if at == 0 { line } else { Line::from([vec![Span::raw(" ".repeat(name_width - 1))], line.spans].concat()) }
    };
    parts.into_iter().enumerate().map(named).enumerate().map(under).collect()
}
