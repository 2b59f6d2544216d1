//! Topping: rounds, what is lacking, what it is topped from.

pub(in crate::cli) mod backtest;
pub(in crate::cli) mod evaporation;
pub(in crate::cli) mod gauging;
pub(in crate::cli) mod plan;
