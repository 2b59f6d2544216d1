//! The full screen as a person meets it: pictures, sessions by keys, every size, every command, and texts from outside.
#![allow(clippy::unwrap_used)]

mod assemblage;
mod begin;
mod bins;
mod bottling;
mod cautions;
mod cellar;
mod checklist;
mod choices;
mod commands;
mod corrections;
mod counting;
mod damaged;
mod drawn;
mod failing_disk;
mod fills;
mod find;
mod finish;
mod house;
mod importing;
mod journal;
mod keys;
mod leaving;
mod lifting;
mod lineage;
mod lines;
mod lots;
mod mend_dates;
mod new_page;
mod newer;
mod outside;
mod picture;
mod pictures;
mod results;
mod second_writer;
mod sessions;
mod settings;
mod sizes;
#[path = "../support/mod.rs"]
mod support;
mod traces;
mod trial_tasting;
mod trials;
mod walk;
mod works;
mod yesterday;
