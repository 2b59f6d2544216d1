//! Lines that are filled on a page, each with a name, what is written on it and how to write it: what a trial is to be, what a blend is
//! to be, what a sample is to be. A page that lends them ([`crate::tui::core::page::Page::fields`]) has them written, gone through and
//! scrolled over.

use ratatui::text::Line;

use crate::tui::core::choice::choice_line;
use crate::tui::core::line::Manner;
use crate::tui::core::model::Model;
use crate::tui::core::page::Go;
use crate::tui::core::text::{fit, left};

/// Columns of what is written before its hint.
const WRITTEN: usize = 30;

/// Which lines there are.
#[derive(Debug, PartialEq, Eq)]
pub struct Named {
    /// Of each its name, and how to write it.
    pub lines: &'static [(&'static str, &'static str)],
    /// Columns of a name.
    pub columns: usize,
    /// The most characters that are written on one.
    pub longest: usize,
}

/// The lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fields {
    named: &'static Named,
    texts: Vec<String>,
    /// Whether what stands there is only proposed.
    proposed: Vec<bool>,
    /// The line that is written on.
    chosen: usize,
    /// From which line on the page is shown.
    shown: usize,
}

impl Fields {
    /// Lines with what is proposed for each.
    pub(in crate::tui) fn new(named: &'static Named, proposed: Vec<String>) -> Fields {
        let is_proposed = proposed.iter().map(|text| !text.is_empty()).collect();
        Fields { named, proposed: is_proposed, texts: proposed, chosen: 0, shown: 0 }
    }

    /// The name of the line that is written on.
    #[must_use]
    pub fn chosen(&self) -> &'static str {
        self.named.lines[self.chosen].0
    }

    /// Goes to the line of a name.
    pub fn choose(&mut self, name: &str) {
        self.chosen = self.place(name).unwrap_or(self.chosen);
    }

    /// Goes to the next line, and from the last to the first.
    pub fn choose_next(&mut self) {
        self.chosen = (self.chosen + 1) % self.named.lines.len();
    }

    /// Up and down go from line to line; by half a screen one scrolls over the page, which has `last` lines to be shown from.
    pub(in crate::tui) fn go(&mut self, go: Go, last: usize, half: usize) {
        if matches!(go, Go::PageUp | Go::PageDown) {
            self.shown = go.line(self.shown, last, half);
        } else {
            self.chosen = go.line(self.chosen, self.named.lines.len() - 1, half);
            self.shown = 0;
        }
    }

    fn place(&self, name: &str) -> Option<usize> {
        self.named.lines.iter().position(|line| line.0 == name)
    }

    /// From which line on the page is shown.
    #[must_use]
    pub fn line_shown(&self) -> usize {
        self.shown
    }

    /// The same, to be changed.
    pub fn line_shown_mut(&mut self) -> &mut usize {
        &mut self.shown
    }

    /// How they are written.
    pub(in crate::tui) fn manner(&self) -> Manner {
        Manner::over_list(self.named.longest)
    }

    /// What stands on all of them.
    #[must_use]
    pub fn texts(&self) -> &[String] {
        &self.texts
    }

    /// What stands on the line of a name; nothing where there is no such line.
    #[must_use]
    pub fn text(&self, name: &str) -> &str {
        self.place(name).map_or("", |at| self.texts[at].trim())
    }

    /// What stands on the line that is written on.
    #[must_use]
    pub fn written(&self) -> Option<&str> {
        self.texts.get(self.chosen).map(String::as_str)
    }

    /// The same, to be written on.
    pub fn written_mut(&mut self) -> Option<&mut String> {
        self.texts.get_mut(self.chosen)
    }

    /// Whether what stands there is only proposed.
    #[must_use]
    pub fn is_proposed(&self) -> bool {
        self.proposed.get(self.chosen).copied().unwrap_or(false)
    }

    /// It was written on, and is brought in sight.
    pub fn rewritten(&mut self) {
        self.shown = 0;
        if let Some(proposed) = self.proposed.get_mut(self.chosen) {
            *proposed = false;
        }
    }

    /// Goes to the next of some values, or to the one before.
    pub fn turn(&mut self, values: &[String], by: isize) {
        let Some(text) = self.texts.get_mut(self.chosen).filter(|_| !values.is_empty()) else { return };
        let count = isize::try_from(values.len()).unwrap_or(1);
        let at = values.iter().position(|value| value == text.trim()).and_then(|at| isize::try_from(at).ok());
        let next = at.map_or(0, |at| (at + by).rem_euclid(count));
        if let Some(value) = usize::try_from(next).ok().and_then(|next| values.get(next)) {
            text.clone_from(value);
        }
        self.rewritten();
    }

    /// The lines as they are drawn.
    pub(in crate::tui) fn lines(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        (0..self.named.lines.len()).map(|at| self.line(model, at, width)).collect()
    }

    fn line(&self, model: &Model, at: usize, width: usize) -> Line<'static> {
        let (marks, chosen) = (model.looks.marks, self.chosen == at);
        let ((name, hint), text) = (self.named.lines[at], &self.texts[at]);
        let room = width.saturating_sub(self.named.columns + 3);
        let written = match (chosen, text.chars().count() + 2 < WRITTEN) {
            (true, true) => format!("{} {hint}", left(&model.written(text, WRITTEN), WRITTEN, marks)),
            (true, false) => model.written(text, room.saturating_sub(1)),
            (false, _) => text.clone(),
        };
        choice_line(
            model,
            chosen,
            &format!("{} {}", left(name, self.named.columns, marks), fit(&written, room, marks)),
            width,
        )
    }
}
