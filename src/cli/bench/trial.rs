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

use crate::cellar::core::state::{State, TrialId};
use crate::cli::arguments::{Format, Reading, TrialStep};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::suggestion::not_found;
use crate::desk::Access;
use std::path::Path;

/// A trial by its label.
pub fn trial(state: &State, label: &str) -> Outcome<TrialId> {
    let found = state.trials.find(label);
    found.ok_or_else(|| not_found("trial", label, state.trials.iter().map(|(_, trial)| &trial.label)))
}

/// The digest as it is printed on sheets.
fn seal_line(digest: &str) -> String {
    format!("sealed: SHA-256 {digest}")
}

impl Counter<'_, '_> {
    /// Serves a step of a trial.
    pub(in crate::cli) fn trial(&mut self, cellar: &Path, step: &TrialStep) -> Outcome {
        let now = self.now;
        match step {
            TrialStep::Set(asked) => {
                let mut desk = self.desk_to_try(cellar, asked.dry_run)?;
                setting::set(&mut desk, asked, now, self.out, self.saying)
            }
            TrialStep::Pour { trial, read, format } => {
                self.look(cellar, Reading::now(*format), |state, _, page| pouring::write(state, trial, *read, page))
            }
            TrialStep::Serve { trial, format } => {
                self.look(cellar, Reading::now(*format), |state, _, page| serving::write(state, trial, page))
            }
            TrialStep::Rate(asked) => {
                let mut desk = self.desk(cellar, Access::ReadWrite)?;
                rating::rate(&mut desk, asked, now, self.out)
            }
            TrialStep::Scores { trial, file, dry_run, entering } => {
                let mut desk = self.desk_to_try(cellar, *dry_run)?;
                let entering = (!dry_run).then_some(entering);
                scores::take(&mut desk, trial, file, entering, now, self.out, self.saying)
            }
            TrialStep::Missing { trial, format } => {
                self.look(cellar, Reading::now(*format), |state, _, page| rating::missing(state, trial, page))
            }
            TrialStep::Reveal { trial, incomplete, format, entering } => {
                let desk = self.enter(cellar, entering, |state| reveal::reveal(state, trial, *incomplete))?;
                show(desk.state(), trial, now, &mut self.page(*format))
            }
            TrialStep::Seal { trial } => {
                let now = Reading::now(Format::Table);
                self.look(cellar, now, |state, _, page| reveal::sealed_text(state, trial, page.out))
            }
            TrialStep::Blend(asked) => {
                let mut desk = self.desk_to_try(cellar, asked.dry_run)?;
                blending::blend(&mut desk, asked, now, &mut self.page(asked.format))
            }
        }
    }
}

impl From<crate::cellar::jobs::bench::trial::refusal::TrialRefusal> for Complaint {
    fn from(refusal: crate::cellar::jobs::bench::trial::refusal::TrialRefusal) -> Complaint {
        Complaint::Refused(refusal.to_string())
    }
}
