//! The bench: glasses, trials, blends.

pub mod assemblage;
pub mod trial;
