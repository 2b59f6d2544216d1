//! The floor: rooms, racks and what lies in them.

pub mod changing;
pub mod holding;
pub mod lot;
pub mod noting;
pub mod origin;
pub mod placing;
pub mod practice;
pub mod receiving;
pub mod renaming;
pub mod room;
pub mod vessel;
pub mod work;
