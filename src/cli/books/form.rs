//! An act that a form takes: entered, or tried.

use std::path::Path;

use crate::cellar::core::fact::What;
use crate::cellar::core::state::State;
use crate::cli::arguments::{Entering, FormArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::floor::declaring::follows;
use crate::forms::{by_words, said};

impl Counter<'_, '_> {
    /// Enters what a form says, or says what that would be. What is asked of it stands there either way.
    pub(in crate::cli) fn form(&mut self, cellar: &Path, asked: &FormArguments) -> Outcome {
        if let Some(caution) = asked.form.caution {
            self.saying.message(caution);
        }
        if !asked.dry_run {
            return self.enter_form(cellar, &asked.entering, |state| asked.whats(state));
        }
        let mut whats = Vec::new();
        self.rehearse(cellar, &asked.entering, |state| {
            whats = asked.whats(state)?;
            Ok(whats.clone())
        })?;
        whats.iter().try_for_each(|what| Ok(writeln!(self.out, "would be entered: {}", said(what))?))
    }

    /// Enters what a form comes to, and says it.
    pub(in crate::cli) fn enter_form(
        &mut self,
        cellar: &Path,
        entering: &Entering,
        whats: impl FnOnce(&State) -> Outcome<Vec<What>>,
    ) -> Outcome {
        let mut told = Vec::new();
        self.enter(cellar, entering, |state| {
            let whats = whats(state)?;
            for what in &whats {
                let follows = if let What::PracticeSet(set) = what { follows(set) } else { Vec::new() };
                if follows.is_empty() { told.push(said(what)) } else { told.extend(follows) }
            }
            Ok(whats)
        })?;
        told.iter().try_for_each(|line| Ok(writeln!(self.out, "{line}")?))
    }
}

impl FormArguments {
    /// The facts that are meant.
    fn whats(&self, state: &State) -> Outcome<Vec<What>> {
        let refused = |mistake: crate::forms::Mistake| Complaint::Refused(mistake.why);
        let mut filled = by_words(self.form, &self.words).map_err(refused)?;
        for (at, text) in &self.named {
            filled.write(*at, text);
        }
        filled.whats(state).map_err(refused)
    }
}
