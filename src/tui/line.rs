//! The line that is being written, on whichever page. What was refused stays on it, marked, and swallows no later key: backspace
//! edits it, another character starts anew, and up brings it back. What is only proposed is marked in the same way.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use crate::tui::command::{Id, Place};
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::text::tail;

/// What is known of the line beside what stands on it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Marked {
    /// Whether what stands on it is marked: then the next character starts anew.
    pub on: bool,
    /// What stood on it before it was started anew.
    before: String,
}

impl Model {
    /// What is being written, where there is a line.
    fn line(&mut self) -> Option<&mut String> {
        if self.mode == Mode::Floor {
            return self.written_mut();
        }
        match &mut self.mode {
            Mode::Fill(page) => page.name.as_mut().or_else(|| page.lines.get_mut(page.chosen)),
            _ => None,
        }
    }

    /// Marks what stands on the line, if anything does.
    pub(super) fn mark_line(&mut self) {
        self.marked.on = self.line().is_some_and(|line| !line.trim().is_empty());
    }

    /// What stands on the line, to see afterwards whether it was taken.
    pub(super) fn on_line(&mut self, id: Id) -> Option<String> {
        (id == Id::Choose).then(|| self.line().map(|line| line.clone())).flatten()
    }

    /// Marks the line where enter refused what stands on it.
    pub(super) fn mark_if_refused(&mut self, before: Option<&String>) {
        let refused = self.saying && self.said.last().is_some_and(|said| said.tone == Tone::Refused);
        if refused && before.is_some() && self.line().as_deref() == before {
            self.mark_line();
        }
    }

    /// Lets go of what stands on the line, which up brings back.
    pub(super) fn start_anew(&mut self) {
        if std::mem::take(&mut self.marked.on)
            && let Some(line) = self.line()
        {
            self.marked.before = std::mem::take(line);
        }
    }

    /// What a key does to a marked line before it is a key again. Whether the key is used up by that.
    pub(super) fn use_on_line(&mut self, key: &KeyEvent) -> bool {
        let place = self.place();
        if !self.marked.on {
            return key.code == KeyCode::Up && self.bring_back(place);
        }
        if key.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT) {
            return false;
        }
        match key.code {
            KeyCode::Char(_) => self.start_anew(),
            _ => self.marked.on = false,
        }
        key.code == KeyCode::Up
    }

    /// Brings back what stood on the line before it was started anew; what stands there now is brought back by the same key.
    /// Where up goes through a list it does that.
    fn bring_back(&mut self, place: Place) -> bool {
        place == Place::Name && self.swap_with_before()
    }

    /// Brings back what stood on the line of a page before it was started anew; the same key brings back what stood there since.
    pub(super) fn swap_with_before(&mut self) -> bool {
        if self.marked.before.is_empty() {
            return false;
        }
        let mut before = std::mem::take(&mut self.marked.before);
        if let Some(line) = self.line() {
            std::mem::swap(line, &mut before);
        }
        self.marked.before = before;
        true
    }

    /// Text that is being written, as it is shown in so many columns and one more: with the place of the next character behind it,
    /// or marked.
    pub(super) fn written(&self, text: &str, room: usize) -> String {
        let marks = self.looks.marks;
        if self.marked.on && !text.is_empty() {
            format!("[{}]", tail(text, room.saturating_sub(1), marks))
        } else {
            format!("{}_", tail(text, room, marks))
        }
    }
}
