//! The computations of the trade: plain values in, plain values out, each with its source.

pub mod acid_unit;
pub mod acidity;
pub mod backtest;
pub mod blend;
pub mod bottling;
pub mod chance;
pub mod difference;
pub mod due;
pub mod fill;
pub mod fining;
pub mod gauging;
pub mod headspace;
pub mod label_share;
pub mod liking;
pub mod limits;
pub mod loss_norm;
pub mod material;
pub mod mixture;
pub mod panel;
pub mod scale_up;
pub mod serving;
pub mod spread;
pub mod sulfur;
pub mod surface;
pub mod telling;
pub mod watch;
