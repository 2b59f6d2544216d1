//! The checklist as it is drawn: an item a line, and below all that is known of the one that is chosen.

use ratatui::text::Line;

use super::ChecklistPage;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::jobs::finish::checklist::item::Item;
use crate::cellar::jobs::finish::checklist::{Check, Standing};
use crate::tui::core::choice::choice_line;
use crate::tui::core::draw::paragraph;
use crate::tui::core::list::Between;
use crate::tui::core::model::Model;
use crate::tui::core::text::{fit, left, shown};
use crate::tui::core::theme::Meaning;

/// Columns of an item, of how it stands, and of the vessel, day and person behind it.
const ITEM: usize = 16;
const STANDING: usize = 10;
const VESSEL: usize = 8;
const DAY: usize = 6;
const PERSON: usize = 6;
/// So many items are in sight at least.
const ITEMS_SHOWN: usize = 3;

/// What stands over the page.
pub(super) fn title(model: &Model, page: &ChecklistPage) -> String {
    shown(&format!("{} before bottling", page.lot), model.looks.marks)
}

/// The lines of the page: the verdict, as many items as there is room for, what is known of the chosen one.
pub(super) fn lines(model: &Model, page: &ChecklistPage, width: usize, height: usize) -> Vec<Line<'static>> {
    let checks = page.checks(model);
    let chosen = checks.iter().find(|check| page.chosen.is(&check.item));
    let items: Vec<Item> = checks.iter().map(|check| check.item.clone()).collect();
    let list = Between {
        above: verdict(model, page, &checks, width),
        lines: checks.len(),
        chosen: page.chosen.place_or_stood(&items),
        least: ITEMS_SHOWN,
        below: chosen.map_or_else(Vec::new, |chosen| detail(model, page, chosen, width)),
    };
    list.lines(model, (width, height), |at| {
        let check = &checks[at];
        choice_line(model, page.chosen.is(&check.item), &item_line(model, page, check, width), width)
    })
}

/// Whether the lot may be bottled.
fn verdict(model: &Model, page: &ChecklistPage, checks: &[Check], width: usize) -> Vec<Line<'static>> {
    let Some(lot) = model.state.lots.find(page.lot.as_str()) else { return Vec::new() };
    let verdict = model.state.bottling_verdict(lot, checks);
    if model.state.wholly_bottled(lot).is_some() {
        return paragraph(model, &verdict, width, Meaning::Muted);
    }
    let met = checks.iter().filter(|check| check.standing == Standing::Met).count();
    let meaning = if checks.iter().any(Check::stops_a_run) { Meaning::Due } else { Meaning::Fine };
    paragraph(model, &format!("{met} of {} met. {verdict}", checks.len()), width, meaning)
}

/// A sign, the item, how it stands, what was found or said, where, when, and by whom.
fn item_line(model: &Model, page: &ChecklistPage, check: &Check, width: usize) -> String {
    let marks = model.looks.marks;
    let sign = match check.standing {
        Standing::Met => marks.yes,
        Standing::NotMet => marks.no,
        Standing::NotTested => '?',
        Standing::Waived => 'w',
    };
    let words = match &check.words {
        Some(words) => words.clone(),
        None if check.required => String::new(),
        None => "optional".to_owned(),
    };
    let vessel = check.vessel.map_or("", |id| model.state.vessels.get(id).label.as_str());
    let day = check.at.map_or_else(String::new, Moment::show_day);
    // Of the line, the choice takes two columns.
    let room = width.saturating_sub(2 + 2 + ITEM + STANDING + VESSEL + DAY + PERSON + 5);
    format!(
        "{sign} {} {} {} {} {} {}",
        left(&check.item.to_string(), ITEM, marks),
        left(check.standing.word(), STANDING, marks),
        left(&words, room, marks),
        left(vessel, VESSEL, marks),
        left(&day, DAY, marks),
        fit(by(page, check).unwrap_or_default(), PERSON, marks)
    )
}

/// Who said so, where it was a person and was looked up.
fn by<'a>(page: &'a ChecklistPage, check: &Check) -> Option<&'a str> {
    let said = check.said.as_ref()?;
    page.who.iter().find(|it| it.fact == *said)?.by.as_ref().map(Label::as_str)
}

/// What is asked with its limit and where that stands, what was found, and who said so.
fn detail(model: &Model, page: &ChecklistPage, check: &Check, width: usize) -> Vec<Line<'static>> {
    let asks = if check.asks.is_empty() { String::new() } else { format!("{}: ", check.asks) };
    let required = if check.required { "required" } else { "optional" };
    let mut lines =
        paragraph(model, &format!("{asks}{}; {required}", check.rule.trim_end_matches('.')), width, Meaning::Base);
    let words = check.words.as_deref();
    let vessel = check.vessel.map(|id| format!("in {}", model.state.vessels.get(id).label));
    let at = check.at.map(|at| format!("{} {}", at.show_date(), at.show_time()));
    let by = by(page, check).map(|by| format!("by {by}"));
    let known: Vec<&str> = [words, vessel.as_deref(), at.as_deref(), by.as_deref()].into_iter().flatten().collect();
    if !known.is_empty() {
        let text = format!("{}: {}", check.standing.word(), known.join(", "));
        lines.extend(paragraph(model, &text, width, Meaning::Strong));
    }
    lines
}
