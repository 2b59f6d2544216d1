//! Bottles: runs, bins, what goes out.

pub mod bottling;
