//! Printable pages: what hangs on the wall, lies on the clipboard, or is folded into a pocket.
//!
//! A sheet is first a [`document::Document`], which knows nothing of paper. Two printers make pages of it: [`html`], one page
//! that carries all it needs and prints in black and white on A4 and Letter alike, and [`plain`], text for the terminal.

pub mod bench;
pub mod books;
pub mod bottles;
pub mod core;
pub mod floor;
pub mod tests;
pub mod topping;
pub mod wood;
