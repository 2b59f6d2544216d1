//! The card of a bin: every lot code that lies there, and how its bottles taste.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;
use ratatui::widgets::Block;

use super::map::mark;
use crate::cellar::core::day::Day;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bottles::bottling::bins::{Bin, Holding, Lying};
use crate::cellar::jobs::bottles::bottling::bottle_tasting::BottleTaste;
use crate::cellar::jobs::bottles::bottling::release::Readiness;
use crate::cellar::jobs::bottles::bottling::run::Run;
use crate::cellar::jobs::bottles::bottling::size;
use crate::cellar::jobs::tests::tasting::Impression;
use crate::reckon::bottling::nine_litre_cases;
use crate::tui::core::draw::{paragraph, write_lines};
use crate::tui::core::model::Model;
use crate::tui::core::text::fit;
use crate::tui::core::theme::Meaning;
use crate::units::{Volume, counted};

/// Of the tastes of a lot code the card tells so many, the last.
const TASTES: usize = 3;

/// Draws the card.
pub(super) fn draw(model: &Model, bin: &Bin, frame: &mut Frame<'_>, area: Rect) {
    if area.width < 4 || area.height < 3 {
        return;
    }
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let title = fit(&format!(" {} ", bin.place), usize::from(area.width.saturating_sub(4)), marks);
    let block = Block::bordered().border_set(marks.border).border_style(theme.style(Meaning::Muted));
    let block = block.title(Line::styled(title, theme.style(Meaning::Title)));
    let inside = block.inner(area);
    frame.render_widget(block, area);
    let width = usize::from(inside.width);
    let mut lines = Vec::new();
    if bin.lying.is_empty() {
        lines.push(Line::styled(fit("empty", width, marks), theme.style(Meaning::Empty)));
    }
    for (index, lying) in bin.lying.iter().enumerate() {
        if index > 0 {
            lines.push(Line::default());
        }
        lines.extend(of_one(model, lying, model.state.runs.get(lying.run), width));
    }
    // What lies here comes before how it tastes: on a small screen the tastes are cut, not the bottles.
    let mut told = Vec::new();
    for lying in &bin.lying {
        if !told.contains(&lying.run) {
            told.push(lying.run);
            lines.extend(tastes(model, model.state.runs.get(lying.run), TASTES, width));
        }
    }
    let rest = lines.len().saturating_sub(usize::from(inside.height));
    if rest > 0 {
        lines.truncate(usize::from(inside.height).saturating_sub(1));
        lines.push(Line::styled(fit("more: i shows the run", width, marks), theme.style(Meaning::Muted)));
    }
    write_lines(frame, inside, lines);
}

fn of_one(model: &Model, lying: &Lying, run: &Run, width: usize) -> Vec<Line<'static>> {
    let stock = &lying.stock;
    let today = Day::of(model.now.date());
    let readiness = stock.readiness(today);
    let (glyph, meaning) = mark(Holding::One(readiness), model.looks.marks);
    let release = match (readiness, stock.release) {
        (Readiness::Released, Some(day)) => format!("{glyph} released {}", day.show()),
        (Readiness::ThisMonth, Some(day)) => format!("{glyph} this month, {}", day.show()),
        (Readiness::Resting, Some(day)) => format!("{glyph} resting until {}", day.show()),
        _ => format!("{glyph} no release set: enter sets one"),
    };
    let code = stock.lot_code.as_ref().map_or("lot code not known", |code| code.as_str());
    let told = [
        (format!("{} {code}", bottles_and_cases(stock.there, run.bottle)), Meaning::Strong),
        (wine_words(&model.state, run), Meaning::Base),
        (release, meaning),
        (format!("since {}, in bottle {}", stock.since.show_date(), age(run, lying, today)), Meaning::Muted),
    ];
    told.into_iter().flat_map(|(text, meaning)| paragraph(model, &text, width, meaning)).collect()
}

fn age(run: &Run, lying: &Lying, today: Day) -> String {
    let filled = run.filled(lying.stock.lot_code.as_ref());
    months(filled.map_or(0, |filled| today.months_since(Day::of(filled.date()))))
}

/// Months in words.
pub(super) fn months(count: u32) -> String {
    counted(count, "month")
}

/// The wine of a run: its lots, its run, its bottle.
pub(super) fn wine_words(state: &State, run: &Run) -> String {
    let lots: Vec<&str> = run.lots().into_iter().map(|lot| state.lots.get(lot).label.as_str()).collect();
    format!("{}, run {}, {}", lots.join(" and "), run.label, size(run.bottle))
}

/// `600 bottles (50 cases)`: cases of nine litres.
pub(super) fn bottles_and_cases(count: u64, bottle: Volume) -> String {
    let bottles = counted(count, "bottle");
    match nine_litre_cases(count, bottle) {
        Some((cases, 0)) => format!("{bottles} ({})", counted(cases, "case")),
        Some((cases @ 1.., odd)) => format!("{bottles} ({} and {odd})", counted(cases, "case")),
        _ => bottles,
    }
}

/// The last tastes of a run's bottles, the newest first.
pub(in crate::tui) fn tastes(model: &Model, run: &Run, most: usize, width: usize) -> Vec<Line<'static>> {
    let line = |taste: &BottleTaste| {
        let meaning = if taste.taste.has_fault(&model.state) { Meaning::Over } else { Meaning::Base };
        paragraph(model, &taste_words(model, taste), width, meaning)
    };
    run.tastes.iter().rev().take(most).flat_map(line).collect()
}

/// A taste in one line, with the age of the bottle first.
fn taste_words(model: &Model, taste: &BottleTaste) -> String {
    let said =
        Impression { score: taste.taste.score, marks: taste.taste.marks.clone(), text: taste.taste.text.clone() };
    let warning =
        if taste.taste.has_fault(&model.state) { format!("{} ", model.looks.marks.warning) } else { String::new() };
    let code = taste.lot_code.as_ref().map_or_else(String::new, |code| format!(" {code}"));
    let day = taste.taste.at.show_date();
    format!("{warning}tasted at {}, {day}{code}: {}", months(taste.months()), said.show())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_case_and_several_are_said_as_they_are_spoken() {
        let words = |count| bottles_and_cases(count, Volume::from_ml(750));
        assert_eq!(words(1), "1 bottle");
        assert_eq!(words(12), "12 bottles (1 case)");
        assert_eq!(words(22), "22 bottles (1 case and 10)");
        assert_eq!(words(34), "34 bottles (2 cases and 10)");
    }
}
