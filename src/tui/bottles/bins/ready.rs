//! What lies on the map: which bottles may go, now and later.

use ratatui::text::Line;

use super::card::wine_words;
use crate::cellar::core::day::Day;
use crate::cellar::jobs::bottles::bottling::bins::Lying;
use crate::cellar::jobs::bottles::bottling::release::Readiness;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::{left, right};
use crate::tui::core::theme::Meaning;
use crate::units::{by_count, counted};

/// The list of what may go.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ready {
    /// From which line on it is shown.
    line: usize,
}

impl Table for Ready {
    const ABOUT: About = About {
        name: "Ready this month, and later",
        purpose: "Every bottle by its release: what may go now and later this month, what rests until when, what has no release, and \
                  what is not laid away yet.",
        opens: Opens::From("c on the map of the bins opens it"),
    };
    const ROWS: &'static [Row<Ready>] =
        &[Row::new(Sense::View, "The map of the bins", "Goes back to the map.", |_, _| Turn::back())
            .word(|_, _| Some("map".to_owned()))];
}

impl Page for Ready {
    fn title(&self, _model: &Model) -> String {
        Ready::ABOUT.name.to_owned()
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        ReadySheet { on: Sheet { model, width } }.ready()
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.line)
    }
}

/// What the page is written on.
struct ReadySheet<'a> {
    on: Sheet<'a>,
}

impl ReadySheet<'_> {
    /// What may go, what comes this month, what rests, what has no release, what is not laid away.
    fn ready(&self) -> Vec<Line<'static>> {
        let today = Day::of(self.on.model.now.date());
        let all = self.on.model.state.by_release(today);
        let of = |wanted: Readiness| -> Vec<&Lying> {
            all.iter().filter(|lying| lying.stock.readiness(today) == wanted).collect()
        };
        let loose = self.on.model.state.not_laid_away();
        let sum = |lying: &[&Lying]| lying.iter().map(|lying| lying.stock.there).sum::<u64>();
        let (released, this_month) = (of(Readiness::Released), of(Readiness::ThisMonth));
        let ready = sum(&released) + sum(&this_month);
        let told = format!("{} {} ready this month.", counted(ready, "bottle"), by_count(ready, "is", "are"));
        let mut lines = self.on.words(&told, Meaning::Strong);
        lines.extend(self.on.titled("due later this month", self.table(&this_month, Meaning::Due)));
        lines.extend(self.on.titled("released", self.table(&released, Meaning::Fine)));
        lines.extend(self.on.titled("resting", self.table(&of(Readiness::Resting), Meaning::Base)));
        lines.extend(self.on.titled("no release set", self.table(&of(Readiness::NoRelease), Meaning::Muted)));
        lines.extend(self.on.titled("not laid away", self.table(&loose.iter().collect::<Vec<_>>(), Meaning::Muted)));
        lines
    }

    fn table(&self, lying: &[&Lying], meaning: Meaning) -> Vec<Line<'static>> {
        let marks = self.on.marks();
        let line = |lying: &&Lying| {
            let run = self.on.model.state.runs.get(lying.run);
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
                wine_words(&self.on.model.state, run)
            );
            self.on.line(&text, meaning)
        };
        lying.iter().map(line).collect()
    }
}
