//! `fining`: a trial is entered, what was seen is added, a dose is chosen, and given to a vessel.

use std::path::Path;

use super::{fining, show};
use crate::cellar::core::fact::What;
use crate::cellar::core::state::State;
use crate::cellar::jobs::finish::fining::{FiningGlass, FiningTried};
use crate::cli::arguments::{Entering, FiningStep, Format, GiveArguments, MaterialIs, TryArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::reading::vessel;
use crate::cli::table::seen::Seen;
use crate::desk::{Access, Desk};
use crate::units::weighed;

impl Counter<'_, '_> {
    /// Enters what is said of a fining trial, and shows it.
    pub(in crate::cli) fn fining(&mut self, cellar: &Path, step: &FiningStep) -> Outcome {
        let mut desk = self.desk(cellar, Access::ReadWrite)?;
        match step {
            FiningStep::Try(asked) => self.try_agent(&mut desk, asked),
            FiningStep::See { trial, glass, entering } => {
                let mut tried = known(desk.state(), trial)?;
                tried.take(glass);
                self.tried(&mut desk, tried, None, entering)
            }
            FiningStep::Choose { trial, dose, entering } => {
                let mut tried = known(desk.state(), trial)?;
                tried.chosen_g_l = Some(*dose);
                self.tried(&mut desk, tried, None, entering)
            }
            FiningStep::Give(asked) => self.give(&mut desk, asked),
        }
    }

    fn try_agent(&mut self, desk: &mut Desk, asked: &TryArguments) -> Outcome {
        if desk.state().finings.find(asked.trial.as_str()).is_some() {
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
        self.tried(desk, tried, Some(&asked.is), &asked.entering)
    }

    /// Writes a fining trial down, and shows it with what is to be said of its doses.
    fn tried(&mut self, desk: &mut Desk, tried: FiningTried, is: Option<&MaterialIs>, entering: &Entering) -> Outcome {
        let (label, chosen) = (tried.trial.clone(), tried.chosen_g_l);
        let (material, what) = (tried.material.clone(), What::FiningTried(Box::new(tried)));
        let whats = match is {
            Some(is) => is.with(desk.state(), &material, what)?,
            None => vec![what],
        };
        entering.enter(desk, whats, None, self.now)?;
        let id = fining(desk.state(), label.as_str())?;
        let trial = desk.state().finings.get(id);
        if let Some(word) = chosen.and_then(|dose| trial.word_on(desk.state(), dose)) {
            self.saying.message(&word);
        }
        show(desk.state(), label.as_str(), self.now, &mut self.page(Format::Table))
    }

    fn give(&mut self, desk: &mut Desk, asked: &GiveArguments) -> Outcome {
        let state = &desk.state().clone();
        let trial = fining(state, &asked.trial)?;
        let tried = state.finings.get(trial).vessel;
        let id = asked.vessel.as_ref().map_or(Ok(tried), |label| vessel(state, label))?;
        let plan = state.plan_fining(trial, id)?;
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
        asked.entering.enter(desk, whats, None, self.now)?;
        self.saying
            .message(&format!("{said} Rack it off its lees with `move`, and what that cost is told by `show fining`."));
        Seen { state, on: self.now, thing: &plan }.write(&mut self.page(Format::Table))
    }
}

/// A fining trial as it was last written down.
fn known(state: &State, label: &str) -> Outcome<FiningTried> {
    Ok(state.finings.get(fining(state, label)?).as_tried(state))
}
