//! Commands as they are given: carried out here, or handed to the page that they are meant for.

use crate::tui::command::{Command, Id};
use crate::tui::fill;
use crate::tui::floor::ending::Ending;
use crate::tui::floor::words::{Matter, Words};
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::topping::summary::Summary;
use crate::tui::update::Wishes;

impl Model {
    /// Carries out a command, or says why it cannot be given now.
    pub(super) fn give(&mut self, command: &Command) -> Wishes {
        if let Some(why) = (command.hindered)(self) {
            self.say(why, Tone::Refused);
            return Vec::new();
        }
        self.asked.clear();
        let written = self.on_line(command.id);
        let wishes = self.carry_out(command.id);
        self.mark_if_refused(written.as_ref());
        wishes
    }

    fn carry_out(&mut self, id: Id) -> Wishes {
        match id {
            Id::EraseWord => self.erase(),
            Id::Choose => return self.choose(),
            Id::Back => return self.go_back(),
            Id::NextPattern => fill::next_pattern(self),
            Id::ListUp => self.move_choice(-1),
            Id::ListDown => self.move_choice(1),
            Id::ListStart => self.move_choice(isize::MIN),
            Id::ListEnd => self.move_choice(isize::MAX),
            Id::PlanUp => self.scroll_half_a_page(usize::saturating_sub),
            Id::PlanDown => self.scroll_half_a_page(usize::saturating_add),
            Id::PageStart => self.scroll(|_| 0),
            Id::PageEnd => self.scroll(|_| usize::MAX),
        }
        Vec::new()
    }

    /// Goes back by as much as the page that is open says.
    fn go_back(&mut self) -> Wishes {
        match self.mode {
            Mode::Fill(_) => return fill::leave(self),
            _ => self.mode = Mode::Floor,
        }
        Vec::new()
    }

    /// Shows what is done and what is not, before the work or the round is closed.
    pub(super) fn show_ending(&mut self) {
        if let Some(work) = self.working {
            self.open(Ending::new(&self.state, work));
        } else if let Some(round) = self.round() {
            self.open(Summary::new(round));
        }
    }

    /// Takes back the last character of what is being written.
    fn erase(&mut self) {
        match &mut self.mode {
            Mode::Fill(page) => page.erase(),
            _ => {}
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
