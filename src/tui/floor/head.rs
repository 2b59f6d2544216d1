//! The two lines at the top: the room and the day, the round and how far it has come.

use ratatui::Frame;
use ratatui::layout::Rect;

use crate::cellar::core::state::{RoomId, RoundId, WorkId};
use crate::reckon::due::Due;
use crate::tui::core::draw::{CARD_FROM, write};
use crate::tui::core::frame::corner;
use crate::tui::core::model::Model;
use crate::tui::core::text::{columns, fit, left};
use crate::tui::core::theme::Meaning;
use crate::tui::floor::page::Floor;
use crate::tui::floor::work_pages;
use crate::units::{counted, litres};

/// A work's name is not cut below so many columns.
const LEAST_NAME: usize = 24;

/// Draws the head.
pub(super) fn draw(page: &Floor, model: &Model, frame: &mut Frame<'_>, area: Rect) {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let width = usize::from(area.width);
    // Where the card has no room, what is chosen stands in place of the date.
    let told = area.width < CARD_FROM;
    let date = if told { chosen(model) } else { model.now.show_weekday() };
    let (date, meaning) = corner(model, &date, width);
    let title = match model.room() {
        Some(_) if told && model.behalf.is_some() => format!(" {}", chosen(model)),
        Some(room) => format!(" {}   {}", model.state.rooms.get(room).label, shown(page, model)),
        None if model.opened => " No room is laid out yet".to_owned(),
        None => " Opening the cellar".to_owned(),
    };
    let title = left(&title, width.saturating_sub(columns(&date)), marks);
    let first = Rect { height: 1, ..area };
    write(frame, first, &title, theme.style(Meaning::Title));
    let date_width = u16::try_from(columns(&date)).unwrap_or(0).min(area.width);
    let at = Rect { x: area.right() - date_width, width: date_width, ..first };
    write(frame, at, &date, theme.style(meaning));
    let second = match (model.room(), model.round(), model.working) {
        (_, _, Some(work)) => work_line(model, work, width.saturating_sub(2)),
        (Some(_), Some(round), None) => round_line(model, round, width.saturating_sub(2)),
        (Some(room), None, None) => room_line(model, room),
        (None, _, None) => String::new(),
    };
    let below = Rect { y: area.y + 1, height: 1, ..area };
    write(frame, below, &fit(&format!(" {second}"), width, marks), theme.style(Meaning::Base));
}

/// What is under way, for the head of a page that fills the screen: the work or the round that the floor's keys act on.
pub(in crate::tui) fn under_way(model: &Model, width: usize) -> String {
    match (model.round(), model.working) {
        (_, Some(work)) => work_line(model, work, width),
        (Some(round), None) => round_line(model, round, width),
        (None, None) => String::new(),
    }
}

fn shown(page: &Floor, model: &Model) -> String {
    format!("{} {}", model.looks.marks.between, page.colouring.title())
}

/// The place under the cursor and what lies there.
fn chosen(model: &Model) -> String {
    let place = model.cursor.filter(|_| model.aside.is_none()).and_then(|cursor| {
        let room = model.state.rooms.get(cursor.room);
        room.place(cursor.slot(&model.state)?)
    });
    let place = place.map_or_else(String::new, |place| place.within_room());
    let label = model.chosen_vessel().map_or("", |vessel| vessel.label.as_str());
    format!("{place} {label}")
}

/// The round and how far it has come. Where that is too long, what can be done without goes: when it began, then what
/// was poured.
fn round_line(model: &Model, round: RoundId, width: usize) -> String {
    let state = &model.state;
    let progress = state.progress(round, None, model.now);
    let round = state.rounds.get(round);
    let source = match round.source.map(|source| state.vessels.get(source)) {
        Some(source) => format!("from {}, {} left", source.label, litres(source.volume())),
        None => "no topping vessel".to_owned(),
    };
    let mut parts = vec![
        format!("round of {}", round.begun.show_day()),
        source,
        format!("{} of {} done", progress.done, progress.of),
        format!("{} poured", litres(round.poured)),
    ];
    if progress.skipped > 0 {
        parts.push(format!("{} skipped", progress.skipped));
    }
    if progress.in_part > 0 {
        parts.push(format!("{} in part", progress.in_part));
    }
    if progress.held > 0 {
        parts.push(format!("{} held", progress.held));
    }
    shortened(model, parts, [0, 2], width)
}

/// The work and how far it has come. It is always named, with its lot: where the line is too long its name is cut down to its
/// least first, then what stands last goes.
fn work_line(model: &Model, id: WorkId, width: usize) -> String {
    let between = format!(" {} ", model.looks.marks.between);
    let work = model.state.works.get(id);
    let mut others = work_pages::head_parts(model, id);
    let room =
        |others: &[String]| width.saturating_sub(others.iter().map(|part| columns(part) + columns(&between)).sum());
    while others.len() > 1 && room(&others) < LEAST_NAME {
        others.pop();
    }
    let name = work_pages::name_with_lot(model, work, room(&others).max(LEAST_NAME));
    std::iter::once(name).chain(others).collect::<Vec<_>>().join(&between)
}

/// Parts in one line. Where they are too long, the dispensable ones go, one after the other.
fn shortened(model: &Model, mut parts: Vec<String>, dispensable: [usize; 2], width: usize) -> String {
    let between = format!(" {} ", model.looks.marks.between);
    for dispensable in dispensable {
        if columns(&parts.join(&between)) > width && dispensable < parts.len() {
            parts.remove(dispensable);
        }
    }
    parts.join(&between)
}

fn room_line(model: &Model, room: RoomId) -> String {
    let state = &model.state;
    let (mut filled, mut due, mut over, mut held, mut empty) = (0, 0, 0, 0, 0);
    for &id in state.rooms.get(room).slots.iter().flatten() {
        let vessel = state.vessels.get(id);
        if vessel.wine.is_empty() {
            empty += 1;
        } else {
            filled += 1;
        }
        held += u32::from(vessel.held.is_some());
        match state.due(vessel, model.now) {
            Some(Due::Due) => due += 1,
            Some(Due::Over) => over += 1,
            Some(Due::Fine) | None => {}
        }
    }
    let parts = [
        format!("{} with wine", counted(filled, "barrel")),
        format!("{due} due"),
        format!("{over} over"),
        format!("{held} held"),
        format!("{empty} empty"),
    ];
    parts.join(&format!(" {} ", model.looks.marks.between))
}
