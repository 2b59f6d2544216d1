//! Pages of topping: the vessel that a round is topped from, and the summary before it is closed.

mod drift;
pub mod source;
pub mod summary;
