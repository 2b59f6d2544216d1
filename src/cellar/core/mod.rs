//! The core: the state, its book, the fold, and what every fact has in common.

pub mod account;
pub(in crate::cellar) mod book;
pub mod clock;
pub mod day;
pub mod decide;
pub mod doing;
pub mod evolve;
pub mod fact;
pub mod fold;
pub mod history;
pub mod job;
pub(in crate::cellar) mod json;
pub mod label;
pub mod moment;
pub mod near;
pub mod place;
pub(in crate::cellar) mod plausible;
pub mod question;
pub mod refusal;
pub mod state;
pub mod table;
pub mod when;
pub mod wine;
