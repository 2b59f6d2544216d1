//! The small plan of the whole room, one mark a rack or a stack, with the cursor in it.

use ratatui::Frame;
use ratatui::layout::Rect;

use crate::cellar::core::state::{Room, VesselId};
use crate::reckon::due::Due;
use crate::tui::core::draw::write;
use crate::tui::core::model::Model;
use crate::tui::core::text::{fit, wrap_parts};
use crate::tui::core::theme::Meaning;
use crate::tui::floor::colouring::WEEPS;

/// What stands in some places, the worst first: what one mark of the plan says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Worst {
    Nothing,
    Empty,
    Fine,
    Due,
    Over,
    Weeping,
    Held,
}

impl Worst {
    const fn mark(self) -> char {
        match self {
            Worst::Nothing => ' ',
            Worst::Empty => '-',
            Worst::Fine => 'o',
            Worst::Due => 'd',
            Worst::Over => '!',
            Worst::Weeping => WEEPS,
            Worst::Held => 'H',
        }
    }

    const fn meaning(self) -> Meaning {
        match self {
            Worst::Nothing | Worst::Empty => Meaning::Empty,
            Worst::Fine => Meaning::Fine,
            Worst::Due => Meaning::Due,
            Worst::Over => Meaning::Over,
            Worst::Weeping => Meaning::Warning,
            Worst::Held => Meaning::Held,
        }
    }
}

/// Draws the plan.
pub(in crate::tui) fn draw(model: &Model, frame: &mut Frame<'_>, area: Rect) {
    let Some(cursor) = model.cursor else { return };
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let room = model.state.rooms.get(cursor.room);
    for y in area.y..area.bottom() {
        let line = marks.vertical.to_string();
        write(frame, Rect { y, width: 1, height: 1, ..area }, &line, theme.style(Meaning::Muted));
    }
    let title = fit(&format!("plan of {}", room.label), usize::from(area.width.saturating_sub(2)), marks);
    let text = |y| Rect { x: area.x + 2, y, width: area.width.saturating_sub(2), height: 1 };
    write(frame, text(area.y), &title, theme.style(Meaning::Title));
    let mut y = area.y + 1;
    let legend = legend(model, area);
    let bottom = area.bottom() - u16::try_from(legend.len()).unwrap_or(0);
    // A line a tier where all of them fit, else a line a row.
    let by_tier = room.rows.iter().map(|row| usize::from(row.tiers) + 1).sum::<usize>() + 3 <= usize::from(area.height);
    let skipped = first_row_in_sight(room, cursor.row, by_tier, area.height);
    for (row, laid) in room.rows.iter().enumerate().skip(skipped) {
        let tiers: Vec<std::ops::RangeInclusive<u16>> =
            if by_tier { (1..=laid.tiers).rev().map(|tier| tier..=tier).collect() } else { vec![1..=laid.tiers] };
        for (line, tiers) in tiers.iter().enumerate() {
            if y >= bottom {
                break;
            }
            let label = if line == 0 { fit(laid.row.as_str(), 3, marks) } else { String::new() };
            write(frame, text(y), &label, theme.style(Meaning::Muted));
            for (stack, x) in (1..=laid.stacks).zip(area.x + 6..area.right()) {
                let worst = worst(model, room, row, stack, tiers.clone());
                let here = cursor.row == row && cursor.stack == stack && tiers.contains(&cursor.tier);
                let style = theme.style(worst.meaning());
                let (mark, style) = if here { (marked(worst), theme.selected(style)) } else { (worst.mark(), style) };
                write(frame, Rect { x, y, width: 1, height: 1 }, &mark.to_string(), style);
            }
            y += 1;
        }
        y += u16::from(by_tier);
    }
    for (line, y) in legend.iter().zip(bottom..area.bottom()) {
        write(frame, text(y), line, theme.style(Meaning::Muted));
    }
}

/// What the marks stand for; none where the plan has no height for it.
fn legend(model: &Model, area: Rect) -> Vec<String> {
    if area.height < 6 {
        return Vec::new();
    }
    let weeps = format!("{WEEPS} weeps");
    let entries = ["o fine", "d due", "! over", &weeps, "H held", "- empty"].map(str::to_owned);
    wrap_parts(&entries, usize::from(area.width.saturating_sub(2)), model.looks.marks)
}

/// Where the cursor stands something must be seen, even where nothing is.
const fn marked(worst: Worst) -> char {
    match worst {
        Worst::Nothing => '+',
        other => other.mark(),
    }
}

fn first_row_in_sight(room: &Room, chosen: usize, by_tier: bool, height: u16) -> usize {
    let lines = usize::from(height.saturating_sub(3)).max(1);
    if by_tier || room.rows.len() <= lines { 0 } else { chosen / lines * lines }
}

fn worst(model: &Model, room: &Room, row: usize, stack: u16, tiers: std::ops::RangeInclusive<u16>) -> Worst {
    tiers
        .filter_map(|tier| room.rack_slots_at(row, stack, tier))
        .flatten()
        .filter_map(|slot| room.slots[slot])
        .map(|id| judge(model, id))
        .max()
        .unwrap_or(Worst::Nothing)
}

fn judge(model: &Model, id: VesselId) -> Worst {
    let vessel = model.state.vessels.get(id);
    if vessel.held.is_some() {
        return Worst::Held;
    }
    if model.state.leak(vessel).is_some() {
        return Worst::Weeping;
    }
    match model.state.due(vessel, model.now) {
        None if vessel.wine.is_empty() => Worst::Empty,
        None | Some(Due::Fine) => Worst::Fine,
        Some(Due::Due) => Worst::Due,
        Some(Due::Over) => Worst::Over,
    }
}
