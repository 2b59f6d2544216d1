//! The books: every litre accounted for, and where it came from.

pub mod bulk_out;
pub mod counting;
pub mod loss;
pub mod retraction;
