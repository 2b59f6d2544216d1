//! How the pages are drawn: one that fills the screen under its own head, what stands over it in a box, the message and the
//! keys below.

use ratatui::Frame;
use ratatui::layout::{Position, Rect};
use ratatui::text::Line;
use ratatui::widgets::{Block, Clear};

use super::bottom;
use super::page::Page;
use crate::tui::core::draw::{stripes, write, write_lines};
use crate::tui::core::message;
use crate::tui::core::model::Model;
use crate::tui::core::text::{columns, fit, left};
use crate::tui::core::theme::Meaning;

/// Words are read with ease in so many columns.
const WIDEST: u16 = 100;
/// What stands over a page is no wider …
const BOX_WIDEST: u16 = 78;
/// … and takes no more than so many lines.
const BOX_LINES: u16 = 14;
/// What is entered for somebody leaves so many columns for what the page is.
const LEAST_TITLE: usize = 16;

/// Draws the pages over what has been drawn of the floor.
pub(in crate::tui) fn draw(model: &Model, frame: &mut Frame<'_>) {
    let Some(top) = model.pages.top() else { return };
    let area = frame.area();
    let width = usize::from(area.width);
    let lines: Vec<Line<'static>> = [message::said(model, width, area.height), top.asks(model, width)].concat();
    let [head, body, said, keys] = stripes(area, lines.len());
    for page in model.pages.in_sight() {
        if page.is_over() {
            draw_over(model, page, frame, body);
        } else if page.has_own_head() {
            // Under a head of its own there is no place that is the same on every such page: it stands below.
            let (caution, rest) = below_caution(model, page, head.union(body), area.height);
            let height = rest.height;
            write_lines(frame, Rect { y: head.y + height, height: rest.y - head.y, ..rest }, caution);
            page.draw(model, frame, Rect { y: head.y, ..rest });
            if model.behalf.is_some() {
                let (words, meaning) = corner(model, "", width);
                write_right(frame, Rect { height: 1, ..head }, &words, model.looks.theme.style(meaning));
            }
        } else {
            frame.render_widget(Clear, area);
            draw_head(model, page, frame, head, body);
            let (caution, rest) = below_caution(model, page, body, area.height);
            write_lines(frame, body, caution);
            page.draw(model, frame, inside(page, rest));
        }
    }
    for stripe in [said, keys] {
        frame.render_widget(Clear, stripe);
    }
    write_lines(frame, said, lines);
    bottom::draw(model, top, frame, keys);
}

/// What can hurt somebody at the work of a page, and the room below that. It takes a fifth of the screen at most, else a line or two:
/// it hides nothing of what is worked on.
fn below_caution(model: &Model, page: &dyn Page, body: Rect, screen: u16) -> (Vec<Line<'static>>, Rect) {
    let most = (usize::from(screen) + 1) / 5;
    let lines = message::caution_lines(model, &page.caution(model), usize::from(body.width), most);
    let taken = u16::try_from(lines.len()).unwrap_or(body.height).min(body.height);
    (lines, Rect { y: body.y + taken, height: body.height - taken, ..body })
}

/// So many lines a page has less by what can hurt somebody at its work.
pub(in crate::tui) fn caution_height(model: &Model, page: &dyn Page) -> usize {
    below_caution(model, page, Rect::from((Position::ORIGIN, model.size)), model.size.height).0.len()
}

/// The room that a page has for its lines.
fn inside(page: &dyn Page, body: Rect) -> Rect {
    let width = body.width.saturating_sub(2);
    let width = if page.is_wide() { width } else { width.min(WIDEST) };
    Rect { x: body.x + 1, width, ..body }
}

/// The box of what stands over a page, and the room inside.
fn over(model: &Model, page: &dyn Page, body: Rect) -> (Rect, Rect) {
    let width = body.width.min(BOX_WIDEST);
    let most = body.height.min(BOX_LINES);
    let inner = usize::from(width.saturating_sub(4));
    let lines = page.lines(model, inner, usize::from(most.saturating_sub(2))).len();
    let height = u16::try_from(lines + 2).unwrap_or(most).min(most);
    let outer = Rect { x: body.x + (body.width - width) / 2, y: body.bottom() - height, width, height };
    let inside = Rect {
        x: outer.x + 2.min(outer.width),
        y: outer.y + 1.min(outer.height),
        width: outer.width.saturating_sub(4),
        height: outer.height.saturating_sub(2),
    };
    (outer, inside)
}

