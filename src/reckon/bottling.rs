//! Bottling: bottles and cases from litres, how high and how full a bottle is to be, and what a label may say of alcohol.
//!
//! Published limits, for information: laws change; ask who answers for the label.

mod alcohol;
mod batch;
mod count;
mod fills;

/// What people are told under every figure of a law.
pub const NO_ADVICE: &str = "For information: rules change, follow local codes and licensed practice.";

pub use self::alcohol::{Alcohol, Bound, OddAlcohol, StatedAlcohol, bound_between, label_alcohol, tax_class};
pub use self::batch::{BatchCheck, NoBatch, Verdict, check_batch};
pub use self::count::{Count, DryGoods, Packing, count, nine_litre_cases};
pub use self::fills::{FillCheck, NoFills, check_fills, fill_point_mm, odd_size, tolerance};
