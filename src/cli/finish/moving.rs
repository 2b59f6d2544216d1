//! `move`: wine goes from one vessel to one other: racked off its lees, or filtered.

use std::path::Path;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::harmless;
use crate::cellar::core::state::State;
use crate::cellar::jobs::wood::moving::Purpose;
use crate::cellar::jobs::wood::moving::tank_to_tank::{MoveAsked, MovePlan};
use crate::cli::arguments::{Format, MoveArguments};
use crate::cli::core::complaint::Outcome;
use crate::cli::core::counter::{Counter, Decided, own_state};
use crate::cli::reading::{lot, vessel};
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::cli::table::seen::Seen;

impl Counter<'_, '_> {
    /// Moves wine, or says what that would be.
    pub(in crate::cli) fn move_wine(&mut self, cellar: &Path, asked: &MoveArguments) -> Outcome {
        self.act(
            cellar,
            (&asked.entering, !asked.dry_run),
            own_state,
            |counter, state| {
                let plan = state.plan_move(&MoveAsked::of(state, asked)?, counter.now)?;
                Ok(Decided::of(vec![What::WineMoved(Box::new(plan.moved.clone()))], plan))
            },
            |counter, state, plan, _| {
                if !asked.dry_run && plan.moved.purpose == Purpose::Filtration {
                    let test = "Test its turbidity now: `list filtrations` holds it against what was before.";
                    counter.saying.message(test);
                }
                write(&Seen { state, on: counter.now, thing: plan }, &mut counter.page(Format::Table))
            },
        )
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

/// A move as it is told.
type MoveSeen<'a> = Seen<'a, &'a MovePlan>;

fn write(told: &MoveSeen<'_>, page: &mut Page<'_>) -> Outcome {
    page.card(&columns(), told, |page| {
        told.barred.iter().try_for_each(|hold| below(page, &harmless(&hold.to_string())))?;
        told.questions.iter().try_for_each(|question| below(page, &harmless(&question.to_string())))
    })
}

fn columns<'a>() -> [Column<MoveSeen<'a>>; 10] {
    [
        Column::both("from", "from", |it: &MoveSeen<'_>| (&it.moved.from).into()),
        Column::both("to", "to", |it| (&it.moved.to).into()),
        Column::both("lot", "lot", |it| it.lot(it.thing.lot)),
        Column::both("volume_ul", "litres", |it| it.moved.volume.into()),
        Column::both("evaporation_ul", "evaporated before", |it| Cell::Fine(it.evaporated)),
        Column::both("lost_ul", "lost", |it| Cell::Fine(it.lost)),
        Column::both("lost_pct", "lost %", |it| it.lost_share().map(percent).into()),
        Column::both("stays_ul", "stays", |it| it.stays.into()),
        Column::both("filter", "filter", |it| it.moved.filter.as_ref().into()),
        Column::both("turbidity_before_ntu", "NTU before", |it| it.before.map(|before| before.ntu).into()),
    ]
}

/// A share as a percentage to a hundredth.
pub(in crate::cli) fn percent(share: f64) -> f64 {
    rounded(share * 100.0, 2)
}
