//! The bench on the screen: what can be tasted there, barrels that are tasted blind from numbered glasses, and trials.

pub(in crate::tui) mod assemblage;
pub mod glasses;
pub mod list;
pub mod trial;