fn draw_over(model: &Model, page: &dyn Page, frame: &mut Frame<'_>, body: Rect) {
    let (outer, inner) = over(model, page, body);
    // A line that is written stands above the keys and has no box.
    if inner.height == 0 {
        return;
    }
    let theme = model.looks.theme;
    let block = Block::bordered()
        .border_set(model.looks.marks.border)
        .border_style(theme.style(Meaning::Muted))
        .title(Line::styled(format!(" {} ", page.title(model)), theme.style(Meaning::Title)));
    frame.render_widget(Clear, outer);
    frame.render_widget(block, outer);
    page.draw(model, frame, inner);
}

/// What stands in the corner, in at most half of so many columns: the day, or whatever the page has there, unless something is entered for
/// another day or another person: that stands there on every page, and a long name takes of what the page is.
pub(in crate::tui) fn corner(model: &Model, else_words: &str, width: usize) -> (String, Meaning) {
    let half = width / 2;
    let (words, room, meaning) = match &model.behalf {
        Some(behalf) => {
            let room = width.saturating_sub(LEAST_TITLE).max(half);
            (format!(" {}", behalf.words(half.saturating_sub(1))), room, Meaning::Warning)
        }
        None => (else_words.to_owned(), half, Meaning::Muted),
    };
    (fit(&format!("{words} "), room, model.looks.marks), meaning)
}

/// What the page is, and the day; below it what is under way, and how much of the page is in sight.
fn draw_head(model: &Model, page: &dyn Page, frame: &mut Frame<'_>, head: Rect, body: Rect) {
    let (theme, marks) = (model.looks.theme, model.looks.marks);
    let width = usize::from(head.width);
    let (day, meaning) = corner(model, &model.now.show_weekday(), width);
    let title = left(&format!(" {}", page.title(model)), width.saturating_sub(columns(&day)), marks);
    let first = Rect { height: 1, ..head };
    write(frame, first, &title, theme.style(Meaning::Title));
    write_right(frame, first, &day, theme.style(meaning));
    let sight = in_sight(model, page, body, frame.area().height);
    let room = width.saturating_sub(columns(&sight) + 1);
    let second = Rect { y: head.y + 1, height: 1, ..head };
    let under_way = page.below_title(model).unwrap_or_else(|| (model.house.under_way)(model, room.saturating_sub(2)));
    let under_way = fit(&format!(" {under_way}"), room, marks);
    write(frame, second, &under_way, theme.style(Meaning::Muted));
    write_right(frame, second, &sight, theme.style(Meaning::Strong));
}

fn write_right(frame: &mut Frame<'_>, area: Rect, text: &str, style: ratatui::style::Style) {
    let width = u16::try_from(columns(text)).unwrap_or(0).min(area.width);
    write(frame, Rect { x: area.right() - width, width, ..area }, text, style);
}

/// Which lines of a scrolled page are in sight; nothing where all are.
fn in_sight(model: &Model, page: &dyn Page, body: Rect, screen: u16) -> String {
    let Some(from) = page.line_shown() else { return String::new() };
    let area = inside(page, below_caution(model, page, body, screen).1);
    let lines = page.lines(model, usize::from(area.width), usize::from(area.height)).len();
    let height = usize::from(area.height);
    let last = lines.saturating_sub(height);
    if last == 0 {
        return String::new();
    }
    let from = from.min(last);
    let arrow = |is_there: bool, arrow: char| if is_there { arrow } else { ' ' };
    let (up, down) = (arrow(from > 0, model.looks.marks.up), arrow(from < last, model.looks.marks.down));
    format!("{up}{down} {}-{} of {lines} ", from + 1, from + height)
}

/// The last line that the page on top can be shown from by the size of the terminal as last told, while no message stands.
pub(super) fn last_from(model: &Model) -> usize {
    let Some(page) = model.pages.top() else { return 0 };
    let [_, body, _, _] = stripes(Rect::from((Position::ORIGIN, model.size)), 0);
    let area = if page.is_over() {
        over(model, page, body).1
    } else {
        inside(page, below_caution(model, page, body, model.size.height).1)
    };
    let lines = page.lines(model, usize::from(area.width), usize::from(area.height)).len();
    lines.saturating_sub(usize::from(area.height))
}
