//! The domain: facts, `decide` (state and intent to a refusal or nothing), `evolve` (state and fact to state).
//!
//! Pure: no clock, no disk, no screen, no chance. One job, one file: how topping works stands in `topping`.

pub mod account;
pub mod backtest;
mod book;
pub mod claims;
pub mod decide;
pub mod drift;
pub mod due;
pub mod evaporation;
pub mod evolve;
pub mod fact;
pub mod fold;
pub mod gauging;
pub mod headspace;
pub mod history;
pub mod holding;
pub mod job;
mod json;
pub mod label;
pub mod ledger;
pub mod lineage;
pub mod lineage_tree;
pub mod loss;
pub mod lot;
pub mod moment;
pub mod moving;
pub mod noting;
pub mod origin;
pub mod place;
pub mod placing;
pub mod plan;
pub mod receiving;
pub mod refusal;
pub mod retraction;
pub mod room;
pub mod round;
pub mod sampling;
pub mod state;
pub mod supply;
pub mod table;
pub mod tasting;
pub mod topping;
pub mod vessel;
pub mod walk;
pub mod wine;
