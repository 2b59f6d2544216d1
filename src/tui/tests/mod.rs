//! Pages of tests, and of what is given by them.

pub mod dosing;
pub mod drawing;
pub mod results;
