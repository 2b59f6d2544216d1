//! How a spreadsheet's page is drawn.

use ratatui::text::Line;

use super::items::{At, Item};
use super::reading::name_of;
use super::understood::SpreadsheetPage;
use crate::import::Proposal;
use crate::intake::CameTo;
use crate::told::Face;
use crate::told::floor::importing as told;
use crate::tui::core::choice::choice_line;
use crate::tui::core::list::Between;
use crate::tui::core::model::Model;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::{columns, left};
use crate::tui::core::theme::Meaning;
use crate::units::by_count;

/// So wide are the names of lines.
const NAME: usize = 20;
/// So many lines of the list are in sight at least.
const LEAST: usize = 5;
/// So many facts and refused lines are shown; of more only the count.
const MOST: usize = 500;

/// The page's lines.
pub(super) fn lines(page: &SpreadsheetPage, model: &Model, (width, height): (usize, usize)) -> Vec<Line<'static>> {
    let sheet = Sheet { model, width };
    let Some(at) = page.at(model) else { return Vec::new() };
    match (&page.done, page.preview) {
        (Some(_), _) => done(page, &at, sheet),
        (None, Some(_)) => at.read.came_to.as_ref().map_or_else(Vec::new, |came_to| preview(came_to, sheet, MOST)),
        (None, None) => understood(page, &at, sheet, height),
    }
}

/// How it was read, a line each; below the chosen one's question, and what it comes to.
fn understood(page: &SpreadsheetPage, at: &At<'_>, sheet: Sheet<'_>, height: usize) -> Vec<Line<'static>> {
    let items = at.items();
    let mut below: Vec<Line<'static>> = Vec::new();
    if let Some(item) = page.chosen.there(&items) {
        let meaning = if at.is_open(item) { Meaning::Warning } else { Meaning::Muted };
        below.extend(sheet.words(&at.about(item), meaning));
    }
    if let Some(came_to) = &at.read.came_to {
        below.extend(comes_to(came_to, at.keeps.good, sheet));
        // Where there is room, what would be entered begins here.
        let room = height.saturating_sub(items.len() + 1 + below.len());
        if room > LEAST {
            let more = preview(came_to, sheet, room);
            below.extend(more.into_iter().take(room));
        }
    }
    let chosen = page.chosen.place_or_stood(&items);
    let list = Between { above: Vec::new(), lines: items.len(), chosen, least: LEAST, below };
    list.lines(sheet.model, (sheet.width, height), |place| {
        let item = &items[place];
        choice_line(sheet.model, page.chosen.is(item), &line(page, at, item, sheet), sheet.width)
    })
}

/// A line: whether something is asked there, its name, its value.
fn line(page: &SpreadsheetPage, at: &At<'_>, item: &Item, sheet: Sheet<'_>) -> String {
    let asks = if at.is_open(item) { '?' } else { ' ' };
    let name = left(&at.name(item), NAME, sheet.marks());
    let value = at.value(item).unwrap_or_default();
    let is_written = page.chosen.is(item) && item.is_typed();
    let value = match item {
        // What a column is shows what stands in it, until another field is typed.
        Item::Column(_) if !is_written || page.line.is_empty() => value,
        Item::Column(_) => sheet.model.written(&page.line, sheet.width.saturating_sub(NAME + 6)),
        _ if is_written => {
            let space = if value.is_empty() { "" } else { " " };
            let room = sheet.width.saturating_sub(NAME + columns(&value) + 6);
            format!("{value}{space}{}", sheet.model.written(&page.line, room))
        }
        _ => value,
    };
    format!("{asks} {name} {value}")
}

