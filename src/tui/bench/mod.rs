//! The bench on the screen: what can be tasted there, and barrels that are tasted blind from numbered glasses.

pub mod glasses;
pub mod list;
