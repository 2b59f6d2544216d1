//! An act that a form takes: entered, or tried.

use std::path::Path;

use chrono::NaiveDate;

use crate::cellar::core::fact::What;
use crate::cellar::core::state::State;
use crate::cli::arguments::{Entering, FormArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::floor::declaring::follows;
use crate::forms::{by_words, said};
use crate::told::tests::dose_given;

impl Counter<'_, '_> {
    /// Enters what a form says, or says what that would be. What is asked of it stands there either way.
    pub(in crate::cli) fn form(&mut self, cellar: &Path, asked: &FormArguments) -> Outcome {
        if !asked.dry_run {
            let today = self.now.date();
            return self.enter_form(cellar, &asked.entering, |state| asked.whats(state, today));
        }
        let (mut whats, mut dose, today) = (Vec::new(), None, self.now.date());
        self.rehearse(cellar, &asked.entering, |state| {
            whats = asked.whats(state, today)?;
            dose = dose_given(state, &whats);
            Ok(whats.clone())
        })?;
        whats.iter().try_for_each(|what| writeln!(self.out, "would be entered: {}", said(what)))?;
        dose.iter().try_for_each(|dose| Ok(writeln!(self.out, "{dose}")?))
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
            told.extend(dose_given(state, &whats));
            Ok(whats)
        })?;
        told.iter().try_for_each(|line| Ok(writeln!(self.out, "{line}")?))
    }
}

impl FormArguments {
    /// The facts that are meant.
    fn whats(&self, state: &State, today: NaiveDate) -> Outcome<Vec<What>> {
        let refused = |mistake: crate::forms::Mistake| Complaint::Refused(mistake.why);
        let mut filled = by_words(self.form, &self.words).map_err(refused)?.on(today).leaving_labels();
        for (at, text) in &self.named {
            filled.write(*at, text);
        }
        filled.whats(state).map_err(refused)
    }
}
