//! The floor: the rows of a room, each drawn as one sees it standing in its aisle.
//!
//! Stacks stand side by side, tiers upward, and the barrels of a rack share one pair of brackets:
//!
//! ```text
//!  A    01       02       03
//!  2( 23  23)( 23 H23)(  ·   ·)
//!  1( 23  23)( 23▸ 23◂(  3   3)
//! ```

pub mod begin;
mod beside;
pub(in crate::tui) mod card;
pub mod colouring;
pub(in crate::tui) mod head;
pub(in crate::tui) mod plan;
pub(in crate::tui) mod walking;
pub(in crate::tui) mod work_pages;
pub mod works;

use std::collections::VecDeque;

pub mod despite;
pub(super) mod elsewhere;
pub mod ending;
pub mod find;
pub(super) mod for_another;
pub mod holding;
pub mod importing;
pub mod jump;
mod lifting;
pub mod lot_review;
pub(super) mod naming;
pub mod page;
pub mod pictures;
mod typed;
mod why_not;
pub mod words;
pub mod works_page;

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use crate::cellar::core::state::Room;
use crate::cellar::jobs::floor::room::RowLaidOut;
use crate::tui::core::cursor::Cursor;
use crate::tui::core::draw::write;
use crate::tui::core::model::Model;
use crate::tui::core::text::{columns, fit};
use crate::tui::core::theme::Meaning;
use crate::tui::floor::colouring::{CELL, Colouring, GLASS, Palette, WEEPS, lot_letters, lots_in_room};

/// Columns before the first rack: the row's label or the tier's number.
const MARGIN: u16 = 3;

/// What is drawn, and how its cells are coloured.
type Shown<'a> = (&'a Model, &'a Palette<'a>);

/// Draws the rows.
pub(super) fn draw(model: &Model, palette: &Palette<'_>, frame: &mut Frame<'_>, area: Rect) {
    let Some(cursor) = model.cursor else {
        nothing(model, frame, area);
        return;
    };
    let room = model.state.rooms.get(cursor.room);
    let mut legend = legend(model, palette, cursor, usize::from(area.width));
    legend.extend(at_no_place(model, palette, cursor, usize::from(area.width)));
    let legend_height = u16::try_from(legend.len()).unwrap_or(0).min(area.height / 3);
    let rows = Rect { height: area.height - legend_height, ..area };
    let page = visible_rows(room, cursor.row, rows);
    for &(row, y) in &page {
        draw_row((model, palette), frame, row, Rect { y, height: rows.bottom() - y, ..rows }, cursor);
    }
    more_rows(model, frame, room, &page, rows);
    // The key to the marks takes only a line that is free anyway.
    let end = page.last().map_or(rows.y, |&(row, y)| y.saturating_add(height(&room.rows[row]) - 1));
    if end < rows.bottom() {
        let line = marks_line(model, palette, usize::from(rows.width));
        frame.render_widget(line, Rect { y: rows.bottom() - 1, height: 1, ..rows }.intersection(frame.area()));
    }
    for (line, y) in legend.iter().zip(rows.bottom()..area.bottom()) {
        write(frame, Rect { y, height: 1, ..area }, line, model.looks.theme.style(Meaning::Muted));
    }
}

fn nothing(model: &Model, frame: &mut Frame<'_>, area: Rect) {
    if !model.opened {
        return;
    }
    let text = "Nothing stands here yet. Press enter and choose 'Begin a cellar'.";
    let lines = crate::tui::core::text::wrap(text, usize::from(area.width.saturating_sub(2)), model.looks.marks);
    for (line, y) in lines.iter().zip(area.y + 1..area.bottom()) {
        write(
            frame,
            Rect { x: area.x + 1, y, width: area.width.saturating_sub(1), height: 1 },
            line,
            model.looks.theme.style(Meaning::Base),
        );
    }
}

/// Lines that a row takes: its label, its tiers, a space.
fn height(row: &RowLaidOut) -> u16 {
    row.tiers + 2
}

/// The rows of the page that the chosen row is on, with the line that each begins at. Pages are whole rows, so that a
/// row stands still while the cursor walks along it.
fn visible_rows(room: &Room, chosen: usize, area: Rect) -> Vec<(usize, u16)> {
    let mut page = Vec::new();
    let mut y = area.y;
    for (row, laid) in room.rows.iter().enumerate() {
        // The space after the last row of a page may be cut off.
        if !page.is_empty() && y + height(laid) > area.bottom() + 1 {
            if page.iter().any(|&(row, _)| row == chosen) {
                break;
            }
            page.clear();
            y = area.y;
        }
        page.push((row, y));
        y = y.saturating_add(height(laid));
    }
    page
}

