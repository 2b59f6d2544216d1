//! The books: every litre accounted for, and where it came from.

pub mod additions;
pub mod count;
pub mod trace;
