//! Trials at the bench, at the desk: set, poured, served, rated, opened, blended.
//!
//! Only [`pouring`] shows the key of an open trial, on a page that says whom it is for.

mod blending;
mod glasses;
mod list;
mod planning;
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
use crate::cli::core::suggestion::called;
use std::path::Path;

/// A trial by its label.
pub fn trial(state: &State, label: &str) -> Outcome<TrialId> {
    called("trial", &state.trials, label)
}

/// The digest as it is printed on sheets.
fn seal_line(digest: &str) -> String {
    format!("sealed: SHA-256 {digest}")
}

impl Counter<'_, '_> {
    /// Serves a step of a trial.
    pub(in crate::cli) fn trial(&mut self, cellar: &Path, step: &TrialStep) -> Outcome {
        match step {
            TrialStep::Plan(asked) => {
                let glasses = planning::read(asked, self.saying)?;
                let now = Reading::now(asked.format);
                self.look_into(cellar, now, |desk, on, page| planning::plan(asked, glasses, (desk, on), page))
            }
            TrialStep::Set(asked) => self.set_trial(cellar, asked),
            TrialStep::Pour { trial, read, format } => {
                self.look(cellar, Reading::now(*format), |state, _, page| pouring::write(state, trial, *read, page))
            }
            TrialStep::Serve { trial, format } => {
                self.look(cellar, Reading::now(*format), |state, _, page| serving::write(state, trial, page))
            }
            TrialStep::Rate(asked) => self.rate(cellar, asked),
            TrialStep::Scores { trial, file, dry_run, entering } => {
                self.take_scores(cellar, (entering, !dry_run), trial, file)
            }
            TrialStep::Missing { trial, format } => {
                self.look(cellar, Reading::now(*format), |state, _, page| rating::missing(state, trial, page))
            }
            TrialStep::Reveal { trial, incomplete, format, entering } => {
                let desk = self.enter(cellar, entering, |state| reveal::reveal(state, trial, *incomplete))?;
                show(desk.state(), trial, self.now, &mut self.page(*format))
            }
            TrialStep::Seal { trial } => {
                let now = Reading::now(Format::Table);
                self.look(cellar, now, |state, _, page| reveal::sealed_text(state, trial, page.out))
            }
            TrialStep::Blend(asked) => self.blend_trial(cellar, asked),
        }
    }
}

impl From<crate::cellar::jobs::bench::trial::refusal::TrialRefusal> for Complaint {
    fn from(refusal: crate::cellar::jobs::bench::trial::refusal::TrialRefusal) -> Complaint {
        Complaint::Refused(refusal.to_string())
    }
}
