//! The bench: glasses, trials, blends.

pub mod blend;
pub mod limits;
