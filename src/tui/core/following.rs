//! Another state of the cellar is taken in: numbers of things may be others there, or the things be gone. What the screen
//! points at is followed by what it is; what is gone is said, and nothing else is chosen in its place.

use crate::cellar::core::state::{State, VesselId, WorkId};
use crate::tui::core::cursor::Cursor;
use crate::tui::core::model::Model;
use crate::tui::core::page::Before;

impl Model {
    /// Takes in another state of the cellar. Given back is what was chosen or written about and is not there any more.
    pub fn take_state(&mut self, state: State) -> Option<String> {
        let at_hand = self.chosen_vessel().map(|vessel| vessel.label.clone());
        let before = std::mem::replace(&mut self.state, state);
        self.aside = self.aside.and_then(|id| self.same_vessel(&before, id));
        let cursor = self.cursor.and_then(|cursor| cursor.followed(&before, &self.state));
        self.cursor = cursor.or_else(|| self.first_cursor());
        let work = self.working;
        self.working = work.and_then(|id| self.same_work(&before, id));
        let before = Before { state: &before, at_hand };
        let on_pages = self.follow_on_pages(&before);
        let before = before.state;
        let put_down = work.filter(|_| self.working.is_none()).map(|id| {
            let label = &before.works.get(id).label;
            match self.state.works.find(label.as_str()) {
                None if self.behalf.is_some() => {
                    format!("The work {label} had not begun then: begin it as of that day.")
                }
                _ => format!("The work {label} is closed there: the keys are not for it any more."),
            }
        });
        let parts: Vec<String> = [put_down, on_pages].into_iter().flatten().collect();
        (!parts.is_empty()).then(|| parts.join(" "))
    }

    fn same_vessel(&self, before: &State, id: VesselId) -> Option<VesselId> {
        self.state.vessels.find(before.vessels.get(id).label.as_str())
    }

    fn same_work(&self, before: &State, id: WorkId) -> Option<WorkId> {
        let found = self.state.works.find(before.works.get(id).label.as_str());
        found.filter(|&id| self.state.works.get(id).ended.is_none())
    }

    /// Where the walk begins: where an open round goes on, else at the first place of the first room.
    fn first_cursor(&self) -> Option<Cursor> {
        let going_on = self.state.rooms.iter().find_map(|(id, room)| {
            let next = self.state.next_stop(room.open_round?, usize::MAX, self.now)?;
            Some(Cursor::on_slot(&self.state, id, next.slot).unwrap_or(Cursor::first(id)))
        });
        going_on.or_else(|| self.state.rooms.iter().next().map(|(id, _)| Cursor::first(id)))
    }
}
