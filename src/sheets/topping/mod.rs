//! Topping: rounds, what is lacking, what it is topped from.

pub mod round;
