//! `fining`: a trial is entered, what was seen is added, a dose is chosen, and given to a vessel.

use std::path::Path;

use super::{fining, plan, show};
use crate::cellar::core::fact::What;
use crate::cellar::core::state::State;
use crate::cellar::jobs::finish::fining::{FiningGlass, FiningTried};
use crate::cli::arguments::{Entering, FiningStep, Format, GiveArguments, MaterialIs, TryArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::{Counter, Decided, own_state};
use crate::cli::table::seen::Seen;
use crate::units::weighed;

impl Counter<'_, '_> {
    /// Enters what is said of a fining trial, and shows it.
    pub(in crate::cli) fn fining(&mut self, cellar: &Path, step: &FiningStep) -> Outcome {
        match step {
            FiningStep::Try(asked) => {
                self.tried(cellar, &asked.entering, Some(&asked.is), |state| new_trial(state, asked))
            }
            FiningStep::See { trial, glass, entering } => self.tried(cellar, entering, None, |state| {
                let mut tried = known(state, trial)?;
                tried.take(glass);
                Ok(tried)
            }),
            FiningStep::Choose { trial, dose, entering } => self.tried(cellar, entering, None, |state| {
                Ok(FiningTried { chosen_g_l: Some(*dose), ..known(state, trial)? })
            }),
            FiningStep::Give(asked) => self.give(cellar, asked),
        }
    }

    /// Writes a fining trial down, and shows it with what is to be said of its doses.
    fn tried(
        &mut self,
        cellar: &Path,
        entering: &Entering,
        is: Option<&MaterialIs>,
        tried: impl FnOnce(&State) -> Outcome<FiningTried>,
    ) -> Outcome {
        let decide = |_: &mut Self, state: &State| {
            let tried = tried(state)?;
            let told = (tried.trial.clone(), tried.chosen_g_l);
            let (material, what) = (tried.material.clone(), What::FiningTried(Box::new(tried)));
            let whats = match is {
                Some(is) => is.with(state, &material, what)?,
                None => vec![what],
            };
            Ok(Decided::of(whats, told))
        };
        self.act(cellar, (entering, true), own_state, decide, |counter, _, (label, chosen), desk| {
            let state = desk.state();
            let trial = state.finings.get(fining(state, label.as_str())?);
            if let Some(word) = chosen.and_then(|dose| trial.word_on(state, dose)) {
                counter.saying.message(&word);
            }
            show(state, label.as_str(), counter.now, &mut counter.page(Format::Table))
        })
    }

    /// Gives a vessel the chosen dose.
    fn give(&mut self, cellar: &Path, asked: &GiveArguments) -> Outcome {
        let decide = |_: &mut Self, state: &State| {
            let plan = plan(state, &asked.trial, asked.vessel.as_deref())?;
            let treated = plan.treated(state, asked.measured, asked.batch.clone());
            let said = format!(
                "{} of {} in {} into {}.",
                weighed(treated.amount),
                treated.material,
                treated.solution,
                treated.vessel
            );
            let material = treated.material.clone();
            let whats = asked.is.with(state, &material, What::Treated(Box::new(treated)))?;
            Ok(Decided::of(whats, (said, plan)))
        };
        self.act(cellar, (&asked.entering, true), own_state, decide, |counter, state, (said, plan), _| {
            let said = format!("{said} Rack it off its lees with `move`, and what that cost is told by `show fining`.");
            counter.saying.message(&said);
            Seen { state, on: counter.now, thing: plan }.write(&mut counter.page(Format::Table))
        })
    }
}

/// A trial that is begun with its glasses.
fn new_trial(state: &State, asked: &TryArguments) -> Outcome<FiningTried> {
    if state.finings.find(asked.trial.as_str()).is_some() {
        let sentence = format!(
            "A fining trial is called '{}' already. Add to it with `fining see`, or give this one another label.",
            asked.trial
        );
        return Err(Complaint::Refused(sentence));
    }
    let mut tried = FiningTried {
        trial: asked.trial.clone(),
        vessel: asked.vessel.clone(),
        material: asked.material.clone(),
        stock_pct: asked.stock,
        glasses: Vec::new(),
        chosen_g_l: None,
    };
    asked.glass.iter().for_each(|glass: &FiningGlass| tried.take(glass));
    Ok(tried)
}

/// A fining trial as it was last written down.
fn known(state: &State, label: &str) -> Outcome<FiningTried> {
    Ok(state.finings.get(fining(state, label)?).as_tried(state))
}