/// Says whether there are rows before and after those in sight, beside the arrows for stacks.
fn more_rows(model: &Model, frame: &mut Frame<'_>, room: &Room, page: &[(usize, u16)], area: Rect) {
    let (Some(&(first, top)), Some(&(last, bottom))) = (page.first(), page.last()) else { return };
    let marks = model.looks.marks;
    let arrows = [(first > 0, top, marks.up, 4), (last + 1 < room.rows.len(), bottom, marks.down, 3)];
    for (there, y, arrow, from_right) in arrows {
        if there {
            let at = Rect { x: area.right().saturating_sub(from_right), y, width: 1, height: 1 };
            write(frame, at, &arrow.to_string(), model.looks.theme.style(Meaning::Strong));
        }
    }
}

/// What the marks of the cells stand for, each as it looks there. Where that is too long, what can be done without goes:
/// the colours of the digits, which the card says in words, then the marks at the end.
fn marks_line(model: &Model, palette: &Palette<'_>, width: usize) -> Line<'static> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let mut entries = VecDeque::new();
    let colours = if palette.colouring == Colouring::Days { 2 } else { 0 };
    entries.extend([("due".to_owned(), Meaning::Due), ("over".to_owned(), Meaning::Over)].into_iter().take(colours));
    if !palette.for_bench.is_empty() {
        entries.push_back((format!("{GLASS} for a glass"), Meaning::Strong));
    }
    if lifting::is_one_lifted(model) {
        entries.push_back(("[ ] lifted".to_owned(), Meaning::Strong));
    }
    entries.push_back(("H held".to_owned(), Meaning::Held));
    entries.push_back((format!("{WEEPS} weeps"), Meaning::Muted));
    if model.working.is_some() {
        let marked = [format!("{} to do", marks.bullet), format!("{} done", marks.yes), "s skipped".to_owned()];
        entries.extend(marked.map(|text| (text, Meaning::Muted)));
    }
    if model.round().is_some() {
        let marked = [format!("{} done", marks.yes), "s skipped".to_owned(), "p in part".to_owned()];
        entries.extend(marked.map(|text| (text, Meaning::Muted)));
    }
    entries.push_back((format!("{} empty", marks.empty), Meaning::Empty));
    let is_too_long = |entries: &VecDeque<(String, Meaning)>| {
        entries.iter().map(|(text, _)| columns(text) + 2).sum::<usize>() > width + 1
    };
    for _ in 0..colours {
        if is_too_long(&entries) {
            entries.pop_front();
        }
    }
    while is_too_long(&entries) {
        entries.pop_back();
    }
    let mut spans = vec![Span::raw(" ")];
    for (text, meaning) in entries {
        spans.extend([Span::styled(text, theme.style(meaning)), Span::raw("  ")]);
    }
    Line::from(spans)
}

/// Columns that a rack takes: a bracket, its barrels with spaces between, a bracket.
fn rack_width(row: &RowLaidOut) -> u16 {
    let cell = u16::try_from(CELL).unwrap_or(0);
    u16::from(row.sides) * (cell + 1) + 1
}

/// The stacks of a row that are in sight: whole pages of them, so that they stand still too.
fn visible_stacks(row: &RowLaidOut, chosen: u16, width: u16) -> std::ops::RangeInclusive<u16> {
    let fit = (width.saturating_sub(MARGIN) / rack_width(row)).max(1);
    let first = (chosen - 1) / fit * fit + 1;
    first..=(first + fit - 1).min(row.stacks)
}

