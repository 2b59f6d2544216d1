//! The house: what a screen is made of. The core is handed it and knows none of its rooms.

use super::page::{About, Offer, Page, Table, Way, acts};
use crate::cellar::core::state::State;
use crate::told::hazard::Caution;
use crate::tui::core::model::Model;

/// What there is to see to, in a sentence: where the program was opened just now, or where the cellar was another one before.
pub type Tells = fn(&Model, Option<&State>) -> Option<String>;

/// What a screen is made of.
#[derive(Clone, Copy, Debug)]
pub struct House {
    /// What stands below everything.
    pub floor: fn() -> Box<dyn Page>,
    /// Opens the find box.
    pub find: fn(&mut Model),
    /// What a cellar opens on before there is anything in it.
    pub begins: fn(&mut Model),
    /// What is offered where the file went away from under its name.
    pub goes_astray: fn(&mut Model),
    /// What is under way, in so many columns: it stands in the head of every page that has no other line there.
    pub under_way: fn(&Model, usize) -> String,
    /// What is told on opening, and where another program entered facts: the first that has something to tell.
    pub tells: &'static [Tells],
    /// What can hurt somebody at what is under way, where the program is opened upon it.
    pub under_way_caution: fn(&Model) -> Caution,
    /// What would be lost by leaving the program now, a sentence each.
    pub unentered: &'static [fn(&Model) -> Option<String>],
    /// Its pages.
    pub rooms: &'static [Room],
    /// The chapters of the guide for the floor.
    pub floor_chapters: &'static [&'static str],
}

/// What is known of a page that is not open.
#[derive(Debug)]
pub struct Room {
    /// What it is.
    pub about: &'static About,
    /// What can be done there.
    pub acts: fn() -> Vec<Offer>,
    /// The chapter of the guide that its help ends with.
    pub chapter: &'static str,
}

impl Room {
    /// What is known of a page by its table, and the chapter of the guide that it belongs to.
    #[must_use]
    pub const fn of<P: Table>(chapter: &'static str) -> Room {
        Room { about: const { &P::ABOUT }, acts: acts::<P>, chapter }
    }
}

impl House {
    /// What there is to see to: the first that is told.
    pub(super) fn told(&self, model: &Model, before: Option<&State>) -> Option<String> {
        self.tells.iter().find_map(|tell| tell(model, before))
    }

    /// The chapters of the guide for a page: of one that stands in no list, as of the floor, those of the floor.
    pub(super) fn chapters(&self, page: &About) -> Vec<&'static str> {
        let room = self.rooms.iter().find(|room| room.about.name == page.name);
        room.map_or_else(|| self.floor_chapters.to_vec(), |room| vec![room.chapter])
    }

    /// How pages are opened from the floor.
    pub fn ways(&self) -> impl Iterator<Item = &'static Way> {
        self.rooms.iter().flat_map(|room| room.about.opens.ways())
    }
}
