//! Pages of the wood: filling it, and racking out of it.

pub mod fill;
pub mod oak;
pub mod racking;
pub mod returning;
