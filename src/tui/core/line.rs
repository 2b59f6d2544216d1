//! The line that is being written, on whichever page. What was refused stays on it, marked, and swallows no later key: backspace
//! edits it, another character starts anew, and up brings it back. What is only proposed is marked in the same way.
//!
//! **A refused line** is marked in `Model::marked` (`tui/core/line.rs`), for whichever line is being written: it is marked where enter said
//! a refusal and left it as it was. A page with a line gives it by `Page::written` and draws it with `Model::written`. Up goes through a
//! form's fields and brings back elsewhere.

use ratatui::text::{Line, Span};

use crate::cellar::core::label::{TEXT_CHARACTERS, is_unsafe};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::text::{columns, tail};
use crate::tui::core::theme::Meaning;
use crate::units::in_heading;

/// How a line is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Manner {
    /// How many characters it has room for.
    pub longest: usize,
    /// What up does on it.
    pub up: Up,
    /// Whether what is written is meant for what is chosen, and does not go along to another.
    pub is_of_chosen: bool,
}

/// What up does on a line that is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Up {
    /// It brings back what stood on the line before.
    BringsBack,
    /// It does so only while something is written; else it goes to what stands above.
    GoesWhereEmpty,
    /// It goes to what stands above.
    Goes,
}

impl Manner {
    /// A line by itself.
    pub const ALONE: Manner = Manner { longest: TEXT_CHARACTERS, up: Up::BringsBack, is_of_chosen: false };
    /// What is said of each thing of a list by itself.
    pub const OF_CHOSEN: Manner = Manner { longest: TEXT_CHARACTERS, up: Up::GoesWhereEmpty, is_of_chosen: true };

    /// A line over a list, which up and down go through while it is written.
    #[must_use]
    pub const fn over_list(longest: usize) -> Manner {
        Manner { longest, up: Up::Goes, is_of_chosen: false }
    }

    /// What is said of each thing of a list or a table by itself, which arrows lead through while it is written.
    #[must_use]
    pub const fn along(longest: usize) -> Manner {
        Manner { longest, up: Up::Goes, is_of_chosen: true }
    }

    /// The same for so many characters.
    #[must_use]
    pub const fn of(self, longest: usize) -> Manner {
        Manner { longest, ..self }
    }
}

/// What is known of the line beside what stands on it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Marked {
    /// Whether what stands on it is marked: then the next character starts anew.
    pub on: bool,
    /// What stood on it before it was started anew.
    before: String,
}

/// Writes text on a line that has room for so many characters. What could disturb a screen is left out.
pub(in crate::tui) fn write_on(line: &mut String, text: &str, longest: usize) {
    let room = longest.saturating_sub(line.chars().count());
    let text = text.chars().map(|sign| if matches!(sign, '\n' | '\t' | '\r') { ' ' } else { sign });
    line.extend(text.filter(|sign| !is_unsafe(*sign)).take(room));
}

impl Model {
    /// Whether one may go on from a line that is written: nothing stands on it. Else it says what would do.
    pub(in crate::tui) fn may_leave_line(&mut self, line: &str) -> bool {
        let may = line.trim().is_empty();
        if !may {
            self.say("What is written is not taken yet: enter takes it, esc clears it.", Tone::Refused);
        }
        may
    }

    /// Marks what stands on the line, if anything does.
    pub(in crate::tui) fn mark_line(&mut self) {
        self.marked.on = self.written_mut().is_some_and(|line| !line.trim().is_empty());
    }

    /// Marks the line where enter refused what stands on it.
    pub(in crate::tui) fn mark_if_refused(&mut self, before: Option<&String>) {
        let refused = self.saying && self.said.last().is_some_and(|said| said.tone == Tone::Refused);
        if refused && before.is_some() && self.written_mut().as_deref() == before {
            self.mark_line();
        }
    }

    /// Lets go of what stands on the line, which up brings back.
    pub(in crate::tui) fn start_anew(&mut self) {
        if std::mem::take(&mut self.marked.on)
            && let Some(line) = self.written_mut()
        {
            self.marked.before = std::mem::take(line);
        }
    }

    /// Brings back what stood on the line of a page before it was started anew; the same key brings back what stood there since.
    pub(in crate::tui) fn swap_with_before(&mut self) -> bool {
        if self.marked.before.is_empty() {
            return false;
        }
        let mut before = std::mem::take(&mut self.marked.before);
        if let Some(line) = self.written_mut() {
            std::mem::swap(line, &mut before);
        }
        self.marked.before = before;
        true
    }

    /// Text that is being written, as it is shown in so many columns and one more: with the place of the next character behind it,
    /// or marked.
    pub(in crate::tui) fn written(&self, text: &str, room: usize) -> String {
        let marks = self.looks.marks;
        if self.marked.on && !text.is_empty() {
            format!("[{}]", tail(text, room.saturating_sub(1), marks))
        } else {
            format!("{}_", tail(text, room, marks))
        }
    }

    /// A question with the line that answers it, in so many columns.
    pub(in crate::tui) fn question_line(&self, question: &str, text: &str, width: usize) -> Line<'static> {
        let style = |meaning| self.looks.theme.style(meaning);
        let question = in_heading(question);
        let room = width.saturating_sub(columns(&question) + 1);
        Line::from(vec![
            Span::styled(question, style(Meaning::Title)),
            Span::styled(self.written(text, room), style(Meaning::Strong)),
        ])
    }
}
