//! What lies on the map: what may go, now and later; and a run, with its bottles by lot code and its tastes through age.

use ratatui::text::Line;

use super::Sheet;
use super::card::{bottles_and_cases, tastes, wine_words};
use crate::cellar::bottling::bins::Lying;
use crate::cellar::bottling::release::Readiness;
use crate::cellar::bottling::run::Run;
use crate::cellar::day::Day;
use crate::tui::model::Model;
use crate::tui::text::{fit, left, right, wrap};
use crate::tui::theme::Meaning;

/// The title of a sheet, and its lines for so many columns.
pub(in crate::tui) fn page(model: &Model, sheet: &Sheet, width: usize) -> (String, Vec<Line<'static>>) {
    let on = On { model, width };
    match sheet {
        Sheet::Ready => ("Ready this month, and later".to_owned(), on.ready()),
        Sheet::Runs(labels) => {
            let runs = labels.iter().filter_map(|label| model.state.runs.by_label(label.as_str()));
            ("What lies in this bin".to_owned(), runs.flat_map(|run| on.run(run)).collect())
        }
    }
}

/// What a sheet is written on.
struct On<'a> {
    model: &'a Model,
    width: usize,
}

impl On<'_> {
    fn words(&self, text: &str, meaning: Meaning) -> Vec<Line<'static>> {
        let style = self.model.looks.theme.style(meaning);
        wrap(text, self.width, self.model.looks.marks).into_iter().map(|line| Line::styled(line, style)).collect()
    }

    fn titled(&self, title: &str, lines: Vec<Line<'static>>) -> Vec<Line<'static>> {
        if lines.is_empty() {
            return lines;
        }
        let title =
            Line::styled(fit(title, self.width, self.model.looks.marks), self.model.looks.theme.style(Meaning::Title));
        [title].into_iter().chain(lines).chain([Line::default()]).collect()
    }

    /// What may go, what comes this month, what rests, what has no release, what is not laid away.
    fn ready(&self) -> Vec<Line<'static>> {
        let today = Day::of(self.model.now.date());
        let all = self.model.state.by_release(today);
        let of = |wanted: Readiness| -> Vec<&Lying> {
            all.iter().filter(|lying| lying.stock.readiness(today) == wanted).collect()
        };
        let loose = self.model.state.not_laid_away();
        let sum = |lying: &[&Lying]| lying.iter().map(|lying| lying.stock.there).sum::<u64>();
        let (released, this_month) = (of(Readiness::Released), of(Readiness::ThisMonth));
        let ready = sum(&released) + sum(&this_month);
        let mut lines = self.words(&format!("{ready} bottles are ready this month."), Meaning::Strong);
        lines.push(Line::default());
        lines.extend(self.titled("due later this month", self.table(&this_month, Meaning::Due)));
        lines.extend(self.titled("released", self.table(&released, Meaning::Fine)));
        lines.extend(self.titled("resting", self.table(&of(Readiness::Resting), Meaning::Base)));
        lines.extend(self.titled("no release set", self.table(&of(Readiness::NoRelease), Meaning::Muted)));
        lines.extend(self.titled("not laid away", self.table(&loose.iter().collect::<Vec<_>>(), Meaning::Muted)));
        lines
    }

    fn table(&self, lying: &[&Lying], meaning: Meaning) -> Vec<Line<'static>> {
        let marks = self.model.looks.marks;
        let style = self.model.looks.theme.style(meaning);
        let line = |lying: &&Lying| {
            let run = self.model.state.runs.get(lying.run);
            let stock = &lying.stock;
            let day = stock.release.map_or_else(String::new, Day::show);
            let code = stock.lot_code.as_ref().map_or("?", |code| code.as_str());
            let place = stock.place.as_ref().map_or("", |place| place.as_str());
            let text = format!(
                "{} {} {} {}  {}",
                left(&day, 11, marks),
                right(&stock.there.to_string(), 6, marks),
                left(code, 10, marks),
                left(place, 16, marks),
                wine_words(&self.model.state, run)
            );
            Line::styled(fit(&text, self.width, marks), style)
        };
        lying.iter().map(line).collect()
    }

    /// A run: its wine, its bottles by lot code, what is out by cause, and its tastes.
    fn run(&self, run: &Run) -> Vec<Line<'static>> {
        let mut lines = self.words(&wine_words(&self.model.state, run), Meaning::Strong);
        let told = format!(
            "{} filled; {} in bins, {} not laid away, {} out.",
            bottles_and_cases(run.bottles(), run.bottle),
            run.lying(),
            run.loose(),
            run.gone()
        );
        lines.extend(self.words(&told, Meaning::Base));
        if run.beyond > 0 {
            let told = format!("{} more were laid away or went out than were filled: check the counts.", run.beyond);
            lines.extend(self.words(&told, Meaning::Over));
        }
        lines.push(Line::default());
        let codes = run.by_code().into_iter().flat_map(|of| {
            let code = of.lot_code.as_ref().map_or("not known", |code| code.as_str());
            let text =
                format!("{code}: {} filled, {} left ({} in bins), {} out", of.filled, of.left(), of.lying, of.out);
            self.words(&text, Meaning::Base)
        });
        lines.extend(self.titled("by lot code", codes.collect()));
        if run.assumed > 0 {
            let told = format!(
                "Of {} taken nobody said the lot code: the code filled first is taken to be meant.",
                super::bottles(u32::try_from(run.assumed).unwrap_or(u32::MAX))
            );
            lines.extend(self.words(&told, Meaning::Muted));
            lines.push(Line::default());
        }
        let mut causes: Vec<(&str, u64)> = Vec::new();
        for out in run.out.iter() {
            match causes.iter_mut().find(|(why, _)| *why == out.why.as_str()) {
                Some((_, bottles)) => *bottles += out.bottles,
                None => causes.push((out.why.as_str(), out.bottles)),
            }
        }
        let causes = causes.iter().flat_map(|(why, bottles)| self.words(&format!("{bottles} {why}"), Meaning::Base));
        lines.extend(self.titled("out", causes.collect()));
        let tasted = tastes(self.model, run, run.tastes.len(), self.width);
        lines.extend(self.titled("tasted through bottle age, the last first", tasted));
        lines
    }
}
