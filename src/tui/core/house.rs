//! The house: what a screen is made of. The core is handed it and knows none of its rooms.

use super::page::{About, Offer, Page, Table, Way, acts};
use crate::tui::core::model::Model;

/// What a screen is made of.
#[derive(Debug)]
pub struct House {
    /// What stands below everything.
    pub floor: fn() -> Box<dyn Page>,
    /// Opens the find box.
    pub find: fn(&mut Model),
    /// Its pages.
    pub rooms: &'static [Room],
}

/// What is known of a page that is not open.
#[derive(Debug)]
pub struct Room {
    /// What it is.
    pub about: &'static About,
    /// What can be done there.
    pub acts: fn() -> Vec<Offer>,
}

impl Room {
    /// What is known of a page by its table.
    #[must_use]
    pub const fn of<P: Table>() -> Room {
        Room { about: const { &P::ABOUT }, acts: acts::<P> }
    }
}

impl House {
    /// How pages are opened from the floor.
    pub fn ways(&self) -> impl Iterator<Item = &'static Way> {
        self.rooms.iter().flat_map(|room| room.about.ways)
    }
}