fn draw_row((model, palette): Shown<'_>, frame: &mut Frame<'_>, row: usize, area: Rect, cursor: Cursor) {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let laid = &model.state.rooms.get(cursor.room).rows[row];
    let chosen = if row == cursor.row { cursor.stack } else { cursor.stack.min(laid.stacks) };
    let stacks = visible_stacks(laid, chosen, area.width);
    let label = fit(&format!(" {}", laid.row), usize::from(MARGIN), marks);
    let here = if row == cursor.row { Meaning::Title } else { Meaning::Strong };
    write(frame, Rect { height: 1, ..area }, &label, theme.style(here));
    let rack = rack_width(laid);
    for (stack, x) in stacks.clone().zip((area.x + MARGIN..).step_by(usize::from(rack))) {
        let number = format!("{stack:02}");
        let middle = x + (rack - 2) / 2;
        write(frame, Rect { x: middle, y: area.y, width: rack, height: 1 }, &number, theme.style(Meaning::Muted));
        for tier in 1..=laid.tiers {
            let y = area.y + 1 + laid.tiers - tier;
            if y < area.bottom() {
                let at = Cursor { row, stack, tier, side: 0, ..cursor };
                draw_rack(
                    (model, palette),
                    frame,
                    at,
                    cursor,
                    Rect { x, y, width: area.right().saturating_sub(x), height: 1 },
                );
            }
        }
    }
    for tier in 1..=laid.tiers {
        let y = area.y + 1 + laid.tiers - tier;
        if y < area.bottom() {
            write(frame, Rect { y, height: 1, ..area }, &format!(" {tier}"), theme.style(Meaning::Muted));
        }
    }
    let more = Rect { x: area.right().saturating_sub(2), width: 2, height: 1, ..area };
    let (before, after) = (*stacks.start() > 1, *stacks.end() < laid.stacks);
    let arrow = |there: bool, arrow: char| if there { arrow } else { ' ' };
    let arrows = format!("{}{}", arrow(before, marks.left), arrow(after, marks.right));
    write(frame, more, &arrows, theme.style(Meaning::Strong));
}

fn draw_rack((model, palette): Shown<'_>, frame: &mut Frame<'_>, rack: Cursor, cursor: Cursor, area: Rect) {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let state = &model.state;
    let sides = state.rooms.get(rack.room).rows[rack.row].sides;
    let lifted = lifting::is_lifted(model, rack);
    let bracket = theme.style(if lifted { Meaning::Strong } else { Meaning::Muted });
    let (open, close) = if lifted { ("[", "]") } else { ("(", ")") };
    write(frame, area, open, bracket);
    let mut x = area.x + 1;
    let cell = u16::try_from(CELL).unwrap_or(0);
    for side in 0..sides {
        let at = Cursor { side, ..rack };
        let chosen = at == cursor && model.aside.is_none();
        let (text, style) = match at.vessel(state) {
            Some(id) => palette.cell(id),
            None => (" ".repeat(CELL), theme.style(Meaning::Empty)),
        };
        let style = if chosen { theme.selected(style) } else { style };
        write(frame, Rect { x, width: cell.min(area.right().saturating_sub(x)), ..area }, &text, style);
        let between = if side + 1 == sides { close } else { " " };
        write(frame, Rect { x: x + cell, width: 1, ..area }, between, bracket);
        if chosen {
            let strong = theme.style(Meaning::Strong);
            write(frame, Rect { x: x - 1, width: 1, ..area }, &marks.chosen_left.to_string(), strong);
            write(frame, Rect { x: x + cell, width: 1, ..area }, &marks.chosen_right.to_string(), strong);
        } else if side > 0 && (Cursor { side: side - 1, ..rack }) == cursor && model.aside.is_none() {
            // The mark right of the chosen barrel stays.
            let strong = theme.style(Meaning::Strong);
            write(frame, Rect { x: x - 1, width: 1, ..area }, &marks.chosen_right.to_string(), strong);
        }
        x += cell + 1;
    }
}

/// The barrels at no place that are topped in the rounds of this room, each with what its cell would show.
fn at_no_place(model: &Model, palette: &Palette<'_>, cursor: Cursor, width: usize) -> Option<String> {
    let marks = model.looks.marks;
    let shown = |id| {
        let (text, _) = palette.cell(id);
        let label = &model.state.vessels.get(id).label;
        let chosen = model.aside == Some(id);
        let (left, right) = if chosen { (marks.chosen_left, marks.chosen_right) } else { ('(', ')') };
        format!("{label} {left}{text}{right}")
    };
    let barrels: Vec<String> = model.state.unplaced_of(cursor.room).into_iter().map(shown).collect();
    (!barrels.is_empty()).then(|| fit(&format!(" at no place: {}", barrels.join("  ")), width, marks))
}

/// What the letters of the lot colouring stand for, in as few lines as they take.
fn legend(model: &Model, palette: &Palette<'_>, cursor: Cursor, width: usize) -> Vec<String> {
    if palette.colouring != Colouring::Lot {
        return Vec::new();
    }
    let mut lines = vec![String::new()];
    for (lot, _, count) in lots_in_room(&model.state, cursor.room) {
        let entry = format!(" {} {} ({count}) ", lot_letters(lot), model.state.lots.get(lot).label);
        match lines.last_mut() {
            Some(line) if columns(line) + columns(&entry) <= width => line.push_str(&entry),
            _ => lines.push(entry),
        }
    }
    lines.iter().map(|line| fit(line, width, model.looks.marks)).collect()
}
