//! Bottles on the screen: the bins that they lie in.

pub mod bins;
