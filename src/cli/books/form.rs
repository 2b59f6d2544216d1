//! An act that a form takes: entered, or tried.

use std::path::Path;

use crate::cellar::core::fact::What;
use crate::cellar::core::state::State;
use crate::cli::arguments::FormArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::forms::{by_words, said};

impl Counter<'_, '_> {
    /// Enters what a form says, or says what that would be. What is asked of it stands there either way.
    pub(in crate::cli) fn form(&mut self, cellar: &Path, asked: &FormArguments) -> Outcome {
        if let Some(caution) = asked.form.caution {
            self.saying.message(caution);
        }
        if !asked.dry_run {
            let mut told = Vec::new();
            self.enter(cellar, &asked.entering, |state| {
                let whats = asked.whats(state)?;
                told.extend(whats.iter().map(said));
                Ok(whats)
            })?;
            return told.iter().try_for_each(|line| Ok(writeln!(self.out, "{line}")?));
        }
        let mut whats = Vec::new();
        self.rehearse(cellar, &asked.entering, |state| {
            whats = asked.whats(state)?;
            Ok(whats.clone())
        })?;
        whats.iter().try_for_each(|what| Ok(writeln!(self.out, "would be entered: {}", said(what))?))
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
