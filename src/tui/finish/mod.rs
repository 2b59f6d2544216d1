//! The finish of a wine on the screen: its checklist before bottling, and the bottling itself.

pub mod bottling;
pub mod checklist;
