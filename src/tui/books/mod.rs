//! The books on the screen: what the ledger says, the count of what is there, where a wine came from and went, and its trace to the
//! bottles.

pub mod counting;
pub mod discrepancies;
pub mod form;
pub mod journal;
pub mod ledger;
pub mod lineage;
pub mod mend_dates;
pub mod settings;
pub mod trace;
