//! The bench: glasses, trials, blends.

pub(in crate::cli::arguments) mod blend;
pub(in crate::cli::arguments) mod design;
pub(in crate::cli::arguments) mod panel;
pub(in crate::cli::arguments) mod serving;
pub(in crate::cli::arguments) mod surface;
pub(in crate::cli::arguments) mod trial;
