//! The books: every litre accounted for, and where it came from.

pub mod counting;
pub mod loss;
pub mod retraction;
