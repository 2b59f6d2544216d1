//! What the commands have in common.

pub(in crate::cli) mod cellar_file;
pub(in crate::cli) mod complaint;
pub(in crate::cli) mod counter;
pub(in crate::cli) mod edge;
pub(in crate::cli) mod entering;
pub(in crate::cli) mod looks;
pub(in crate::cli) mod overwriting;
pub(in crate::cli) mod progress;
pub(in crate::cli) mod saying;
pub(in crate::cli) mod stop;
pub(in crate::cli) mod suggestion;
pub(in crate::cli) mod who;
