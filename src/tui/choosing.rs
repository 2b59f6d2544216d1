//! What is chosen on a page or in a list, and how one goes on in it.

use crate::tui::draw;
use crate::tui::fill::{self, FillPage};

use crate::tui::model::{Mode, Model};
use crate::tui::pages;
use crate::tui::update::Wishes;

impl Model {
    pub(super) fn choose(&mut self) -> Wishes {
        match self.mode.clone() {
            Mode::Fill(page) => fill::enter(self, page),
            Mode::Floor => Vec::new(),
        }
    }

    pub(super) fn move_choice(&mut self, by: isize) {
        match self.mode.clone() {
            Mode::Fill(mut page) => {
                page.step(by);
                self.mode = Mode::Fill(page);
            }
            _ => {}
        }
    }

    /// Shows the page from another line on; it stops where its end is in sight.
    pub(super) fn scroll(&mut self, to: impl Fn(usize) -> usize) {
        let last = pages::last_from(self, draw::room_on_top(self));
        if let Mode::Fill(FillPage { line, .. }) = &mut self.mode {
            *line = to((*line).min(last)).min(last);
        }
    }

    /// Goes up or down by half of what is seen, so that the eye finds its place again.
    pub(super) fn scroll_half_a_page(&mut self, by: impl Fn(usize, usize) -> usize) {
        let half = usize::from(self.size.height / 2).max(1);
        self.scroll(|line| by(line, half));
    }
}
