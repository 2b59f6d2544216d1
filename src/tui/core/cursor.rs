//! The cursor on the floor: a place of a room, whether a barrel lies there or not.

use crate::cellar::core::state::{RoomId, State, VesselId};
use crate::cellar::core::table::Id;

/// A place that the cursor stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cursor {
    /// The room.
    pub room: RoomId,
    /// The row, by its position in the room.
    pub row: usize,
    /// The stack, from 1.
    pub stack: u16,
    /// The tier, from 1 at the floor.
    pub tier: u16,
    /// The side, from 0.
    pub side: u8,
}

/// A step of the cursor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// One barrel back along the row.
    Left,
    /// One barrel on along the row.
    Right,
    /// One tier up, or to the row before.
    Up,
    /// One tier down, or to the next row.
    Down,
    /// To the row before, same stack.
    RowBefore,
    /// To the next row, same stack.
    RowAfter,
    /// To the first stack of the row.
    RowStart,
    /// To the last stack of the row.
    RowEnd,
}

impl Cursor {
    /// The first place of a room.
    #[must_use]
    pub fn first(room: RoomId) -> Cursor {
        Cursor { room, row: 0, stack: 1, tier: 1, side: 0 }
    }

    /// The cursor on a slot of a room.
    #[must_use]
    pub fn on_slot(state: &State, room_id: RoomId, slot: usize) -> Option<Cursor> {
        let mut rest = slot;
        for (row, laid) in state.rooms.get(room_id).rows.iter().enumerate() {
            if rest < laid.places() {
                let (sides, tiers) = (usize::from(laid.sides), usize::from(laid.tiers));
                let rack = rest / sides;
                return Some(Cursor {
                    room: room_id,
                    row,
                    stack: u16::try_from(rack / tiers + 1).ok()?,
                    tier: u16::try_from(rack % tiers + 1).ok()?,
                    side: u8::try_from(rest % sides).ok()?,
                });
            }
            rest -= laid.places();
        }
        None
    }

    /// The slot that the cursor stands on.
    #[must_use]
    pub fn slot(&self, state: &State) -> Option<usize> {
        if self.room.index() >= state.rooms.len() {
            return None;
        }
        let rack = state.rooms.get(self.room).rack_slots_at(self.row, self.stack, self.tier)?;
        (usize::from(self.side) < rack.len()).then(|| rack.start + usize::from(self.side))
    }

    /// The vessel that lies there.
    #[must_use]
    pub fn vessel(&self, state: &State) -> Option<VesselId> {
        let slot = self.slot(state)?;
        state.rooms.get(self.room).slots[slot]
    }

    /// The cursor a step further; where there is no further, it stays.
    #[must_use]
    pub fn step(self, state: &State, step: Step) -> Cursor {
        let rows = &state.rooms.get(self.room).rows;
        let Some(row) = rows.get(self.row) else { return self };
        let mut next = self;
        match step {
            Step::Left if self.side > 0 => next.side -= 1,
            Step::Left if self.stack > 1 => {
                next.stack -= 1;
                next.side = row.sides - 1;
            }
            Step::Right if self.side + 1 < row.sides => next.side += 1,
            Step::Right if self.stack < row.stacks => {
                next.stack += 1;
                next.side = 0;
            }
            Step::Up if self.tier < row.tiers => next.tier += 1,
            Step::Up | Step::RowBefore if self.row > 0 => {
                next.row -= 1;
                if step == Step::Up {
                    next.tier = 1;
                }
            }
            Step::Down if self.tier > 1 => next.tier -= 1,
            Step::Down | Step::RowAfter if self.row + 1 < rows.len() => {
                next.row += 1;
                if step == Step::Down {
                    next.tier = rows[next.row].tiers;
                }
            }
            Step::RowStart => {
                next.stack = 1;
                next.side = 0;
            }
            Step::RowEnd => {
                next.stack = row.stacks;
                next.side = row.sides - 1;
            }
            _ => {}
        }
        next.within(state)
    }

    /// The cursor in the same room of another state, which may number its rooms in another way; nowhere where the room
    /// is not there.
    #[must_use]
    pub fn followed(mut self, before: &State, after: &State) -> Option<Cursor> {
        self.room = after.rooms.find(before.rooms.get(self.room).label.as_str())?;
        Some(self.within(after))
    }

    /// The cursor brought back into its room, which may have been laid out anew.
    #[must_use]
    pub fn within(mut self, state: &State) -> Cursor {
        let rows = &state.rooms.get(self.room).rows;
        self.row = self.row.min(rows.len().saturating_sub(1));
        if let Some(row) = rows.get(self.row) {
            self.stack = self.stack.clamp(1, row.stacks);
            self.tier = self.tier.clamp(1, row.tiers);
            self.side = self.side.min(row.sides - 1);
        }
        self
    }
}
