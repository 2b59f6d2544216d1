//! Lines of a page, each with a name, what is written on it and how to write it: what a trial is to be, what a blend is to be.

use ratatui::text::Line;

use crate::tui::core::choice::choice_line;
use crate::tui::core::model::Model;
use crate::tui::core::text::{fit, left};

/// Columns of a name, and of what is written before its hint.
const NAME: usize = 14;
const WRITTEN: usize = 30;

/// A line: its name, and how to write it.
pub(super) type Named = (&'static str, &'static str);

/// The lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Fields {
    named: &'static [Named],
    texts: Vec<String>,
    /// Whether what stands there is only proposed.
    proposed: Vec<bool>,
    /// The line that is written on.
    chosen: usize,
}

impl Fields {
    /// Lines with what is proposed for each.
    pub fn new(named: &'static [Named], proposed: Vec<String>) -> Fields {
        Fields { named, proposed: proposed.iter().map(|text| !text.is_empty()).collect(), texts: proposed, chosen: 0 }
    }

    /// The line that is written on.
    pub fn chosen(&self) -> usize {
        self.chosen
    }

    /// Goes to another line.
    pub fn step(&mut self, by: isize) {
        self.chosen = self.chosen.saturating_add_signed(by).min(self.named.len() - 1);
    }

    /// What stands on all of them.
    pub fn texts(&self) -> &[String] {
        &self.texts
    }

    /// What stands on a line.
    pub fn text(&self, at: usize) -> &str {
        self.texts.get(at).map_or("", |text| text.trim())
    }

    /// What stands on the line that is written on.
    pub fn written(&self) -> Option<&str> {
        self.texts.get(self.chosen).map(String::as_str)
    }

    /// The same, to be written on.
    pub fn written_mut(&mut self) -> Option<&mut String> {
        self.texts.get_mut(self.chosen)
    }

    /// Whether what stands there is only proposed.
    pub fn is_proposed(&self) -> bool {
        self.proposed.get(self.chosen).copied().unwrap_or(false)
    }

    /// It was written on.
    pub fn rewritten(&mut self) {
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
    pub fn lines(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        (0..self.named.len()).map(|at| self.line(model, at, width)).collect()
    }

    fn line(&self, model: &Model, at: usize, width: usize) -> Line<'static> {
        let (marks, chosen) = (model.looks.marks, self.chosen == at);
        let ((name, hint), text) = (self.named[at], &self.texts[at]);
        let room = width.saturating_sub(NAME + 3);
        let written = match (chosen, text.chars().count() + 2 < WRITTEN) {
            (true, true) => format!("{} {hint}", left(&model.written(text, WRITTEN), WRITTEN, marks)),
            (true, false) => model.written(text, room.saturating_sub(1)),
            (false, _) => text.clone(),
        };
        choice_line(model, chosen, &format!("{} {}", left(name, NAME, marks), fit(&written, room, marks)), width)
    }
}
