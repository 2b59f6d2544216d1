//! Wood: barrel-down, racking, lees stirring, gas over wine, the care of empties.

pub(in crate::cli) mod empties;
pub(in crate::cli) mod fill;
pub(in crate::cli) mod kept;
pub(in crate::cli) mod oak;
pub(in crate::cli) mod racking;
pub(in crate::cli) mod returning;
