//! Tests: what is drawn for them.

pub mod drawing;
