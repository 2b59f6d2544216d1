//! Where a lot lies, in short: rooms, their rows, from which stack to which.

use crate::cellar::core::label::Label;
use crate::cellar::core::place::RackPlace;
use crate::cellar::core::state::{State, Vessel};
use crate::units::counted;

/// Where a lot lies.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Places {
    /// The stretches of rows, as one walks.
    pub rows: Vec<Stretch>,
    /// How many of its vessels lie at no place.
    pub nowhere: usize,
    /// The rack that was counted last.
    last: Option<RackPlace>,
}

/// A lot's part of a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// The room.
    pub room: Label,
    /// The row.
    pub row: Label,
    /// The first stack with a barrel of the lot.
    pub first_stack: u16,
    /// The last one.
    pub last_stack: u16,
    /// How many racks hold a barrel of the lot.
    pub racks: usize,
    /// How many barrels of it lie there.
    pub barrels: usize,
}

impl Places {
    /// Counts a vessel; they come as one walks.
    pub(super) fn add(&mut self, state: &State, vessel: &Vessel) {
        let Some(rack) = state.place_of(vessel).map(|place| place.rack) else {
            self.nowhere += 1;
            return;
        };
        let new_rack = self.last.as_ref() != Some(&rack);
        let here = |stretch: &&mut Stretch| stretch.room == rack.room && stretch.row == rack.row;
        match self.rows.last_mut().filter(here) {
            Some(stretch) => {
                stretch.last_stack = rack.stack;
                stretch.racks += usize::from(new_rack);
                stretch.barrels += 1;
            }
            None => self.rows.push(Stretch {
                room: rack.room.clone(),
                row: rack.row.clone(),
                first_stack: rack.stack,
                last_stack: rack.stack,
                racks: 1,
                barrels: 1,
            }),
        }
        if new_rack {
            self.last = Some(rack);
        }
    }
}

impl Stretch {
    /// The stretch in words, without its room: `A 1-4, 22 in 11 racks`.
    #[must_use]
    pub fn show(&self) -> String {
        let stacks = match (self.first_stack, self.last_stack) {
            (first, last) if first == last => first.to_string(),
            (first, last) => format!("{first}-{last}"),
        };
        format!("{} {stacks}, {} in {}", self.row, self.barrels, counted(self.racks, "rack"))
    }
}
