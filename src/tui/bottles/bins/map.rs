//! The map of a store: its rows of bins, each with what it is and how many bottles lie there.
//!
//! ```text
//!     01     02     03
//!  A ✓  600 ░  300 ·
//! ```

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::Line;

use super::{Bins, Spot, card};
use crate::cellar::core::day::Day;
use crate::cellar::jobs::bottles::bottling::bins::{Bin, Holding, RowMap, StoreMap};
use crate::cellar::jobs::bottles::bottling::release::Readiness;
use crate::tui::core::draw::{CARD_FROM, write, write_lines};
use crate::tui::core::marks::Marks;
use crate::tui::core::model::Model;
use crate::tui::core::text::{columns, fit, right};
use crate::tui::core::theme::Meaning;
use crate::units::counted;

/// Columns before the first bin: the row's label.
const MARGIN: usize = 4;
/// The least columns of a bin, and the most where its name needs them.
const CELL: std::ops::RangeInclusive<usize> = 7..=16;
/// Lines that a row takes: its names, its bins, a space.
pub(super) const ROW: u16 = 3;

/// How a bin is marked, and how that looks.
pub(super) fn mark(holding: Holding, marks: &Marks) -> (char, Meaning) {
    match holding {
        Holding::Empty => (marks.empty, Meaning::Empty),
        Holding::One(Readiness::Released) => (marks.yes, Meaning::Fine),
        Holding::One(Readiness::ThisMonth) => (marks.bullet, Meaning::Due),
        Holding::One(Readiness::Resting) => (marks.band, Meaning::Base),
        Holding::One(Readiness::NoRelease) => ('?', Meaning::Muted),
        Holding::Mixed => (marks.times, Meaning::Held),
    }
}

/// Every mark with what it stands for.
const LEGEND: [(Holding, &str); 6] = [
    (Holding::One(Readiness::Released), "released"),
    (Holding::One(Readiness::ThisMonth), "this month"),
    (Holding::One(Readiness::Resting), "resting"),
    (Holding::One(Readiness::NoRelease), "no release set"),
    (Holding::Mixed, "mixed"),
    (Holding::Empty, "empty"),
];

/// Draws the map, what lies on it in sum, and the card of the chosen bin.
pub(super) fn draw(model: &Model, page: &Bins, frame: &mut Frame<'_>, area: Rect) {
    let maps = model.state.bin_maps();
    let [top, body] = Layout::vertical([Constraint::Length(1), Constraint::Min(0)]).areas(area);
    let side = match frame.area().width {
        0..CARD_FROM => 0,
        CARD_FROM..130 => 32,
        _ => 52,
    };
    let [floor, beside] = Layout::horizontal([Constraint::Min(0), Constraint::Length(side)]).areas(body);
    let bin = page.place.as_ref().and_then(|_| super::bin_at(&maps, page.spot));
    let Some(map) = maps.get(page.spot.store) else { return };
    let sums = sums(model, map, bin.filter(|_| side == 0));
    let base = model.looks.theme.style(Meaning::Base);
    write(frame, top, &fit(&sums, usize::from(top.width), model.looks.marks), base);
    let legend = legend(model, usize::from(floor.width));
    let below = u16::try_from(legend.len()).unwrap_or(0).min(floor.height / 2);
    let rows = Rect { height: floor.height - below, ..floor };
    draw_rows(model, map, page.spot, bin.is_some(), frame, rows);
    write_lines(frame, Rect { y: rows.bottom(), height: below, ..floor }, legend);
    if let Some(bin) = bin {
        card::draw(model, bin, frame, beside);
    }
}

/// What lies in a store, and what in none. Where the card has no room, the chosen bin comes first.
fn sums(model: &Model, map: &StoreMap, chosen: Option<&Bin>) -> String {
    let loose: u64 = model.state.not_laid_away().iter().map(|lying| lying.stock.there).sum();
    let (bins, empty) = (map.bins().count(), map.bins().filter(|bin| bin.lying.is_empty()).count());
    let parts = [
        chosen.map_or_else(String::new, |bin| format!("{} {}", bin.place, bin.bottles())),
        counted(map.bins().map(Bin::bottles).sum::<u64>(), "bottle"),
        format!("{empty} of {bins} bins empty"),
        format!("{} not laid away", counted(loose, "bottle")),
    ];
    let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    parts.join(&format!(" {} ", model.looks.marks.between))
}

/// What the marks stand for, in as few lines as they take.
fn legend(model: &Model, width: usize) -> Vec<Line<'static>> {
    let marks = model.looks.marks;
    let mut lines = vec![String::new()];
    for (holding, words) in LEGEND {
        let entry = format!("{} {words}  ", mark(holding, marks).0);
        match lines.last_mut() {
            Some(line) if columns(line) + columns(&entry) <= width => line.push_str(&entry),
            _ => lines.push(entry),
        }
    }
    let style = model.looks.theme.style(Meaning::Muted);
    lines.into_iter().map(|line| Line::styled(fit(&line, width, marks), style)).collect()
}

