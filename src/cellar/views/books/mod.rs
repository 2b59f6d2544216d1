//! The books: every litre accounted for, and where it came from.

pub mod claims;
pub mod ledger;
pub mod lineage;
pub mod lineage_tree;
