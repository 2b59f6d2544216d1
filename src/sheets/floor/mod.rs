//! The floor: rooms, racks and what lies in them.

pub mod cards;
pub mod floor_map;
pub mod work;
