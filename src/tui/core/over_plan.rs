//! A list over the plan of what is chosen in it: of a vessel to top from, a tank to rack into, a form to dose in. Each line that is
//! chosen is planned anew; the plan is longer than the page, so that one goes down to it.

use ratatui::text::Line;

use crate::tui::core::choice::choice_line;
use crate::tui::core::list::Between;
use crate::tui::core::model::Model;
use crate::tui::core::page::Go;

/// Where one stands on such a page.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct OverPlan {
    /// Which line of the list is chosen.
    pub chosen: usize,
    /// From which of its lines on the page is shown.
    pub line: usize,
}

impl OverPlan {
    /// With a line of the list chosen. Its plan is read from the beginning.
    #[must_use]
    pub const fn at(chosen: usize) -> OverPlan {
        OverPlan { chosen, line: 0 }
    }

    /// Goes about on the page: through the list of so many lines, or by half a screen down to the plan, up to the last line that it can be
    /// shown from. Gives the line of the list that is to be planned now, where it is the list that one went through.
    pub(in crate::tui) fn go(&mut self, model: &Model, go: Go, lines: usize, last: usize) -> Option<usize> {
        let half = model.half_screen();
        if matches!(go, Go::PageUp | Go::PageDown) {
            self.line = go.line(self.line, last, half);
            return None;
        }
        Some(go.line(self.chosen, lines.saturating_sub(1), half))
    }

    /// The lines of the page for so many columns and rows: what stands above the list, of the list at least so many lines, and its plan.
    pub(in crate::tui) fn lines(
        self,
        model: &Model,
        (width, height): (usize, usize),
        list: Listed<impl Fn(usize) -> String>,
        plan: Vec<Line<'static>>,
    ) -> Vec<Line<'static>> {
        let Listed { above, lines, least, words } = list;
        let between = Between { above, lines, chosen: self.chosen, least, below: plan };
        between.lines(model, (width, height), |at| choice_line(model, at == self.chosen, &words(at), width))
    }
}

/// The list of such a page.
pub(in crate::tui) struct Listed<W> {
    /// What stands above it.
    pub above: Vec<Line<'static>>,
    /// How many lines it has.
    pub lines: usize,
    /// So many of them are in sight at least, whatever the plan takes.
    pub least: usize,
    /// What a line says.
    pub words: W,
}
