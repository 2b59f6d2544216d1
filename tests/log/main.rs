//! The log as it is appended to, read, marked, backed up and checked, and what is made of damage. `log_crash` stands by
//! itself, since it starts itself again as the program that is killed.
#![allow(clippy::unwrap_used)] // in what the tests share

mod append;
mod astray;
mod backup;
mod damage;
mod dated;
mod guards;
mod leftover;
mod mark;
#[path = "../support/mod.rs"]
mod support;
