//! Wood: barrel-down, racking, lees stirring, gas over wine, the care of empties.

pub mod blanketing;
pub mod care;
pub mod moving;
pub mod racking;
pub mod returning;
pub mod stirring;
