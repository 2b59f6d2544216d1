//! Topping: rounds, what is lacking, what it is topped from.

pub(in crate::cli::arguments) mod gauging;
pub(in crate::cli::arguments) mod plan;
