//! The computations of the trade: plain values in, plain values out, each with its source.

pub mod backtest;
pub mod due;
pub mod fill;
pub mod gauging;
pub mod headspace;
pub mod label_share;
pub mod limits;
pub mod spread;
pub mod sulfur;
