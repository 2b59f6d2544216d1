//! A count is closed and nothing of it booked: a line asks why, which need not be said.

use crate::cellar::core::question::Question;
use ratatui::text::Line;

use super::CountPage;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::jobs::books::counting::keeping::CountEnded;
use crate::tui::core::asking;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn};
use crate::tui::core::then::Then;

/// What is asked.
const QUESTION: &str = " Why nothing is booked: ";

/// The line that closes a count.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Closing {
    count: Label,
    text: String,
}

impl Table for Closing {
    const ABOUT: About = About {
        name: "Close without booking",
        purpose: "Closes the count and books nothing: the book stays as it is. A reason may be written; it is kept with the count.",
        opens: Opens::From("it opens where a count is closed"),
    };
    const ROWS: &'static [Row<Closing>] = &[];
}

/// Asks why nothing is booked.
pub(super) fn ask(page: &CountPage, model: &mut Model) -> Turn {
    model.open(Closing { count: page.count.clone(), text: page.text.clone() });
    Turn::stay()
}

impl Page for Closing {
    fn title(&self, _model: &Model) -> String {
        Closing::ABOUT.name.to_owned()
    }

    fn is_over(&self) -> bool {
        true
    }

    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        vec![model.question_line(QUESTION, &self.text, width)]
    }

    fn written(&self) -> Option<&str> {
        Some(&self.text)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.text)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("close, book nothing".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        let question = Question::NothingBooked { count: self.count.clone() };
        if self.text.trim().is_empty() && !asking::ask(model, vec![question]) {
            return Some(Turn::stay());
        }
        let why = Text::new(self.text.trim()).ok().filter(|why| !why.as_str().is_empty());
        let ended = CountEnded { count: self.count.clone(), why };
        let say = format!("'{}' is closed; nothing was booked.", self.count);
        Some(model.enter(vec![What::CountEnded(ended)], say, Then::STAY).into())
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let is_open = model.state.counts.by_label(self.count.as_str()).is_some_and(|count| count.ended.is_none());
        // It is closed by this line itself, or by another program.
        if is_open { Followed::There } else { Followed::Gone(format!("The count {}", self.count)) }
    }
}
