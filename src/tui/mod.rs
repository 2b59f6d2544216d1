//! The full screen: a pure machine for what is shown, and the terminal edge that carries out its wishes.
//!
//! ```text
//! keys, paste ─┐
//! signals ─────┤           ┌─ Message ─> Screen::update ─> Effect ─┐
//! file watch ──┼─ driver ──┤                                       ├─ session ─> Effects::carry_out
//! hang-up ─────┤           └─ Screen::draw ─> canvas ─> guard ─> terminal
//! mailbox ─────┘
//! ```
//!
//! A [`edge::screen::Screen`] knows no clock, disk or terminal. [`edge::driver::run`] is the one place where things happen;
//! [`edge::session::Session`] is the same machine without a terminal, for tests. [`edge::terminal::TerminalGuard`] undoes on every
//! way out what it switched on.

pub mod bench;
pub mod books;
pub mod bottles;
pub mod core;
pub mod edge;
pub mod finish;
pub mod floor;
pub mod rooms;
pub mod tests;
pub mod topping;
pub mod wood;

pub use self::edge::open::open;
