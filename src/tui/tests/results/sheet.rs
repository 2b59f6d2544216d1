//! How the results are drawn: the day and the laboratory, the heads, a line a thing, and below what is chosen in words.

use std::ops::Range;

use chrono::{Datelike, NaiveDate};
use ratatui::text::{Line, Span};

use super::things::Thing;
use super::{ResultsPage, Spot};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::tests::testing::{Analyte, Readings};
use crate::cellar::views::tests::results::Finding;
use crate::told::tests::tested_thing;
use crate::tui::core::list::Between;
use crate::tui::core::model::Model;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::{fit, left};
use crate::tui::core::theme::Meaning;
use crate::units;

/// The columns of a label where there is little room, and where there is much.
const LABEL: [usize; 2] = [13, 26];
/// From so many columns on there is much.
const MUCH: usize = 110;
/// The columns of a result with what stands beside it.
const RESULT: usize = 13;
/// A figure in such a column.
const FIGURE: usize = 5;
/// So many lines of the table are in sight at least.
const LEAST: usize = 3;

/// The page, for so many columns and rows.
pub(super) fn lines(model: &Model, page: &ResultsPage, width: usize, height: usize) -> Vec<Line<'static>> {
    let sheet = Sheet { model, width };
    let shown = in_sight(page.findings.len(), page.column, width.saturating_sub(label_columns(sheet)) / RESULT);
    let chosen = match page.spot {
        Spot::Day | Spot::Laboratory => 0,
        Spot::Line(at) => at,
        Spot::Another => page.things.len(),
    };
    let list = Between {
        above: [vec![top(sheet, page), out_of_sight(sheet, page, &shown)], heads(sheet, page, &shown)].concat(),
        lines: page.things.len() + 1,
        chosen,
        least: LEAST,
        below: below(sheet, page),
    };
    list.lines(model, (width, height), |at| match page.things.get(at) {
        Some(thing) => line(sheet, page, (at, thing), &shown),
        None => another(sheet, page),
    })
}

/// Which columns are in sight where there is room for some: they are turned over like pages, so that the heads stand still while a line is written.
fn in_sight(all: usize, chosen: usize, room: usize) -> Range<usize> {
    let room = room.max(1);
    let first = (chosen / room * room).min(all.saturating_sub(room));
    first..all.min(first + room)
}

/// The columns of a label.
fn label_columns(sheet: Sheet<'_>) -> usize {
    LABEL[usize::from(sheet.width >= MUCH)]
}

