//! Wood: barrel-down, racking, the care of empties.

pub(in crate::cli) mod empties;
pub(in crate::cli) mod fill;
pub(in crate::cli) mod racking;
