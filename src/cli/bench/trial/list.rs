//! Trials as they are listed. Nothing here comes from the key.

use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::{Component, Trial};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::seen::Seen;

/// A trial as it is told.
pub type TrialSeen<'a> = Seen<'a, &'a Trial>;

/// The columns of a list of trials.
#[must_use]
pub fn columns<'a>() -> Vec<Column<TrialSeen<'a>>> {
    vec![
        Column::both("trial", "trial", |it: &TrialSeen<'_>| (&it.label).into()),
        Column::both("set", "set", |it| it.set.into()),
        Column::both("components", "of", |it: &TrialSeen<'_>| Cell::list(&vessels(it.state, it)))
            .whole(|it| it.within(&component_columns(), it.components())),
        Column::program("glass_ul", |it| Cell::Measured(it.glass_volume())),
        Column::both("glass_count", "glasses", |it| it.codes().len().into()),
        Column::program("panel", |it| Cell::list(it.tasters().iter().map(|taster| &taster.name))),
        Column::people("tasters", |it| it.tasters().len().into()),
        Column::program("served", |it| it.servings().into()),
        Column::both("rated", "rated", |it| (it.servings() - it.missing().len()).into()),
        Column::both("missing", "missing", |it| it.missing().len().into()),
        Column::both("revealed", "revealed", |it| it.revealed().into()),
        Column::program("blends", |it| it.blends.len().into()),
        Column::program("digest", |it| it.digest().into()),
    ]
}

/// A wine that is mixed.
fn component_columns<'a>() -> [Column<Seen<'a, &'a Component>>; 3] {
    [
        Column::program("vessel", |it: &Seen<'_, &Component>| it.vessel(it.thing.vessel)),
        Column::program("available_ul", |it| it.available.into()),
        Column::program("reserve_ul", |it| it.reserve.into()),
    ]
}

/// The labels of the vessels whose wines are mixed.
pub fn vessels(state: &State, trial: &Trial) -> Vec<Label> {
    trial.components().iter().map(|component| state.vessels.get(component.vessel).label.clone()).collect()
}