/// The day and the laboratory that stand for all.
fn top(sheet: Sheet<'_>, page: &ResultsPage) -> Line<'static> {
    let day = page.day(sheet.model).format("%a %-d %b %Y").to_string();
    let lab = page.lab.as_ref().map_or_else(|| "not said".to_owned(), ToString::to_string);
    let caption = |text: &str| Span::styled(text.to_owned(), sheet.style(Meaning::Muted));
    let room = sheet.width.saturating_sub(36);
    Line::from(vec![
        caption("day "),
        field(sheet, page, Spot::Day, &day, 18),
        caption("  laboratory "),
        field(sheet, page, Spot::Laboratory, &lab, room),
    ])
}

/// A field with what stands in it, or what is written in it.
fn field(sheet: Sheet<'_>, page: &ResultsPage, spot: Spot, text: &str, room: usize) -> Span<'static> {
    let style = sheet.style(Meaning::Base);
    if page.spot != spot {
        return Span::styled(fit(text, room, sheet.marks()), style);
    }
    if page.line.is_empty() {
        return Span::styled(fit(text, room, sheet.marks()), sheet.model.looks.theme.selected(style));
    }
    let written = sheet.model.written(&page.line, room.saturating_sub(1));
    Span::styled(written, sheet.style(Meaning::Strong))
}

/// How many columns lie to the left and to the right of those in sight.
fn out_of_sight(sheet: Sheet<'_>, page: &ResultsPage, shown: &Range<usize>) -> Line<'static> {
    let (before, after) = (shown.start, page.findings.len() - shown.end);
    let marks = sheet.marks();
    let more = [(before, marks.left, "to the left"), (after, marks.right, "to the right")];
    let words = more.iter().filter(|(count, ..)| *count > 0).map(|(count, mark, way)| format!("{mark} {count} {way}"));
    let words = words.collect::<Vec<_>>().join(", ");
    sheet.line(&format!("{}{words}", " ".repeat(label_columns(sheet) + 1)), Meaning::Muted)
}

/// The heads of the columns, with their units below.
fn heads(sheet: Sheet<'_>, page: &ResultsPage, shown: &Range<usize>) -> Vec<Line<'static>> {
    let of = |words: &dyn Fn(&Finding) -> String, meaning: &dyn Fn(usize) -> Meaning| {
        let cells = shown.clone().filter_map(|at| Some((at, page.findings.get(at)?)));
        let spans = cells.map(|(at, finding)| {
            let text = left(&words(finding), RESULT - 1, sheet.marks());
            Span::styled(format!(" {text}"), sheet.style(meaning(at)))
        });
        Line::from(std::iter::once(Span::raw(" ".repeat(label_columns(sheet)))).chain(spans).collect::<Vec<_>>())
    };
    let name = |at: usize| if at == page.column { Meaning::Strong } else { Meaning::Title };
    vec![of(&short, &name), of(&|finding| unit(sheet.model, finding), &|_| Meaning::Muted)]
}

/// What a column is called where there is little room.
fn short(finding: &Finding) -> String {
    match finding {
        Finding::Known(Analyte::TitratableAcidity) => "titratable".to_owned(),
        Finding::Known(Analyte::VolatileAcidity) => "volatile".to_owned(),
        Finding::Known(Analyte::Oxygen) => "oxygen".to_owned(),
        Finding::Known(analyte) => analyte.name().trim_end_matches(" acid").to_owned(),
        Finding::OfHouse(name) => name.to_string(),
    }
}

/// The unit of a column where there is little room, with the acid as which it is read.
fn unit(model: &Model, finding: &Finding) -> String {
    match finding {
        Finding::Known(analyte) => model.state.read_as(*analyte).short_unit().to_owned(),
        Finding::OfHouse(name) => {
            model.state.house_analyte(name).map_or_else(String::new, |house| house.unit.to_string())
        }
    }
}

/// A value as its column gives it.
pub(super) fn figure(state: &State, finding: &Finding, value: f64) -> String {
    units::figure(match finding {
        Finding::Known(analyte) => state.read_as(*analyte).value(value),
        Finding::OfHouse(_) => value,
    })
}

/// A line of the table.
fn line(sheet: Sheet<'_>, page: &ResultsPage, (at, thing): (usize, &Thing), shown: &Range<usize>) -> Line<'static> {
    let is_chosen = page.spot == Spot::Line(at);
    let meaning = if is_chosen { Meaning::Strong } else { Meaning::Base };
    let label = left(thing.label.as_str(), label_columns(sheet), sheet.marks());
    let mut spans = vec![Span::styled(label, sheet.style(meaning))];
    for column in shown.clone() {
        let Some(finding) = page.findings.get(column) else { continue };
        spans.push(Span::raw(" "));
        spans.push(cell(sheet, page, (thing, finding), is_chosen && column == page.column));
    }
    Line::from(spans)
}

/// A cell: what is written in it, what is stored, else what was found before, with its day.
fn cell(sheet: Sheet<'_>, page: &ResultsPage, (thing, finding): (&Thing, &Finding), is_chosen: bool) -> Span<'static> {
    let (model, marks) = (sheet.model, sheet.marks());
    let wide = RESULT - 1;
    if is_chosen && !page.line.is_empty() {
        return Span::styled(left(&model.written(&page.line, wide - 1), wide, marks), sheet.style(Meaning::Strong));
    }
    let stored = page.stored(model, thing, finding).and_then(|it| finding.said_by(it.tested));
    let (text, meaning) = match stored {
        Some(value) => (format!("{:>FIGURE$} {}", figure(&model.state, finding, value), marks.yes), Meaning::Fine),
        None => match thing.found_before(&model.state, finding, page.day(model)) {
            Some((value, at)) => (
                format!("{:>FIGURE$} {}", figure(&model.state, finding, value), day(at, page.day(model))),
                Meaning::Muted,
            ),
            None => (format!("{:>FIGURE$}", marks.empty), Meaning::Muted),
        },
    };
    let style = sheet.style(meaning);
    let style = if is_chosen { model.looks.theme.selected(style) } else { style };
    Span::styled(left(&text, wide, marks), style)
}

/// A day in little room: `12 Nov`, and of other years the year alone.
fn day(at: Moment, today: NaiveDate) -> String {
    let date = at.date();
    if date.year() == today.year() { at.show_day() } else { date.year().to_string() }
}

/// The line on which another thing is named.
fn another(sheet: Sheet<'_>, page: &ResultsPage) -> Line<'static> {
    let what = "another vessel, lot or sample";
    match page.spot {
        Spot::Another if page.line.is_empty() => {
            Line::styled(what, sheet.model.looks.theme.selected(sheet.style(Meaning::Muted)))
        }
        Spot::Another => sheet.model.question_line("another: ", &page.line, sheet.width),
        _ => sheet.line(what, Meaning::Muted),
    }
}

const FIGURES: &str =
    "Digits are a result; enter stores it and goes right, an arrow its way. A label goes to its line, or adds one.";
const DAY: &str = "The day on which all of it was found: 27 Nov, 2026-11-27, yesterday.";
const LABORATORY: &str = "Who found all of it; it is kept with each test. A minus takes it away.";
const ANOTHER: &str = "The label of a vessel, a lot or a sample; enter adds its line.";

/// What is chosen, in words: always as many lines, so that the table stands still.
fn below(sheet: Sheet<'_>, page: &ResultsPage) -> Vec<Line<'static>> {
    let chosen = page.thing().zip(page.finding());
    let (what, how) = match page.spot {
        Spot::Line(_) => (chosen.map_or_else(String::new, |chosen| what_stands(sheet.model, page, chosen)), FIGURES),
        Spot::Day => (String::new(), DAY),
        Spot::Laboratory => (String::new(), LABORATORY),
        Spot::Another => (String::new(), ANOTHER),
    };
    let mut lines = vec![sheet.line(&what, Meaning::Base)];
    let is_table = matches!(page.spot, Spot::Line(_) | Spot::Another);
    let written = if is_table { page.line.as_str() } else { "" };
    let mut said = sheet.below_written(written, how, || page.meant(sheet.model));
    said.resize(2.max(said.len()), Line::default());
    lines.extend(said);
    lines
}

/// What stands in the chosen cell: `M25, in 24 vessels: free SO2 24 mg/L, stored of Wed 25 Nov 2026`.
fn what_stands(model: &Model, page: &ResultsPage, (thing, finding): (&Thing, &Finding)) -> String {
    let empty = thing.of.tested(thing.label.clone(), Readings::default(), None);
    let of = tested_thing(&model.state, &empty);
    let unit = match finding {
        Finding::Known(analyte) => model.state.read_as(*analyte).unit().to_owned(),
        Finding::OfHouse(_) => unit(model, finding),
    };
    let with_unit = |value: f64| {
        let figure = figure(&model.state, finding, value);
        if unit.is_empty() { figure } else { format!("{figure} {unit}") }
    };
    let stored = page.stored(model, thing, finding);
    let stands = match stored.and_then(|it| Some((finding.said_by(it.tested)?, it.at))) {
        Some((value, at)) => format!("{}, stored of {} {}", with_unit(value), at.show_day(), at.show_time()),
        None => match thing.found_before(&model.state, finding, page.day(model)) {
            Some((value, at)) => format!("{} on {}", with_unit(value), at.show_date()),
            None if unit.is_empty() => "not tested".to_owned(),
            None => format!("not tested, in {unit}"),
        },
    };
    format!("{of}: {}, {stands}", finding.name())
}
