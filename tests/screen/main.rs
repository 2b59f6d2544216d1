//! The full screen as a person meets it: pictures, sessions by keys, every size, every command, and texts from outside.
#![allow(clippy::unwrap_used)]

mod assemblage;
mod bins;
mod cellar;
mod commands;
mod counting;
mod drawn;
mod fills;
mod keys;
mod lineage;
mod lots;
mod outside;
mod picture;
mod pictures;
mod sessions;
mod sizes;
#[path = "../support/mod.rs"]
mod support;
mod traces;
mod trial_tasting;
mod trials;
mod walk;
mod works;
