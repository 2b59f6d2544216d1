//! `plan sample`: what to draw of each vessel of a lot for one composite.

use std::path::Path;

use crate::cellar::core::label::harmless;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::views::tests::drawing::SamplePlan;
use crate::cli::arguments::{Reading, SamplePlanArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::reading;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::below;
use crate::cli::table::seen::{Seen, seen};
use crate::told::hazard::Caution;
use crate::units::Volume;

/// What is drawn of a vessel.
type DrawSeen<'a> = Seen<'a, (VesselId, Volume)>;

/// Plans what the command line asks for.
pub(in crate::cli) fn plan(state: &State, lot: &str, of: Volume) -> Outcome<SamplePlan> {
    let none = || format!("Nothing of lot {} lies in a vessel that is not held.", harmless(lot));
    state.plan_sample(reading::lot(state, lot)?, of).ok_or_else(|| Complaint::Refused(none()))
}

impl Counter<'_, '_> {
    /// Plans a sample of a lot; where it is drawn, it is entered.
    pub(in crate::cli) fn plan_sample(&mut self, cellar: &Path, asked: &SamplePlanArguments, on: Reading) -> Outcome {
        let mut planned = None;
        if let Some(sample) = &asked.drawn {
            self.enter(cellar, &asked.entering, |state| {
                let plan = plan(state, &asked.lot, asked.of)?;
                let drawn = plan.drawn(state, sample);
                planned = Some(plan);
                Ok(drawn)
            })?;
        }
        self.look(cellar, on, |state, on, page| {
            let plan = planned.map_or_else(|| plan(state, &asked.lot, asked.of), Ok)?;
            let draws: Vec<DrawSeen<'_>> = seen(state, on, plan.draws.iter().copied());
            if page.is_for_people() && asked.drawn.is_none() {
                page.caution(&Caution::of_kind("sampled"))?;
            }
            page.list(&columns(), &draws, "Nothing is to be drawn.")?;
            if !page.is_for_people() {
                return Ok(());
            }
            if let Some(held) = plan.held_words(state) {
                below(page, &harmless(&held))?;
            }
            let entered = match &asked.drawn {
                Some(sample) => format!("Entered as the sample {}.", harmless(sample.as_str())),
                None => "Drawn as planned, it is entered with --drawn and what stands on its bottle.".to_owned(),
            };
            below(page, &format!("{} {entered}", plan.words()))
        })
    }
}

fn columns<'a>() -> Vec<Column<DrawSeen<'a>>> {
    vec![
        Column::both("vessel", "vessel", |it: &DrawSeen<'_>| it.vessel(it.0)),
        Column::both("place", "place", |it: &DrawSeen<'_>| it.place(it.0)),
        Column::both("volume_ul", "holds", |it: &DrawSeen<'_>| it.state.vessels.get(it.0).volume().into()),
        Column::both("draw_ul", "draw mL", |it: &DrawSeen<'_>| Cell::Measured(it.1)),
    ]
}
