//! Trials as they are listed. Nothing here comes from the key.

use serde::Serialize;

use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::{Component, Trial};
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::units::Volume;

/// A trial, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct TrialView {
    trial: Label,
    set: When,
    components: Vec<ComponentView>,
    glass_ul: Volume,
    glass_count: usize,
    panel: Vec<Label>,
    served: usize,
    rated: usize,
    missing: usize,
    revealed: Option<When>,
    blends: usize,
    digest: String,
}

/// A wine that is mixed.
#[derive(Debug, Serialize)]
struct ComponentView {
    vessel: Label,
    available_ul: Option<Volume>,
    reserve_ul: Volume,
}

impl ComponentView {
    fn of(state: &State, component: &Component) -> ComponentView {
        ComponentView {
            vessel: state.vessels.get(component.vessel).label.clone(),
            available_ul: component.available,
            reserve_ul: component.reserve,
        }
    }
}

impl TrialView {
    /// A trial as it is told.
    #[must_use]
    pub fn of(state: &State, trial: &Trial) -> TrialView {
        let (served, missing) = (trial.servings(), trial.missing().len());
        TrialView {
            trial: trial.label.clone(),
            set: When(trial.set),
            components: trial.components().iter().map(|component| ComponentView::of(state, component)).collect(),
            glass_ul: trial.glass_volume(),
            glass_count: trial.codes().len(),
            panel: trial.tasters().iter().map(|taster| taster.name.clone()).collect(),
            served,
            rated: served - missing,
            missing,
            revealed: trial.revealed().map(When),
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
            Column::both("components", "of", |it| joined(it.components.iter().map(|component| &component.vessel))),
            Column::program("glass_ul", |it| Cell::Measured(it.glass_ul)),
            Column::both("glass_count", "glasses", |it| it.glass_count.into()),
            Column::program("panel", |it| joined(it.panel.iter())),
            Column::people("tasters", |it| it.panel.len().into()),
            Column::program("served", |it| it.served.into()),
            Column::both("rated", "rated", |it| it.rated.into()),
            Column::both("missing", "missing", |it| it.missing.into()),
            Column::both("revealed", "revealed", |it| it.revealed.into()),
            Column::program("blends", |it| it.blends.into()),
            Column::program("digest", |it| (&it.digest).into()),
        ]
    }
}

/// The labels of the vessels whose wines are mixed.
pub fn vessels(state: &State, trial: &Trial) -> Vec<Label> {
    trial.components().iter().map(|component| state.vessels.get(component.vessel).label.clone()).collect()
}

fn joined<'a>(labels: impl Iterator<Item = &'a Label>) -> Cell {
    Cell::Text(labels.map(Label::as_str).collect::<Vec<_>>().join(", "))
}
