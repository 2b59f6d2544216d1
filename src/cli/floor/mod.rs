//! The floor: rooms, racks and what lies in them.

pub(in crate::cli) mod changing;
pub(in crate::cli) mod composition;
pub(in crate::cli) mod declaring;
pub(in crate::cli) mod happening;
pub(in crate::cli) mod importing;
pub(in crate::cli) mod lot;
pub(in crate::cli) mod lot_review;
pub(in crate::cli) mod room;
pub(in crate::cli) mod vessel;
pub(in crate::cli) mod works;
mod written;
