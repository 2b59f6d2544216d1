//! The terminal and the files outside: what the pure machine is turned by.

pub mod canvas;
pub mod driver;
pub(in crate::tui) mod open;
pub mod screen;
pub mod session;
pub(in crate::tui) mod sources;
pub mod surroundings;
pub mod terminal;
pub(in crate::tui) mod watch;
