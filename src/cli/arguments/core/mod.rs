//! What is said of more than one job.

pub(in crate::cli::arguments) mod entering;
pub(in crate::cli::arguments) mod fact;
pub(in crate::cli::arguments) mod look;
pub(in crate::cli::arguments) mod moment;
pub(in crate::cli::arguments) mod reading;
pub(in crate::cli::arguments) mod reckon;
pub(in crate::cli::arguments) mod screen;
pub(in crate::cli::arguments) mod things;
pub(in crate::cli::arguments) mod volume;
