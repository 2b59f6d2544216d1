//! Bottles: runs, bins, what goes out.

pub(in crate::cli) mod bottle;
pub(in crate::cli) mod bottling;
pub(in crate::cli) mod run;
