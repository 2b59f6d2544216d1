//! The rules of the cellar by example, a module a job, and what holds whatever happens.

#[path = "../support/mod.rs"]
mod support;

mod property;
mod retraction;
mod wire;
