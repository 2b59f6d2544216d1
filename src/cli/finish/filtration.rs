//! Filtrations as they are listed: what they cost, and how turbid the wine was before and after.

use serde::Serialize;

use super::moving::percent;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::state::State;
use crate::cellar::jobs::finish::filtration::{Filtration, Turbidity};
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::units::Volume;

/// A filtration, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct FiltrationView {
    at: When,
    from: Label,
    to: Label,
    lot: Option<Label>,
    volume_ul: Volume,
    lost_ul: Volume,
    lost_pct: Option<f64>,
    filter: Option<Text>,
    turbidity_before_ntu: Option<f64>,
    tested_before: Option<When>,
    turbidity_after_ntu: Option<f64>,
    tested_after: Option<When>,
}

impl FiltrationView {
    /// A filtration for people and programs.
    pub fn of(state: &State, filtration: &Filtration) -> FiltrationView {
        let label = |id| state.vessels.get(id).label.clone();
        let ntu = |found: Option<Turbidity>| found.map(|found| found.ntu);
        let when = |found: Option<Turbidity>| found.map(|found| When(found.at));
        FiltrationView {
            at: When(filtration.at),
            from: label(filtration.from),
            to: label(filtration.to),
            lot: filtration.lot.map(|lot| state.lots.get(lot).label.clone()),
            volume_ul: filtration.moved,
            lost_ul: filtration.lost,
            lost_pct: filtration.lost_share().map(percent),
            filter: filtration.filter.clone(),
            turbidity_before_ntu: ntu(filtration.before),
            tested_before: when(filtration.before),
            turbidity_after_ntu: ntu(filtration.after),
            tested_after: when(filtration.after),
        }
    }

    /// All, in their order.
    #[must_use]
    pub fn all(state: &State) -> Vec<FiltrationView> {
        state.filtrations.iter().map(|filtration| FiltrationView::of(state, filtration)).collect()
    }

    /// The columns of a list of them.
    pub const COLUMNS: [Column<FiltrationView>; 12] = [
        Column::both("at", "on", |it: &FiltrationView| it.at.into()),
        Column::both("from", "from", |it| (&it.from).into()),
        Column::both("to", "to", |it| (&it.to).into()),
        Column::both("lot", "lot", |it| it.lot.as_ref().into()),
        Column::both("volume_ul", "litres", |it: &FiltrationView| it.volume_ul.into()).summed(),
        Column::both("lost_ul", "lost", |it: &FiltrationView| Cell::Fine(it.lost_ul)).summed(),
        Column::both("lost_pct", "lost %", |it| it.lost_pct.into()),
        Column::both("filter", "filter", |it: &FiltrationView| it.filter.as_ref().into()).sparse(),
        Column::both("turbidity_before_ntu", "NTU before", |it| it.turbidity_before_ntu.into()),
        Column::program("tested_before", |it| it.tested_before.into()),
        Column::both("turbidity_after_ntu", "NTU after", |it| it.turbidity_after_ntu.into()),
        Column::program("tested_after", |it| it.tested_after.into()),
    ];
}
