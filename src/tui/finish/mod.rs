//! The finish of a wine on the screen: a fining trial, a move from tank to tank, its checklist before bottling, and the bottling
//! itself.

pub mod bottling;
pub mod checklist;
pub mod fining;
pub mod moving;
