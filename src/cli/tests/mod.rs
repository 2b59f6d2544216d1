//! Tests: what is tasted and tested, and what is added for it.

pub(in crate::cli) mod acidity;
pub(in crate::cli) mod decline;
pub(in crate::cli) mod dosing;
pub(in crate::cli) mod drawing;
pub(in crate::cli) mod marks;
pub(in crate::cli) mod sulfur;
mod testing;
