//! The floor: rooms, racks and what lies in them.

pub mod lot_review;
pub mod measuring;
pub mod stretch;
pub mod which;
pub mod work_walk;
pub mod written;
