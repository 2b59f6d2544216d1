//! The finish: fining, filtering, what must be so before bottling.

pub(in crate::cli) mod checklist;
pub(in crate::cli) mod filtration;
pub(in crate::cli) mod fining;
pub(in crate::cli) mod fining_trial;
pub(in crate::cli) mod moving;