/// What a bin is called within its row.
fn name<'a>(map: &StoreMap, row: &RowMap, bin: &'a Bin) -> &'a str {
    let place = bin.place.as_str();
    let within = map.store.as_ref().and_then(|store| place.strip_prefix(store.as_str())?.strip_prefix('/'));
    let within = within.unwrap_or(place);
    let of_row = within.strip_prefix(row.row.as_str()).and_then(|rest| rest.strip_prefix('-'));
    of_row.filter(|_| !row.row.is_empty()).unwrap_or(within)
}

fn draw_rows(model: &Model, map: &StoreMap, spot: Spot, is_chosen: bool, frame: &mut Frame<'_>, area: Rect) {
    let longest = map.rows.iter().flat_map(|row| row.bins.iter().map(|bin| columns(name(map, row, bin)))).max();
    let cell = (longest.unwrap_or(0) + 2).clamp(*CELL.start(), *CELL.end());
    let across = ((usize::from(area.width).saturating_sub(MARGIN + 1)) / cell).max(1);
    // The space below the last row may be cut off.
    let down = usize::from(((area.height + 1) / ROW).max(1));
    let first = spot.row / down * down;
    for (index, row) in map.rows.iter().enumerate().skip(first).take(down) {
        let y = area.y + u16::try_from(index - first).unwrap_or(0) * ROW;
        let here = is_chosen && index == spot.row;
        // Pages of whole cells, so that they stand still while the cursor walks.
        let chosen = spot.bin.min(row.bins.len().saturating_sub(1));
        let from = chosen / across * across;
        let label = fit(&row.row, MARGIN - 1, model.looks.marks);
        let meaning = if here { Meaning::Title } else { Meaning::Strong };
        let style = model.looks.theme.style(meaning);
        write(frame, Rect { y: y + 1, height: 1, ..area }.intersection(area), &label, style);
        for (column, bin) in row.bins.iter().skip(from).take(across).enumerate() {
            let x = area.x + u16::try_from(MARGIN + column * cell).unwrap_or(u16::MAX);
            let width = u16::try_from(cell).unwrap_or(u16::MAX);
            let at = Rect { x, y, width, height: 2 }.intersection(area);
            draw_bin(model, name(map, row, bin), bin, here && from + column == spot.bin, frame, at);
        }
        more(
            model,
            [from > 0, from + across < row.bins.len()],
            frame,
            Rect { y, height: 1, ..area }.intersection(area),
        );
    }
    let marks = model.looks.marks;
    let arrows =
        [(first > 0, area.y, marks.up), (first + down < map.rows.len(), area.bottom().saturating_sub(1), marks.down)];
    for (_, y, arrow) in arrows.into_iter().filter(|(there, ..)| *there) {
        let at = Rect { x: area.right().saturating_sub(1), y, width: 1, height: 1 };
        write(frame, at, &arrow.to_string(), model.looks.theme.style(Meaning::Strong));
    }
}

fn more(model: &Model, there: [bool; 2], frame: &mut Frame<'_>, area: Rect) {
    let marks = model.looks.marks;
    let arrow = |there: bool, arrow: char| if there { arrow } else { ' ' };
    let arrows = format!("{}{}", arrow(there[0], marks.left), arrow(there[1], marks.right));
    let at = Rect { x: area.right().saturating_sub(3), width: 2, ..area };
    write(frame, at, &arrows, model.looks.theme.style(Meaning::Strong));
}

/// A bin: its name, and below it its mark and how many bottles lie there.
fn draw_bin(model: &Model, name: &str, bin: &Bin, chosen: bool, frame: &mut Frame<'_>, area: Rect) {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let cell = usize::from(area.width);
    let (glyph, meaning) = mark(bin.holding(Day::of(model.now.date())), marks);
    let count = if bin.lying.is_empty() { String::new() } else { bin.bottles().to_string() };
    write(
        frame,
        Rect { x: area.x + 1, height: 1, ..area }.intersection(area),
        &fit(name, cell.saturating_sub(2), marks),
        theme.style(Meaning::Muted),
    );
    if area.height < 2 {
        return;
    }
    let line = Rect { y: area.y + 1, height: 1, ..area };
    let inside = Rect { x: line.x + 1, width: line.width.saturating_sub(2), ..line };
    let text = format!("{glyph}{}", right(&count, cell.saturating_sub(3).min(6), marks));
    let style = theme.style(meaning);
    let style: Style = if chosen { theme.selected(style) } else { style };
    write(frame, inside, &text, style);
    if chosen {
        let strong = theme.style(Meaning::Strong);
        write(frame, Rect { width: 1, ..line }, &marks.chosen_left.to_string(), strong);
        let end = line.x + 1 + u16::try_from(columns(&text)).unwrap_or(0);
        write(frame, Rect { x: end, width: 1, ..line }, &marks.chosen_right.to_string(), strong);
    }
}
