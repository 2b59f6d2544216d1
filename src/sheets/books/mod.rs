//! The books: every litre accounted for, and where it came from.

pub mod count;
pub mod trace;
