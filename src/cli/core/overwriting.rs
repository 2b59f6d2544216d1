//! Files that are written only where nothing is, unless it is said that they may be written over.

use std::fs;
use std::path::Path;

use super::complaint::{Complaint, Outcome};
use crate::cellar::core::label::harmless;

/// Refuses a name that is taken, and says what writes over it.
pub fn free(file: &Path) -> Outcome {
    if fs::symlink_metadata(file).is_err() {
        return Ok(());
    }
    let file = harmless(&file.to_string_lossy());
    Err(Complaint::Refused(format!(
        "{file} is there already. Nothing was changed. Choose another name, or say --overwrite."
    )))
}
