//! A line of a list.

use ratatui::text::Line;

use crate::tui::model::Model;
use crate::tui::text::left;
use crate::tui::theme::Meaning;

/// A line of a list, marked where it is chosen.
pub(super) fn choice_line(model: &Model, chosen: bool, text: &str, width: usize) -> Line<'static> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let mark = if chosen { marks.chosen_left } else { ' ' };
    let style = if chosen { theme.selected(theme.style(Meaning::Base)) } else { theme.style(Meaning::Base) };
    Line::styled(left(&format!("{mark} {text}"), width, marks), style)
}
