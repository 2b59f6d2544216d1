//! Quantities: whole microlitres, the units people write them in, and the exact split of a whole.

mod apportion;
mod volume;

pub use apportion::{Parts, apportion, apportion_in_place};
pub use volume::{ParseVolumeError, Volume, VolumeUnit};
