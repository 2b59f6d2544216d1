//! Bottling: bottles and cases from litres, how high and how full a bottle is to be, and what a label may say of alcohol.
//!
//! Published limits, for information: laws change; ask who answers for the label.

mod alcohol;
mod batch;
mod count;
mod fills;

pub use self::alcohol::{Alcohol, Bound, OddAlcohol, StatedAlcohol, bound_between, label_alcohol, tax_class};
pub use self::batch::{BatchCheck, NoBatch, Verdict, check_batch};
pub use self::count::{Count, DryGoods, Packing, count, nine_litre_cases};
pub use self::fills::{FillCheck, NoFills, check_fills, fill_point_mm, odd_size, tolerance};
pub use super::material::FOR_INFORMATION;
