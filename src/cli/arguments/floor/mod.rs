//! The floor: rooms, racks and what lies in them.

pub(in crate::cli::arguments) mod changing;
pub(in crate::cli::arguments) mod declaring;
pub(in crate::cli::arguments) mod importing;
pub(in crate::cli::arguments) mod written;
