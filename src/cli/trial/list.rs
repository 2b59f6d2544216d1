//! Trials as they are listed. Nothing here comes from the key.

use serde::Serialize;

use crate::cellar::label::Label;
use crate::cellar::state::State;
use crate::cellar::trial::Trial;
use crate::cli::cell::{Cell, When};
use crate::cli::column::Column;
use crate::units::Volume;

/// A trial, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct TrialView {
    trial: Label,
    set: When,
    /// The vessels whose wines are mixed.
    vessels: Vec<Label>,
    glass_ul: Volume,
    glass_count: usize,
    panel: Vec<Label>,
    served: usize,
    rated: usize,
    missing: usize,
    card_pulled: Option<When>,
    blends: usize,
    digest: String,
}

impl TrialView {
    /// A trial as it is told.
    #[must_use]
    pub fn of(state: &State, trial: &Trial) -> TrialView {
        let (served, missing) = (trial.servings(), trial.missing().len());
        TrialView {
            trial: trial.label.clone(),
            set: When(trial.set),
            vessels: vessels(state, trial),
            glass_ul: trial.glass_volume(),
            glass_count: trial.codes().len(),
            panel: trial.tasters().iter().map(|taster| taster.name.clone()).collect(),
            served,
            rated: served - missing,
            missing,
            card_pulled: trial.card_pulled().map(When),
            blends: trial.blends.len(),
            digest: trial.digest().to_owned(),
        }
    }

    /// The digest of the key.
    #[must_use]
    pub fn digest(&self) -> &str {
        &self.digest
    }

    /// Every trial of the cellar.
    #[must_use]
    pub fn all(state: &State) -> Vec<TrialView> {
        state.trials.iter().map(|(_, trial)| TrialView::of(state, trial)).collect()
    }

    /// The columns of a list of trials.
    #[must_use]
    pub fn columns() -> Vec<Column<TrialView>> {
        vec![
            Column::both("trial", "trial", |it: &TrialView| (&it.trial).into()),
            Column::both("set", "set", |it| it.set.into()),
            Column::both("vessels", "of", |it| joined(&it.vessels)),
            Column::program("glass_ul", |it| Cell::Measured(it.glass_ul)),
            Column::both("glass_count", "glasses", |it| it.glass_count.into()),
            Column::program("panel", |it| joined(&it.panel)),
            Column::people("tasters", |it| it.panel.len().into()),
            Column::program("served", |it| it.served.into()),
            Column::both("rated", "rated", |it| it.rated.into()),
            Column::both("missing", "missing", |it| it.missing.into()),
            Column::both("card_pulled", "card pulled", |it| it.card_pulled.into()),
            Column::program("blends", |it| it.blends.into()),
            Column::program("digest", |it| (&it.digest).into()),
        ]
    }
}

/// The labels of the vessels whose wines are mixed.
pub fn vessels(state: &State, trial: &Trial) -> Vec<Label> {
    trial.components().iter().map(|component| state.vessels.get(component.vessel).label.clone()).collect()
}

fn joined(labels: &[Label]) -> Cell {
    Cell::Text(labels.iter().map(Label::as_str).collect::<Vec<_>>().join(", "))
}
