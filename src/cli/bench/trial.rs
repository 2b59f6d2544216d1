//! Trials at the bench, at the desk: set, poured, served, rated, opened, blended.
//!
//! Only [`pouring`] shows the key of an open trial, on a page that says whom it is for.

mod blending;
mod glasses;
mod list;
mod pouring;
mod rating;
mod reading;
mod reveal;
mod scores;
mod serving;
mod setting;

pub use self::list::columns;
pub use self::reveal::show;

use crate::cellar::core::fact::What;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, TrialId};
use crate::cli::Counter;
use crate::cli::arguments::{Entering, TrialStep};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::suggestion::not_found;
use crate::desk::{Access, Desk};
use std::path::Path;

/// A trial by its label.
pub fn trial(state: &State, label: &str) -> Outcome<TrialId> {
    let found = state.trials.find(label);
    found.ok_or_else(|| not_found("trial", label, state.trials.iter().map(|(_, trial)| &trial.label)))
}

/// Enters facts that stand or fall together.
fn enter(desk: &mut Desk, whats: Vec<What>, entering: &Entering, now: Moment) -> Outcome {
    entering.enter(desk, whats, None, now)
}

/// The digest as it is printed on sheets.
fn seal_line(digest: &str) -> String {
    format!("sealed: SHA-256 {digest}")
}

impl Counter<'_, '_> {
    /// Serves a step of a trial.
    pub(in crate::cli) fn trial(&mut self, cellar: &Path, step: &TrialStep) -> Outcome {
        let writes = match step {
            TrialStep::Set(asked) => !asked.dry_run,
            TrialStep::Scores { dry_run, .. } => !dry_run,
            TrialStep::Blend(asked) => !asked.dry_run,
            TrialStep::Rate(_) | TrialStep::Reveal { .. } => true,
            TrialStep::Pour { .. } | TrialStep::Serve { .. } | TrialStep::Missing { .. } | TrialStep::Seal { .. } => {
                false
            }
        };
        let mut desk = self.desk(cellar, if writes { Access::ReadWrite } else { Access::ReadOnly })?;
        let now = self.now;
        match step {
            TrialStep::Set(asked) => setting::set(&mut desk, asked, now, self.out, self.saying),
            TrialStep::Pour { trial, read, format } => {
                pouring::write(desk.state(), trial, *read, &mut self.page(*format))
            }
            TrialStep::Serve { trial, format } => serving::write(desk.state(), trial, &mut self.page(*format)),
            TrialStep::Rate(asked) => rating::rate(&mut desk, asked, now, self.out),
            TrialStep::Scores { trial, file, dry_run, entering } => {
                let entering = (!dry_run).then_some(entering);
                scores::take(&mut desk, trial, file, entering, now, self.out, self.saying)
            }
            TrialStep::Missing { trial, format } => rating::missing(desk.state(), trial, &mut self.page(*format)),
            TrialStep::Reveal { trial, incomplete, format, entering } => {
                reveal::reveal(&mut desk, trial, *incomplete, entering, now)?;
                show(desk.state(), trial, now, &mut self.page(*format))
            }
            TrialStep::Seal { trial } => reveal::sealed_text(desk.state(), trial, self.out),
            TrialStep::Blend(asked) => blending::blend(&mut desk, asked, now, &mut self.page(asked.format)),
        }
    }
}

impl From<crate::cellar::jobs::bench::trial::refusal::TrialRefusal> for Complaint {
    fn from(refusal: crate::cellar::jobs::bench::trial::refusal::TrialRefusal) -> Complaint {
        Complaint::Refused(refusal.to_string())
    }
}
