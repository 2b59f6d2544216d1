//! The plan of a bottling and the record of its run as they are drawn.

use ratatui::text::Line;

use super::form::Mistake;
use super::{BottlingPage, ready};
use crate::cellar::core::state::VesselId;
use crate::cellar::jobs::bottles::bottling::Bottled;
use crate::cellar::jobs::bottles::bottling::plan::{BottlingAsked, BottlingPlan};
use crate::cellar::jobs::bottles::bottling::size;
use crate::reckon::bottling::check_fills;
use crate::tui::core::choice::choice_line;
use crate::tui::core::draw::paragraph;
use crate::tui::core::model::Model;
use crate::tui::core::text::{fit, left, shown};
use crate::tui::core::theme::Meaning;
use crate::units::{Volume, counted, poured};

/// Columns of a field's name, and of what is written before its hint.
const NAME: usize = 16;
const WRITTEN: usize = 22;
/// The sizes that stand beside each other under the plan.
const FORMATS_ML: [u64; 5] = [375, 500, 750, 1_500, 3_000];

/// What stands over the page.
pub(super) fn title(model: &Model, page: &BottlingPage) -> String {
    let what = if page.recording { "the run" } else { "the plan" };
    shown(&format!("Bottling {}: {what}", page.vessel), model.looks.marks)
}

/// The lines of the page, and from which of them on it is shown: what is written must be seen.
pub(super) fn lines(model: &Model, page: &BottlingPage, width: usize, height: usize) -> (Vec<Line<'static>>, usize) {
    let Some(id) = model.state.vessels.find(page.vessel.as_str()) else { return (Vec::new(), 0) };
    let mut lines = head(model, id, width);
    let written_at = lines.len() + page.chosen;
    lines.extend((0..page.fields().len()).map(|at| field_line(model, page, at, width)));
    if page.recording {
        lines.push(choice_line(model, page.field().is_none(), "enter the run: until then nothing is stored", width));
        lines.extend(comes_to(model, page, id, width));
    } else {
        lines.push(Line::default());
        lines.extend(planned(model, page, id, width));
    }
    let from = page.line.max((written_at + 1).saturating_sub(height));
    (lines, from)
}

/// What the vessel holds, and that it is held.
fn head(model: &Model, id: VesselId, width: usize) -> Vec<Line<'static>> {
    let vessel = model.state.vessels.get(id);
    let lot = vessel.lot.map_or_else(String::new, |lot| format!(" of {}", model.state.lots.get(lot).label));
    let line = format!("{} holds {}{lot}", vessel.label, poured(vessel.volume()));
    paragraph(model, &line, width, Meaning::Strong)
}

/// A field: its name, what is written, and what is to be written where it is chosen.
fn field_line(model: &Model, page: &BottlingPage, at: usize, width: usize) -> Line<'static> {
    let marks = model.looks.marks;
    let (field, chosen) = (page.fields()[at], page.chosen == at);
    let (name, hint) = field.words();
    let text = page.form.text(field);
    let room = width.saturating_sub(NAME + 3);
    let written = match (chosen, text.is_empty()) {
        (true, _) if text.chars().count() < WRITTEN => {
            format!("{} {hint}", left(&model.written(text, WRITTEN), WRITTEN, marks))
        }
        (true, _) => model.written(text, room.saturating_sub(1)),
        (false, _) => text.to_owned(),
    };
    choice_line(model, chosen, &format!("{} {}", left(name, NAME, marks), fit(&written, room, marks)), width)
}

