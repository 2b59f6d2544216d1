//! A printable page on the screen: its plain text, headings without the line under them, and what is wider than the page going on below.

use ratatui::text::Line;

use crate::sheets::core::document::Document;
use crate::sheets::core::{plain, wrap};
use crate::tui::core::model::Model;
use crate::tui::core::theme::Meaning;

/// A line of a table that is wider than the page goes on in the next line, so far to the right.
const GOES_ON: &str = "    ";

/// The lines of a printable page for so many columns, without its title, which stands in the head.
pub(in crate::tui) fn lines(model: &Model, document: &Document, width: usize) -> Vec<Line<'static>> {
    let theme = model.looks.theme;
    let plus_minus = model.looks.marks.plus_minus.to_string();
    let text = plain::text(document, width).replace('±', &plus_minus);
    let mut told = text.lines().skip(2).peekable();
    let mut lines = Vec::new();
    while let Some(line) = told.next() {
        if told.next_if(|below| is_rule(below)).is_some() {
            told.next_if(|below| below.is_empty());
            lines.push(Line::styled(line.to_owned(), theme.style(Meaning::Title)));
            continue;
        }
        lines.extend(broken(line, width).into_iter().map(|line| Line::styled(line, theme.style(Meaning::Base))));
    }
    lines
}

/// The line under a heading.
fn is_rule(line: &str) -> bool {
    !line.is_empty() && line.chars().all(|character| character == '-')
}

/// A line in as many as the page needs.
fn broken(line: &str, width: usize) -> Vec<String> {
    let mut lines = wrap::wrapped(line, width);
    if lines.len() > 1 {
        let first = lines.remove(0);
        let rest = wrap::wrapped(&lines.join(" "), width.saturating_sub(GOES_ON.len()));
        lines = vec![first];
        lines.extend(rest.iter().map(|line| format!("{GOES_ON}{}", line.trim_start())));
    }
    lines
}
