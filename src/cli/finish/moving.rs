//! `move`: wine goes from one vessel to one other: racked off its lees, or filtered.

use std::path::Path;

use serde::Serialize;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text, harmless};
use crate::cellar::core::state::State;
use crate::cellar::jobs::wood::moving::Purpose;
use crate::cellar::jobs::wood::moving::tank_to_tank::{MoveAsked, MovePlan};
use crate::cli::Counter;
use crate::cli::arguments::{Format, MoveArguments};
use crate::cli::core::complaint::Outcome;
use crate::cli::reading::{lot, vessel};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::{below, rounded};
use crate::desk::Access;
use crate::units::Volume;

impl Counter<'_, '_> {
    /// Moves wine, or says what that would be.
    pub(in crate::cli) fn move_wine(&mut self, cellar: &Path, asked: &MoveArguments) -> Outcome {
        let access = if asked.dry_run { Access::ReadOnly } else { Access::ReadWrite };
        let mut desk = self.desk(cellar, access)?;
        let plan = desk.state().plan_move(&MoveAsked::of(desk.state(), asked)?, self.now)?;
        let view = MoveView::of(desk.state(), &plan);
        if !asked.dry_run {
            let whats = vec![What::WineMoved(Box::new(plan.moved.clone()))];
            asked.entering.enter(&mut desk, whats, None, self.now)?;
            if plan.moved.purpose == Purpose::Filtration {
                self.saying.message("Test its turbidity now: `list filtrations` holds it against what was before.");
            }
        }
        view.write(&plan, &mut self.page(Format::Table))
    }
}

impl MoveAsked {
    fn of(state: &State, asked: &MoveArguments) -> Outcome<MoveAsked> {
        let (from, to) = (vessel(state, &asked.from)?, vessel(state, &asked.to)?);
        Ok(MoveAsked {
            volume: asked.litres,
            lees: asked.lees.unwrap_or_default(),
            loss: asked.loss.unwrap_or_default(),
            empties: asked.empties,
            lot: asked.lot.as_ref().map(|label| lot(state, label)).transpose()?,
            filter: asked.filter.clone(),
            ..MoveAsked::all(from, to, asked.purpose.into())
        })
    }
}

/// A move, under the names of the exchange format.
#[derive(Debug, Serialize)]
struct MoveView {
    from: Label,
    to: Label,
    lot: Option<Label>,
    volume_ul: Volume,
    evaporation_ul: Volume,
    lost_ul: Volume,
    lost_pct: Option<f64>,
    stays_ul: Volume,
    filter: Option<Text>,
    turbidity_before_ntu: Option<f64>,
}

impl MoveView {
    fn of(state: &State, plan: &MovePlan) -> MoveView {
        MoveView {
            from: plan.moved.from.clone(),
            to: plan.moved.to.clone(),
            lot: plan.lot.map(|lot| state.lots.get(lot).label.clone()),
            volume_ul: plan.moved.volume,
            evaporation_ul: plan.evaporated,
            lost_ul: plan.lost,
            lost_pct: plan.lost_share().map(percent),
            stays_ul: plan.stays,
            filter: plan.moved.filter.clone(),
            turbidity_before_ntu: plan.before.map(|before| before.ntu),
        }
    }

    fn write(&self, plan: &MovePlan, page: &mut Page<'_>) -> Outcome {
        page.card(&MoveView::COLUMNS, self, |page| {
            plan.barred.iter().try_for_each(|hold| below(page, &harmless(&hold.to_string())))?;
            plan.questions.iter().try_for_each(|question| below(page, &harmless(&question.to_string())))
        })
    }

    const COLUMNS: [Column<MoveView>; 10] = [
        Column::both("from", "from", |it: &MoveView| (&it.from).into()),
        Column::both("to", "to", |it| (&it.to).into()),
        Column::both("lot", "lot", |it| it.lot.as_ref().into()),
        Column::both("volume_ul", "litres", |it| it.volume_ul.into()),
        Column::both("evaporation_ul", "evaporated before", |it| Cell::Fine(it.evaporation_ul)),
        Column::both("lost_ul", "lost", |it| Cell::Fine(it.lost_ul)),
        Column::both("lost_pct", "lost %", |it| it.lost_pct.into()),
        Column::both("stays_ul", "stays", |it| it.stays_ul.into()),
        Column::both("filter", "filter", |it| it.filter.as_ref().into()),
        Column::both("turbidity_before_ntu", "NTU before", |it| it.turbidity_before_ntu.into()),
    ];
}

/// A share as a percentage to a hundredth.
pub(in crate::cli) fn percent(share: f64) -> f64 {
    rounded(share * 100.0, 2)
}
