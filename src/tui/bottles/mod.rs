//! Bottles on the screen: the bins that they lie in, and the runs in which they were filled.

pub mod bins;
pub mod run;
