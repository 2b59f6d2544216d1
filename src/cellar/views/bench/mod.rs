//! The bench: glasses, trials, blends.

pub mod blend;
pub mod laying_out;
pub mod limits;
pub mod repeat_error;
pub mod second_sitting;
pub mod trial_blend;
