//! The domain.
pub mod label;
pub mod moment;
pub mod place;
