//! Wood: barrel-down, racking, the care of empties.

pub mod care;
pub mod moving;
pub mod racking;
