//! The jobs: a kind of fact a file, by the chapters of the year.

pub mod bench;
pub mod books;
pub mod bottles;
pub mod finish;
pub mod floor;
pub mod tests;
pub mod topping;
pub mod wood;
