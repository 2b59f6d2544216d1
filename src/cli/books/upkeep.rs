//! The care of a cellar's file: backup, verify.

use std::io::Write;
use std::path::Path;

use crate::cellar::core::label::harmless;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::saying::Saying;
use crate::desk::{Access, Copied, Desk, Verified};
use crate::units::{by_count, counted};

impl Counter<'_, '_> {
    /// Writes a safe copy.
    pub(in crate::cli) fn backup(&mut self, cellar: &Path, file: &Path) -> Outcome {
        let tell = |counter: &mut Self, _: &Desk, copied: Copied| -> Outcome {
            if copied.problems.is_empty() {
                return Ok(writeln!(counter.out, "{} is a whole copy of the cellar", named(file))?);
            }
            copied.problems.iter().for_each(|problem| counter.saying.message(problem));
            Err(Complaint::Refused(format!(
                "{} is a copy of all that can be read, but the cellar is damaged. Keep your older backups.",
                named(file)
            )))
        };
        self.at_desk(cellar, Access::ReadOnly, |desk, _| Ok(desk.backup(file)?), tell)
    }

    /// Checks the whole cellar.
    pub(in crate::cli) fn verify(&mut self, cellar: &Path) -> Outcome {
        self.at_desk(
            cellar,
            Access::ReadOnly,
            |desk, _| Ok(desk.verify()?),
            |counter, _, found| verified(&found, counter.out, counter.saying),
        )
    }
}

/// Tells what a check of the whole cellar found.
fn verified(found: &Verified, out: &mut dyn Write, saying: &mut Saying<'_>) -> Outcome {
    writeln!(out, "{} of {} checked", counted(found.facts, "fact"), counted(found.devices, "device"))?;
    for problem in found.problems.iter().chain(&found.unread) {
        saying.message(problem);
    }
    match (found.problems.len(), found.unread.len()) {
        (0, many @ 1..) => {
            let facts = counted(many, "fact");
            Err(Complaint::Refused(format!("The cellar is sound, but {facts} cannot be read by this program.")))
        }
        (problems, _) => sound(problems, out),
    }
}

/// What is said of a check that found so many problems.
fn sound(problems: usize, out: &mut dyn Write) -> Outcome {
    match problems {
        0 => Ok(writeln!(out, "The chain of facts, the file and the balance are sound.")?),
        many => {
            let (problems, were) = (counted(many, "problem"), by_count(many, "was", "were"));
            Err(Complaint::Refused(format!("The cellar is not sound: {problems} {were} found.")))
        }
    }
}

fn named(file: &Path) -> String {
    harmless(&file.to_string_lossy())
}
