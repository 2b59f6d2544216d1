//! Wood: barrel-down, racking, the care of empties.

pub(in crate::cli::arguments) mod care;
pub(in crate::cli::arguments) mod fill;
pub(in crate::cli::arguments) mod oak;
pub(in crate::cli::arguments) mod racking;
pub(in crate::cli::arguments) mod returning;
