//! The books: every litre accounted for, and where it came from.

pub(in crate::cli::arguments) mod beginning;
pub(in crate::cli::arguments) mod correct;
pub(in crate::cli::arguments) mod count;
pub(in crate::cli::arguments) mod done;
pub(in crate::cli::arguments) mod form;
pub(in crate::cli::arguments) mod journal;
pub(in crate::cli::arguments) mod ledger;
pub(in crate::cli::arguments) mod mend_dates;
pub(in crate::cli::arguments) mod rules;
pub(in crate::cli::arguments) mod settings;
pub(in crate::cli::arguments) mod sheets;
pub(in crate::cli::arguments) mod undo;
