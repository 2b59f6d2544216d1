//! What stands on the page of a count: the lines to be counted, and what they come to beside the book.

use ratatui::text::Line as TextLine;

use super::CountPage;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::{RunId, State};
use crate::cellar::jobs::books::counting::booking::Line;
use crate::cellar::jobs::books::counting::keeping::{BottlesFound, Count};
use crate::cellar::jobs::books::counting::{Counted, Verdict};
use crate::tui::core::choice::choice_line;
use crate::tui::core::draw::paragraph;
use crate::tui::core::list::window;
use crate::tui::core::model::Model;
use crate::tui::core::text::{fit, left, right};
use crate::tui::core::theme::Meaning;
use crate::units::{Volume, counted, litres, whole_litres};

/// The title of the page.
pub(super) fn title(model: &Model, page: &CountPage) -> String {
    if page.compared {
        return format!("{} beside the book", page.count);
    }
    let all = page.lines(&model.state);
    let open = all.iter().filter(|line| page.is_open(&model.state, line)).count();
    format!("{}: {open} of {} still to count", page.count, all.len())
}

/// The lines of the page, for so many columns and rows.
pub(super) fn lines(model: &Model, page: &CountPage, width: usize, height: usize) -> Vec<TextLine<'static>> {
    let count = page.count(&model.state);
    if page.compared {
        return count.map_or_else(Vec::new, |count| compared(model, count, width));
    }
    let all = page.lines(&model.state);
    let chosen = page.at(&model.state, &all);
    let line = |at: usize| {
        choice_line(model, Some(at) == chosen, &told(model, count, &all[at], width.saturating_sub(2)), width)
    };
    window(all.len(), chosen.unwrap_or(0), height).map(line).collect()
}

/// A line: where, what, and what was found; never what the book says.
fn told(model: &Model, count: Option<&Count>, line: &Line, width: usize) -> String {
    let marks = model.looks.marks;
    let state = &model.state;
    let (place, what, found) = match line {
        Line::Vessel(id) => {
            let vessel = state.vessels.get(*id);
            let place = state.place_of(vessel).map_or_else(String::new, |place| place.within_room());
            let holds = format!("of {}", whole_litres(vessel.capacity));
            let found = count.and_then(|count| count.vessels.get(id)).map(vessel_found);
            (place, format!("{} {holds:>9}", left(vessel.label.as_str(), 10, marks)), found)
        }
        Line::Bottles { place, .. } | Line::Bin(place) => {
            let found = bin_found(state, count, place).unwrap_or_default();
            return format!("{} {found}", left(&place.to_string(), 20, marks));
        }
    };
    let found = found.unwrap_or_default();
    let room = width.saturating_sub(18);
    format!("{} {}{}", left(&place, 13, marks), left(&what, room.saturating_sub(10), marks), right(&found, 14, marks))
}

/// What was found in a bin; what was looked for on paper and not found would tell of the book.
fn bin_found(state: &State, count: Option<&Count>, place: &Label) -> Option<String> {
    let count = count?;
    let lies_there = |its: &&BottlesFound| its.place.as_ref() == Some(place) && its.found > 0;
    let found: Vec<String> = count.bottles.iter().filter(lies_there).map(|its| told_found(state, its)).collect();
    if found.is_empty() {
        let is_counted = state.is_counted(count, &Line::Bin(place.clone()));
        return is_counted.then(|| "empty".to_owned());
    }
    Some(found.join(", "))
}

fn told_found(state: &State, its: &BottlesFound) -> String {
    format!("{} {}", code(state, its), its.found)
}

fn vessel_found(counted: &Counted) -> String {
    match (counted.measured, counted.found.is_zero()) {
        (false, _) => "full".to_owned(),
        (true, true) => "empty".to_owned(),
        (true, false) => litres(counted.found),
    }
}

fn code(state: &State, found: &BottlesFound) -> String {
    code_of(state, found.run, found.lot_code.as_ref())
}

/// What stands on bottles, else their run.
fn code_of(state: &State, run: RunId, lot_code: Option<&Label>) -> String {
    lot_code.unwrap_or(&state.runs.get(run).label).to_string()
}

