//! Tests: what is tasted and tested, and what is added for it.

pub(in crate::cli::arguments) mod dosing;
pub(in crate::cli::arguments) mod drawing;
pub(in crate::cli::arguments) mod sulfur;
pub mod testing;
