//! The domain: facts, `decide` (state and intent to a refusal or nothing), `evolve` (state and fact to state).
//!
//! Pure: no clock, no disk, no screen, no chance. One job, one file: how topping works stands in `topping`.

pub mod core;
pub mod jobs;
pub mod views;
