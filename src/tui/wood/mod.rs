//! Pages of the wood: racking out of it.

pub mod racking;
