//! The commands as another program meets them: the real program, a real cellar, exit codes and the two outputs.
#![allow(clippy::unwrap_used)] // in what the tests share

mod acids;
mod anywhere;
mod backtest;
mod begin;
mod blend;
mod cautions;
mod checklist;
mod claims;
mod clock;
mod count;
mod damage;
#[path = "../support/damage.rs"]
mod damaged;
mod decimal_comma;
mod design;
mod desk;
mod evaporation;
mod fill;
mod fining;
mod forms;
mod gauging;
#[path = "../support/given.rs"]
#[allow(dead_code)] // each test program uses its own part
mod given;
mod going_out;
mod guide;
mod holding;
mod importing;
mod importing_tests;
mod journal;
mod killed;
mod newer;
mod oak;
mod panel;
mod program;
mod racking;
mod run;
mod sheets;
mod sulfur;
mod surface;
mod trial;
mod undo;
mod vintage;
mod yesterday;