/// What the plan comes to, and the same wine in other sizes.
fn planned(model: &Model, page: &BottlingPage, id: VesselId, width: usize) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    let mut say = |text: &str, meaning| lines.extend(paragraph(model, text, width, meaning));
    let plan = page.form.asked().map_err(|mistake| mistake.why);
    let plan = plan.and_then(|asked| model.state.plan_bottling(id, asked).map_err(|refusal| refusal.to_string()));
    match plan {
        Ok(plan) => {
            say(&plan.bottles_words(), Meaning::Strong);
            say(&plan.loss_words(), Meaning::Base);
            let goods = plan.dry_goods().map(|(what, count)| counted(count, what.word()));
            say(&format!("dry goods needed: {}", goods.join(", ")), Meaning::Base);
            for sentence in model.state.in_the_way_of_bottling(id) {
                say(&sentence, Meaning::Due);
            }
            lines.push(Line::default());
            lines.extend(formats(model, &plan, width));
        }
        Err(why) => say(&why, Meaning::Error),
    }
    lines
}

/// Bottles and cases by format: the same litres, less the same loss.
fn formats(model: &Model, plan: &BottlingPlan, width: usize) -> Vec<Line<'static>> {
    let marks = model.looks.marks;
    let style = |meaning| model.looks.theme.style(meaning);
    let heading = format!("{:<8} {:>9} {:>14} {:>9}", "bottle", "bottles", "full cases", "pallets");
    let mut lines = vec![Line::styled(fit(&heading, width, marks), style(Meaning::Title))];
    for bottle in FORMATS_ML.map(Volume::from_ml) {
        let asked = BottlingAsked { bottle, ..plan.asked };
        let Ok(it) = model.state.plan_bottling(plan.vessel, asked) else { continue };
        let cases = format!("{} of {}", it.goods.full_cases, asked.packing.case);
        let line = format!("{:<8} {:>9} {cases:>14} {:>9}", size(bottle), it.count.bottles, it.goods.pallets);
        let meaning = if bottle == plan.asked.bottle { Meaning::Strong } else { Meaning::Muted };
        lines.push(Line::styled(fit(&line, width, marks), style(meaning)));
    }
    lines
}

/// What the record comes to, or the first thing that is wrong with it or missing.
fn comes_to(model: &Model, page: &BottlingPage, id: VesselId, width: usize) -> Vec<Line<'static>> {
    match ready(&model.state, page) {
        Ok(record) => {
            let mut lines = paragraph(model, &sum(model, page, id, &record.bottled), width, Meaning::Strong);
            lines.extend(fills(model, &record.bottled, width));
            lines
        }
        Err(Mistake { why, field }) => {
            // What is only not written yet is no error.
            let missing = page.form.text(field).trim().is_empty();
            paragraph(model, &why, width, if missing { Meaning::Muted } else { Meaning::Error })
        }
    }
}

/// Litres in bottles and lost beside what is there, and the bottles beside the plan.
fn sum(model: &Model, page: &BottlingPage, id: VesselId, bottled: &Bottled) -> String {
    let vessel = model.state.vessels.get(id);
    let filled = Volume::from_ul(bottled.bottle.as_ul().saturating_mul(u64::from(bottled.bottles)));
    let stays = vessel.volume().saturating_sub(filled + bottled.loss);
    let rest = if bottled.empties { "more lost, as it is empty" } else { "stay there" };
    let asked = page.form.asked().ok().and_then(|asked| model.state.plan_bottling(id, asked).ok());
    let beside =
        asked.map_or_else(String::new, |plan| match i128::from(bottled.bottles) - i128::from(plan.count.bottles) {
            0 => ", as planned".to_owned(),
            more @ 1.. => format!(", {more} more than planned"),
            fewer => format!(", {} fewer than planned", -fewer),
        });
    format!("{} in bottles, {} lost, {} {rest}{beside}", poured(filled), poured(bottled.loss), poured(stays))
}

/// What the measured fills come to by the house's rules.
fn fills(model: &Model, bottled: &Bottled, width: usize) -> Vec<Line<'static>> {
    let fills = bottled.fills.as_deref().unwrap_or_default();
    let checks =
        model.state.practice.sides().iter().filter_map(|&rules| check_fills(fills, bottled.bottle, rules).ok());
    let lines = checks.flat_map(|check| {
        let meaning = if check.is_within() { Meaning::Fine } else { Meaning::Over };
        paragraph(model, &check.words(), width, meaning)
    });
    lines.collect()
}
