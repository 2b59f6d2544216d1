//! The floor as it is drawn: its head, the rows, and beside them the card, the plan, or both.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};

use crate::tui::core::draw::CARD_FROM;
use crate::tui::core::model::Model;
use crate::tui::floor::page::Floor;
use crate::tui::floor::{self, card, head, plan};

/// From this width on the card is wide.
const WIDE_FROM: u16 = 130;
/// From this height on card and plan stand one above the other.
const BOTH_FROM: u16 = 36;

/// Draws the floor with its head, in the room that it has.
pub(super) fn draw(page: &Floor, model: &Model, frame: &mut Frame<'_>, area: Rect) {
    let [top, body] = Layout::vertical([Constraint::Length(2), Constraint::Min(0)]).areas(area);
    head::draw(page, model, frame, top);
    draw_body(page, model, frame, body);
}

/// Draws floor, card and plan.
fn draw_body(page: &Floor, model: &Model, frame: &mut Frame<'_>, body: Rect) {
    let [left, right] = halves(body);
    let is_alone = right.width == 0;
    if is_alone && page.plan_shown {
        plan::draw(model, frame, body);
        return;
    }
    floor::draw(model, &page.palette(model), frame, left);
    if is_alone {
        return;
    }
    if right.height >= BOTH_FROM {
        let share = if page.plan_shown { 40 } else { 60 };
        let [upper, lower] = Layout::vertical([Constraint::Percentage(share), Constraint::Min(0)]).areas(right);
        card::draw(model, frame, upper);
        plan::draw(model, frame, lower);
    } else if page.plan_shown {
        plan::draw(model, frame, right);
    } else {
        card::draw(model, frame, right);
    }
}

/// The floor, and the card beside it.
fn halves(body: Rect) -> [Rect; 2] {
    let side = match body.width {
        0..CARD_FROM => 0,
        CARD_FROM..WIDE_FROM => 30,
        _ => 46,
    };
    Layout::horizontal([Constraint::Min(0), Constraint::Length(side)]).areas(body)
}
