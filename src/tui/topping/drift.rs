//! What a round does to the lots that it tops, as the page before it shows it.

use ratatui::text::Line;

use crate::cellar::views::topping::drift::{Drift, Share};
use crate::cellar::views::topping::plan::Plan;
use crate::reckon::label_share::LeastShare;
use crate::tui::core::draw::paragraph;
use crate::tui::core::model::Model;
use crate::tui::core::text::{fit, wrap};
use crate::tui::core::theme::Meaning;
use crate::units::{Volume, counted, litres};

/// What a plan does to each of its lots. Its own wine moves no share, so of such a lot no more is said than that.
pub(super) fn lines(model: &Model, plan: &Plan, width: usize) -> Vec<Line<'static>> {
    let Some(from) = topped_from(model, plan) else { return Vec::new() };
    let style = |meaning| model.looks.theme.style(meaning);
    let marks = model.looks.marks;
    let heading = format!("What it does to the lots, topped as planned: {from}");
    let mut lines = vec![Line::default()];
    lines.extend(paragraph(model, &heading, width, Meaning::Title));
    for (text, meaning) in plan.drifts.iter().flat_map(|drift| lot(model, drift)) {
        // What is indented is a table and stays in its lines.
        let said = if text.starts_with(' ') { vec![fit(&text, width, marks)] } else { wrap(&text, width, marks) };
        lines.extend(said.into_iter().map(|line| Line::styled(line, style(meaning))));
    }
    if plan.drifts.iter().any(|drift| !drift.from_other_lots.is_zero()) {
        let rules = fit("Least shares as published, for information.", width, marks);
        lines.push(Line::styled(rules, style(Meaning::Muted)));
    }
    lines
}

/// The vessels of a plan with how many barrels each tops, in the order in which they are used.
pub(super) fn topped_from(model: &Model, plan: &Plan) -> Option<String> {
    let each: Vec<String> = plan
        .draws
        .iter()
        .map(|draw| format!("{} for {}", model.state.vessels.get(draw.source).label, draw.barrels))
        .collect();
    (!each.is_empty()).then(|| each.join(", then "))
}

fn lot(model: &Model, drift: &Drift) -> Vec<(String, Meaning)> {
    let lot = &model.state.lots.get(drift.lot).label;
    let barrels = counted(drift.barrels, "barrel");
    if drift.from_other_lots.is_zero() {
        return vec![(format!("{lot}, {barrels}: no wine of another lot"), Meaning::Base)];
    }
    let text = format!(
        "{lot}, {barrels}: {} of other lots; foreign {}, then {}",
        litres(drift.from_other_lots),
        percent(drift.foreign_before, drift.before),
        percent(drift.foreign_after, drift.after),
    );
    let mut lines = vec![(text, Meaning::Strong)];
    if drift.organic == (true, false) {
        lines.push(("  no longer organic".to_owned(), Meaning::Over));
    }
    lines.extend(drift.claims.iter().flat_map(|share| margins(share, drift.after)));
    lines
}

/// What may still come in of another vintage or variety before each published least share is reached.
fn margins(share: &Share, whole: Volume) -> Vec<(String, Meaning)> {
    let own = percent(share.after, whole);
    let text = format!("  {} {}, {own} of it; of others may still come in:", share.claim.word(), share.value);
    let margins = share.margins.iter().map(|(least, remaining)| margin(least, *remaining));
    std::iter::once((text, Meaning::Base)).chain(margins).collect()
}

fn margin(least: &LeastShare, remaining: Option<Volume>) -> (String, Meaning) {
    let rule = format!("{} %, {}", least.percent, least.section);
    match remaining {
        Some(remaining) => (format!("    {:>9} to {rule}", litres(remaining)), Meaning::Base),
        None => (format!("    {:>9} {rule}", "below"), Meaning::Due),
    }
}

/// A part of a whole; of nothing it is nothing.
fn percent(part: Volume, whole: Volume) -> String {
    let share = if whole.is_zero() { 0.0 } else { part.as_litres() / whole.as_litres() };
    crate::units::percent(1, share)
}
