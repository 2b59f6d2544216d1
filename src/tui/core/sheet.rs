//! What the lines of a page are written on where they take more than one function: so many columns, in the looks of the model.

use ratatui::style::Style;
use ratatui::text::Line;

use crate::tui::core::draw::paragraph;
use crate::tui::core::marks::Marks;
use crate::tui::core::model::Model;
use crate::tui::core::text::fit;
use crate::tui::core::theme::Meaning;

/// So many columns of a page.
#[derive(Clone, Copy)]
pub(in crate::tui) struct Sheet<'a> {
    /// The model that the page shows.
    pub model: &'a Model,
    /// The columns.
    pub width: usize,
}

impl Sheet<'_> {
    /// The signs that are drawn with.
    pub fn marks(&self) -> &'static Marks {
        self.model.looks.marks
    }

    /// How what is meant so looks.
    pub fn style(&self, meaning: Meaning) -> Style {
        self.model.looks.theme.style(meaning)
    }

    /// Words in one line, cut where there is no room for more.
    pub fn line(&self, text: &str, meaning: Meaning) -> Line<'static> {
        Line::styled(fit(text, self.width, self.marks()), self.style(meaning))
    }

    /// Words in as many lines as they take.
    pub fn words(&self, text: &str, meaning: Meaning) -> Vec<Line<'static>> {
        paragraph(self.model, text, self.width, meaning)
    }

    /// What stands below a line while it is written: how to write, once something stands on it what enter takes that for, or why it does
    /// not take it. Where enter refused it just now, that is said already.
    pub fn below_written(
        &self,
        line: &str,
        how: &str,
        meant: impl FnOnce() -> Result<String, String>,
    ) -> Vec<Line<'static>> {
        if line.trim().is_empty() {
            return self.words(how, Meaning::Muted);
        }
        match meant() {
            Ok(meant) => self.words(&format!("{} {meant}", self.marks().yes), Meaning::Fine),
            Err(_) if self.model.saying => self.words(how, Meaning::Muted),
            Err(why) => self.words(&why, Meaning::Muted),
        }
    }

    /// A part with its title, a blank line before it; nothing where there is nothing in it.
    pub fn titled(&self, title: &str, lines: Vec<Line<'static>>) -> Vec<Line<'static>> {
        if lines.is_empty() {
            return lines;
        }
        [Line::default(), self.line(title, Meaning::Title)].into_iter().chain(lines).collect()
    }
}
