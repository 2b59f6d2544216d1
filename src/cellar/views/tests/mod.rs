//! Tests: what is tasted and tested, and what is added for it.

pub mod dosing;
pub mod drawing;
pub mod results;
