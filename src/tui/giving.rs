//! What opens from the floor: the end of what is walked, and a line of words.

use crate::tui::floor::ending::Ending;
use crate::tui::floor::words::{Matter, Words};
use crate::tui::model::Model;
use crate::tui::topping::summary::Summary;

impl Model {
    /// Shows what is done and what is not, before the work or the round is closed.
    pub(super) fn show_ending(&mut self) {
        if let Some(work) = self.working {
            self.open(Ending::new(&self.state, work));
        } else if let Some(round) = self.round() {
            self.open(Summary::new(round));
        }
    }

    pub(super) fn ask_hold(&mut self) {
        let held = self.chosen_vessel().is_some_and(|vessel| vessel.held.is_some());
        self.ask_words(if held { Matter::Free } else { Matter::Hold });
    }

    pub(super) fn ask_words(&mut self, about: Matter) {
        if let Some(vessel) = self.chosen_vessel() {
            self.open(Words::new(about, &vessel.label));
        }
    }
}
