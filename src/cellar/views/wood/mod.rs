//! Wood: barrel-down, racking, the care of empties.

pub mod fill;
pub mod in_the_tank;
pub mod oak;
