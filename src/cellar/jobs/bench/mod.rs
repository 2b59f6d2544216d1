//! The bench: glasses, trials, blends.

pub mod assemblage;
pub mod bench_tasting;
pub mod trial;
