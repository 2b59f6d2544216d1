//! Bottling: bottles and cases from litres, how high and how full a bottle is to be, and what a label may say of alcohol.
//!
//! Published limits, for information: laws change; ask who answers for the label.

mod alcohol;
mod count;
mod fills;

pub use self::alcohol::{Alcohol, OddAlcohol, StatedAlcohol, label_alcohol};
pub use self::count::{Count, DryGoods, Packing, count, nine_litre_cases};
pub use self::fills::{FillCheck, NoFills, check_fills, fill_point_mm, tolerance};
