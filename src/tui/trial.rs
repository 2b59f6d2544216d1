//! Trials at the bench on the screen.

pub mod reveal;
mod surface;
