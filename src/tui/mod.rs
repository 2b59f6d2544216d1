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
//! A [`screen::Screen`] knows no clock, disk or terminal. [`driver::run`] is the one place where things happen;
//! [`session::Session`] is the same machine without a terminal, for tests. [`terminal::TerminalGuard`] undoes on every
//! way out what it switched on.

mod asking;
mod assemblage;
pub mod bench;
pub mod books;
pub mod bottles;
pub mod canvas;
mod card;
pub mod choice;
pub mod colouring;
pub mod core;
mod correcting;
pub mod cursor;
mod draw;
pub mod driver;
pub mod finish;
pub mod floor;
mod following;
mod head;
mod leaving;
pub mod line;
pub mod marks;
mod measuring;
mod message;
pub mod model;
mod open;
mod plan;
pub mod rooms;
mod rounds;
pub mod screen;
pub mod session;
mod sources;
pub mod surroundings;
pub mod terminal;
pub mod tests;
pub mod text;
pub mod theme;
pub mod topping;
mod update;
mod walking;
mod watch;
mod who;
pub mod wood;
pub mod work;
mod work_pages;
pub mod works;

pub use open::open;
