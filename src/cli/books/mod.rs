//! The books: every litre accounted for, and where it came from.

pub(in crate::cli) mod beginning;
pub(in crate::cli) mod claims;
pub(in crate::cli) mod correct;
pub(in crate::cli) mod count;
pub(in crate::cli) mod discrepancy;
pub(in crate::cli) mod done;
pub(in crate::cli) mod export;
pub(in crate::cli) mod form;
pub(in crate::cli) mod journal;
pub(in crate::cli) mod ledger;
pub(in crate::cli) mod mend_dates;
mod past;
pub(in crate::cli) mod recall;
pub(in crate::cli) mod record;
pub(in crate::cli) mod settings;
pub(in crate::cli) mod spreadsheets;
pub(in crate::cli) mod trace;
pub(in crate::cli) mod undo;
pub(in crate::cli) mod upkeep;
