//! Topping: rounds, what is lacking, what it is topped from.

pub mod backtest;
pub mod correcting;
pub mod crossing;
pub mod drift;
pub mod due;
pub mod evaporation;
pub mod group;
pub mod headspace;
pub mod odd;
pub mod plan;
pub mod supply;
pub mod unplaced;
pub mod walk;