/// What was counted beside what is expected, what is not as expected first; then what was not counted.
fn compared(model: &Model, count: &Count, width: usize) -> Vec<TextLine<'static>> {
    let state = &model.state;
    let style = |meaning| model.looks.theme.style(meaning);
    let words = |text: &str, meaning| paragraph(model, text, width, meaning);
    let mut vessels: Vec<&Counted> = count.vessels.values().collect();
    vessels.sort_by_key(|counted| counted.verdict == Verdict::AsExpected);
    let mut lines = Vec::new();
    let apart = vessels.iter().filter(|counted| counted.verdict != Verdict::AsExpected).count();
    let differ = count.bottles.iter().filter(|its| u64::from(its.found) != its.book).count();
    if !vessels.is_empty() {
        let sum = |of: fn(&Counted) -> Volume| litres(vessels.iter().map(|counted| of(counted)).sum());
        let text = format!(
            "{} counted: {} found, {} expected, {} in the book. Not as expected: {apart}.",
            counted(vessels.len(), "vessel"),
            sum(|it| it.found),
            sum(|it| it.expected),
            sum(|it| it.book)
        );
        lines.extend(words(&text, Meaning::Strong));
    }
    if !count.bottles.is_empty() {
        let found: u64 = count.bottles.iter().map(|its| u64::from(its.found)).sum();
        let book: u64 = count.bottles.iter().map(|its| its.book).sum();
        let text = format!("{} found, {book} in the book. Not as in the book: {differ}.", counted(found, "bottle"));
        lines.extend(words(&text, Meaning::Strong));
    }
    let missing = state.missing_of(count);
    if !missing.is_empty() {
        let named: Vec<String> = missing.iter().take(12).map(|line| name(state, line)).collect();
        let more = missing.len().saturating_sub(named.len());
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        lines.extend(words(&format!("Not counted: {}{more}.", named.join(", ")), Meaning::Due));
    }
    lines.push(TextLine::default());
    let heads = |what: &str, columns: [&str; 3]| {
        let [first, second, third] = columns;
        TextLine::styled(format!("{what} {first:>10} {second:>10} {third:>10}"), style(Meaning::Muted))
    };
    if !vessels.is_empty() {
        lines.push(heads(&left("vessel", 12, model.looks.marks), ["found", "expected", "book"]));
    }
    for counted in vessels {
        let meaning = if counted.verdict == Verdict::AsExpected { Meaning::Base } else { Meaning::Over };
        let label = left(state.vessels.get(counted.vessel).label.as_str(), 12, model.looks.marks);
        let text = format!(
            "{label} {:>10} {:>10} {:>10}  {}",
            vessel_found(counted),
            litres(counted.expected),
            litres(counted.book),
            counted.words()
        );
        lines.push(TextLine::styled(fit(&text, width, model.looks.marks), style(meaning)));
    }
    let mut bottles: Vec<&BottlesFound> = count.bottles.iter().collect();
    bottles.sort_by_key(|its| u64::from(its.found) == its.book);
    if !bottles.is_empty() {
        let what = left("bottles in", 16, model.looks.marks) + " " + &left("code", 12, model.looks.marks);
        lines.push(heads(&what, ["", "found", "book"]));
    }
    for its in bottles {
        let place = its.place.as_ref().map_or("not laid away", |place| place.as_str());
        let (words, meaning) = match u64::from(its.found).cmp(&its.book) {
            std::cmp::Ordering::Equal => ("as booked", Meaning::Base),
            std::cmp::Ordering::Less => ("short", Meaning::Over),
            std::cmp::Ordering::Greater => ("over", Meaning::Over),
        };
        let marks = model.looks.marks;
        let (place, code) = (left(place, 16, marks), left(&code(state, its), 12, marks));
        let text = format!("{place} {code} {:>21} {:>10}  {words}", its.found, its.book);
        lines.push(TextLine::styled(fit(&text, width, marks), style(meaning)));
    }
    lines
}

fn name(state: &State, line: &Line) -> String {
    match line {
        Line::Vessel(id) => state.vessels.get(*id).label.to_string(),
        Line::Bottles { run, lot_code, place } => {
            format!("{} in {place}", code_of(state, *run, lot_code.as_ref()))
        }
        Line::Bin(place) => place.to_string(),
    }
}

/// The line that is typed at the bottom.
pub(super) fn line(model: &Model, page: &CountPage, width: usize) -> TextLine<'static> {
    let marks = model.looks.marks;
    let lines = page.lines(&model.state);
    let chosen = page.at(&model.state, &lines).and_then(|at| lines.get(at));
    let question = match chosen {
        _ if page.why.is_some() => "Which lot it is that was found".to_owned(),
        _ if page.compared => "Why the book is put right".to_owned(),
        Some(line @ Line::Vessel(id)) => {
            let is_full = model.state.as_it_should_be(*id).is_some();
            let how = if is_full { "litres, or a dip like 30 mm; space: full" } else { "litres, as it is dipped" };
            format!("{}: {how}", name(&model.state, line))
        }
        Some(line) => {
            let which = match page.last_code(&model.state) {
                Some((run, code)) => {
                    format!("how many of {}, another code and how many", code_of(&model.state, run, code.as_ref()))
                }
                None => "a lot code and how many".to_owned(),
            };
            format!("{}: {which}, or empty", name(&model.state, line))
        }
        None => "Choose a line".to_owned(),
    };
    let question = format!(" {}: ", fit(&question, width / 2 + 10, marks));
    model.question_line(&question, &page.text, width)
}
