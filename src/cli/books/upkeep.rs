//! The care of a cellar's file: backup, verify.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::cellar::core::label::harmless;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::overwriting::free;
use crate::cli::core::saying::Saying;
use crate::desk::{Access, Copied, Desk, Verified};
use crate::units::{by_count, counted};

impl Counter<'_, '_> {
    /// Writes a safe copy to a file; where none is named, a dated one beside the cellar.
    pub(in crate::cli) fn backup(&mut self, cellar: &Path, file: Option<&Path>, overwrite: bool) -> Outcome {
        let copy = |desk: &mut Desk, now| match file {
            None => Ok(desk.keep_backup(now)?),
            Some(file) if overwrite => Ok((file.to_owned(), desk.backup_over(file)?, 0)),
            Some(file) => {
                free(file)?;
                Ok((file.to_owned(), desk.backup(file)?, 0))
            }
        };
        let tell = |counter: &mut Self, _: &Desk, (file, copied, let_go): (PathBuf, Copied, usize)| -> Outcome {
            let file = named(&file);
            if copied.problems.is_empty() {
                writeln!(counter.out, "{file} is a whole copy of the cellar")?;
                if let_go > 0 {
                    let oldest = counted(let_go, "older copy");
                    writeln!(counter.out, "{oldest} went for it: the last ten are kept")?;
                }
                return Ok(());
            }
            copied.problems.iter().for_each(|problem| counter.saying.message(problem));
            Err(Complaint::Refused(format!(
                "{file} is a copy of all that can be read, but the cellar is damaged. Keep your older backups."
            )))
        };
        self.at_desk(cellar, Access::ReadOnly, copy, tell)
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
