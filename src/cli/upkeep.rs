//! The care of a cellar's file: new, backup, verify.

use std::io::Write;
use std::path::Path;

use super::complaint::{Complaint, Outcome};
use super::saying::Saying;
use crate::cellar::label::harmless;
use crate::cellar::moment::Moment;
use crate::desk::{Desk, Verified};

/// Makes an empty cellar.
pub fn new(file: &Path, now: Moment, out: &mut dyn Write) -> Outcome {
    Desk::create(file, now)?;
    Ok(writeln!(out, "{} is a new, empty cellar", named(file))?)
}

/// Writes a safe copy.
pub fn backup(desk: &Desk, file: &Path, out: &mut dyn Write) -> Outcome {
    desk.backup(file)?;
    Ok(writeln!(out, "{} is a whole copy of the cellar", named(file))?)
}

/// Tells what a check of the whole cellar found.
pub fn verify(found: &Verified, out: &mut dyn Write, saying: &mut Saying<'_>) -> Outcome {
    let devices = if found.devices == 1 { "device" } else { "devices" };
    writeln!(out, "{} facts of {} {devices} checked", found.facts, found.devices)?;
    for problem in &found.problems {
        saying.message(problem);
    }
    match found.problems.len() {
        0 => Ok(writeln!(out, "The chain of facts, the file and the balance are sound.")?),
        1 => Err(Complaint::Refused("The cellar is not sound: 1 problem was found.".to_owned())),
        many => Err(Complaint::Refused(format!("The cellar is not sound: {many} problems were found."))),
    }
}

fn named(file: &Path) -> String {
    harmless(&file.to_string_lossy())
}