/// What it comes to, in few lines.
fn comes_to(came_to: &CameTo, keep_good: bool, sheet: Sheet<'_>) -> Vec<Line<'static>> {
    let proposal = &came_to.proposal;
    if !proposal.questions.is_empty() {
        return sheet.words(&format!("{}.", told::open_questions(proposal)), Meaning::Strong);
    }
    let mut lines = Vec::new();
    if !proposal.refused.is_empty() {
        lines.extend(sheet.words(&refused_words(came_to, keep_good), Meaning::Error));
    }
    if keep_good || proposal.refused.is_empty() {
        let count = told::count(came_to.would_be_entered(), proposal.known);
        lines.extend(sheet.words(&format!("{count}."), Meaning::Strong));
    }
    lines.extend(came_to.asked.iter().take(1).flat_map(|asked| sheet.words(&asked.to_string(), Meaning::Warning)));
    lines
}

/// What becomes of lines that cannot be taken.
pub(super) fn refused_words(came_to: &CameTo, keep_good: bool) -> String {
    let cannot = told::cannot_be_taken(&came_to.proposal);
    if keep_good {
        format!("{cannot}; the others are.")
    } else {
        let it = by_count(came_to.proposal.refused.len(), "it", "them");
        format!("{cannot}, so nothing is entered. Mend {it} in the file, or keep the good lines.")
    }
}

/// What cannot be taken, what is left away, and what would be entered; so many lines of each.
fn preview(came_to: &CameTo, sheet: Sheet<'_>, most: usize) -> Vec<Line<'static>> {
    let proposal = &came_to.proposal;
    let mut lines = Vec::new();
    let (refused, warnings) = remarks(proposal);
    lines.extend(part(sheet, "Cannot be taken", all(refused), (most, Meaning::Error)));
    lines.extend(part(sheet, "To be known", all(warnings), (most, Meaning::Warning)));
    let asked = came_to.asked.iter().map(ToString::to_string);
    lines.extend(part(sheet, "Asked before it is entered", (asked, came_to.asked.len()), (most, Meaning::Warning)));
    let facts = came_to.facts.iter().map(|fact| told::would_be_entered(proposal, (fact.line, fact.at), &fact.what));
    lines.extend(part(sheet, "Would be entered", (facts, came_to.facts.len()), (most, Meaning::Base)));
    if lines.is_empty() {
        let nothing = if proposal.questions.is_empty() {
            "Nothing of it is new."
        } else {
            "What would be entered is shown once what is asked is answered."
        };
        return sheet.words(nothing, Meaning::Muted);
    }
    lines
}

/// What cannot be taken of a file, and what is to be known of it.
fn remarks(proposal: &Proposal) -> (Vec<String>, Vec<String>) {
    let warnings = proposal.warnings.iter().map(|warning| told::remark(warning, Face::Screen)).collect();
    (told::refused(proposal, Face::Screen), warnings)
}

/// Sentences, and how many they are.
fn all(said: Vec<String>) -> (impl Iterator<Item = String>, usize) {
    let count = said.len();
    (said.into_iter(), count)
}

/// A part of that: so many lines under its title, the rest counted.
fn part(
    sheet: Sheet<'_>,
    title: &str,
    (said, count): (impl Iterator<Item = String>, usize),
    (most, meaning): (usize, Meaning),
) -> Vec<Line<'static>> {
    let mut lines: Vec<Line<'static>> = said.take(most).flat_map(|said| sheet.words(&said, meaning)).collect();
    if count > most {
        lines.push(sheet.line(&format!("and {} more", count - most), Meaning::Muted));
    }
    sheet.titled(title, lines)
}

/// What was taken in, and what comes next.
fn done(page: &SpreadsheetPage, at: &At<'_>, sheet: Sheet<'_>) -> Vec<Line<'static>> {
    let Some(done) = &page.done else { return Vec::new() };
    let kind = at.read.said.table.map_or("", |table| table.name);
    let words = format!(
        "{} is taken in as a list of {kind}: {}.",
        name_of(&page.file),
        told::entered(done.entered, done.known)
    );
    let mut lines = sheet.words(&words, Meaning::Fine);
    lines.push(Line::default());
    let next = match page.next_kind() {
        Some(table) => {
            format!("u takes it all back. Enter goes on to the {} of the same file, esc to another file.", table.name)
        }
        None => "u takes it all back. Enter and esc go on to another file.".to_owned(),
    };
    lines.extend(sheet.words(&next, Meaning::Base));
    if let Some(proposal) = at.proposal() {
        let (refused, warnings) = remarks(proposal);
        lines.extend(part(sheet, "Not taken", all(refused), (MOST, Meaning::Error)));
        lines.extend(part(sheet, "To be known", all(warnings), (MOST, Meaning::Warning)));
    }
    lines
}
