//! What lies on top of the floor: find box, choice of a vessel, summary.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;
use ratatui::widgets::{Block, Clear};

use crate::tui::draw::write_lines;
use crate::tui::fill;
use crate::tui::model::{Mode, Model};
use crate::tui::text::left;
use crate::tui::theme::Meaning;

/// Wider than so many columns no page of words is drawn.
const WIDEST: u16 = 100;

/// A page as it is laid out in the room that it has.
struct Page {
    /// Where it lies.
    area: Rect,
    title: String,
    lines: Vec<Line<'static>>,
    /// The line that is asked for at its top.
    from: usize,
}

impl Page {
    /// A page as wide as its room.
    fn wide(room: Rect, title: String, lines: Vec<Line<'static>>, from: usize) -> Page {
        let wanted = u16::try_from(lines.len() + 2).unwrap_or(u16::MAX);
        let height = wanted.min(room.height);
        let area = Rect { y: room.y + (room.height - height) / 2, height, ..room };
        Page { area, title, lines, from }
    }

    /// A page no wider than is read with ease.
    fn narrow(room: Rect, title: impl Into<String>, lines: Vec<Line<'static>>, from: usize) -> Page {
        let width = room.width.min(WIDEST);
        Page::wide(Rect { x: room.x + (room.width - width) / 2, width, ..room }, title.into(), lines, from)
    }

    /// The last line that it can be shown from: its end is in sight then.
    fn last_from(&self) -> usize {
        self.lines.len().saturating_sub(inner_height(self.area))
    }

    fn draw(self, model: &Model, frame: &mut Frame<'_>) {
        let theme = model.looks.theme;
        let from = self.from.min(self.last_from());
        let block = Block::bordered()
            .border_set(model.looks.marks.border)
            .border_style(theme.style(Meaning::Muted))
            .title(Line::styled(format!(" {} ", self.title), theme.style(Meaning::Title)));
        let more = |is_there: bool, arrow: char| {
            let text = if is_there { format!(" {arrow} more ") } else { String::new() };
            Line::styled(text, theme.style(Meaning::Strong))
        };
        let block = block
            .title_top(more(from > 0, model.looks.marks.up).right_aligned())
            .title_bottom(more(from < self.last_from(), model.looks.marks.down));
        let inner = block.inner(self.area);
        frame.render_widget(Clear, self.area);
        frame.render_widget(block, self.area);
        let inner = Rect { x: inner.x + 1, width: inner.width.saturating_sub(2), ..inner };
        write_lines(frame, inner, self.lines.into_iter().skip(from).collect());
    }
}

/// Draws what lies on top, if anything does.
pub(super) fn draw(model: &Model, frame: &mut Frame<'_>, body: Rect) {
    if let Some(page) = laid_out(model, body) {
        page.draw(model, frame);
    }
}

/// The last line that what lies on top can be shown from.
pub(super) fn last_from(model: &Model, body: Rect) -> usize {
    laid_out(model, body).map_or(0, |page| page.last_from())
}

/// What lies on top, if anything does.
fn laid_out(model: &Model, body: Rect) -> Option<Page> {
    let (width, height) = (inner_width(body), inner_height(body));
    let page = match &model.mode {
        Mode::Floor => return None,
        Mode::Fill(shown) => {
            let (title, lines, from) = fill::page(model, shown, width, height);
            Page::narrow(body, title, lines, from)
        }
    };
    Some(page)
}

fn inner_width(body: Rect) -> usize {
    usize::from(body.width.min(WIDEST).saturating_sub(4))
}

fn inner_height(body: Rect) -> usize {
    usize::from(body.height.saturating_sub(2))
}

pub(super) fn choice_line(model: &Model, chosen: bool, text: &str, width: usize) -> Line<'static> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let mark = if chosen { marks.chosen_left } else { ' ' };
    let style = if chosen { theme.selected(theme.style(Meaning::Base)) } else { theme.style(Meaning::Base) };
    Line::styled(left(&format!("{mark} {text}"), width, marks), style)
}
