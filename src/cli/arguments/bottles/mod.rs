//! Bottles: runs, bins, what goes out.

pub(in crate::cli::arguments) mod bottling;
