//! The finish: fining, filtering, what must be so before bottling.

pub mod checklist;
pub mod filtration;
pub mod fining;
