//! Pages of topping: the vessel that a round is topped from, and the summary before it is closed.

pub(in crate::tui) mod correcting;
mod drift;
pub(in crate::tui) mod rounds;
pub mod source;
pub mod summary;
