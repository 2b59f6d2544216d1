//! The finish: fining, filtering, what must be so before bottling.

pub(in crate::cli::arguments) mod checklist;
pub(in crate::cli::arguments) mod fining;
pub(in crate::cli::arguments) mod moving;
