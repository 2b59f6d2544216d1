//! The views: what is read off the state, by the chapters of the year. No fact is decided by one.

pub mod bench;
pub mod books;
pub mod floor;
pub mod tests;
pub mod topping;
pub mod wood;
