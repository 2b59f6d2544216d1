//! Who enters: as said, else as the surroundings or a file of looks say. Where nobody says it, the facts are by the cellar, and that is told.

use std::env;
use std::path::Path;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};

use crate::cellar::core::label::{Label, harmless};
use crate::cli::core::complaint::{Complaint, Outcome};

/// Who is said to have entered a fact where nobody says so.
const NOBODY: &str = "cellar";

/// Who enters by the file of looks, settled once where the program begins.
static BY_LOOKS: OnceLock<Option<Label>> = OnceLock::new();
/// Whether it was asked who enters, and nothing said it.
static NOT_SAID: AtomicBool = AtomicBool::new(false);

/// Says who enters by the file of looks.
pub fn settle(by: Option<Label>) {
    BY_LOOKS.get_or_init(|| by);
}

/// Who enters: as said, else as the variable, the looks or the system say.
pub fn who(said: Option<&str>) -> Outcome<Label> {
    let of = |names: &[&str]| names.iter().find_map(|name| env::var(name).ok()).and_then(|name| Label::new(&name).ok());
    if let Some(said) = said {
        return Label::new(said).map_err(|error| Complaint::Refused(error.to_string()));
    }
    let known = of(&["BARRELWALK_BY"])
        .or_else(|| BY_LOOKS.get().cloned().flatten())
        .or_else(|| of(&["USER", "LOGNAME", "USERNAME"]));
    known.map_or_else(
        || {
            NOT_SAID.store(true, Ordering::Relaxed);
            Label::new(NOBODY).map_err(|error| Complaint::Refused(error.to_string()))
        },
        Ok,
    )
}

/// What is told where somebody entered and nothing said who.
#[must_use]
pub fn not_said(looks: Option<&Path>) -> Option<String> {
    let looks = looks.map_or_else(String::new, |looks| {
        format!(", or write by = \"NAME\" into {} for good", harmless(&looks.to_string_lossy()))
    });
    NOT_SAID
        .load(Ordering::Relaxed)
        .then(|| format!("Nothing says who you are, so what is entered is by '{NOBODY}'. Say --by NAME{looks}."))
}
