//! The house: what a screen is made of. The core is handed it and knows none of its rooms.

use super::page::{About, Page, Way};
use crate::tui::model::Model;

/// What a screen is made of.
#[derive(Debug)]
pub struct House {
    /// What stands below everything.
    pub floor: fn() -> Box<dyn Page>,
    /// Opens the find box.
    pub find: fn(&mut Model),
    /// What every page is that opens from the floor.
    pub rooms: &'static [&'static About],
}

impl House {
    /// How pages are opened from the floor.
    pub fn ways(&self) -> impl Iterator<Item = &'static Way> {
        self.rooms.iter().flat_map(|about| about.ways)
    }
}
