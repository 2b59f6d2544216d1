//! Bottles at the desk: where they lie and whether they may go, and a bottle that was tasted.

use std::path::Path;

use crate::cellar::core::day::Day;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bottles::bottling::bins::Lying;
use crate::cellar::jobs::bottles::bottling::bottle_tasting::{BottleTaste, BottleTasted};
use crate::cellar::jobs::bottles::bottling::run::Run;
use crate::cellar::jobs::bottles::bottling::size;
use crate::cellar::jobs::tests::tasting::Impression;
use crate::cli::arguments::BottleStep;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::{Counter, Decided, own_state};
use crate::cli::table::column::Column;
use crate::cli::table::seen::{Seen, seen};
use crate::units::{by_count, counted};

/// Bottles of one lot code at one place for one release, as they are told.
pub type BottlesSeen<'a> = Seen<'a, Lying>;

impl BottlesSeen<'_> {
    fn run(&self) -> &Run {
        self.state.runs.get(self.thing.run)
    }

    fn state_in_words(&self) -> &'static str {
        let readiness = self.stock.readiness(Day::of(self.on.date()));
        if self.stock.place.is_none() { "not laid away" } else { readiness.words() }
    }
}

/// All bottles in the house: what may go first comes first, what is not laid away last.
#[must_use]
pub fn all(state: &State, on: Moment) -> Vec<BottlesSeen<'_>> {
    seen(state, on, state.by_release(Day::of(on.date())).into_iter().chain(state.not_laid_away()))
}

/// The columns of a list of bottles.
#[must_use]
pub fn columns<'a>() -> Vec<Column<BottlesSeen<'a>>> {
    vec![
        Column::both("place", "place", |it| it.stock.place.as_ref().into()),
        Column::both("state", "state", |it| it.state_in_words().into()),
        Column::both("release", "release", |it| it.stock.release.into()),
        Column::both("run", "run", |it| (&it.run().label).into()),
        Column::both("lot_code", "code", |it| it.stock.lot_code.as_ref().into()),
        Column::people("bottle", |it| size(it.run().bottle).into()),
        Column::program("bottle_ul", |it| it.run().bottle.into()),
        Column::both("bottles", "bottles", |it: &BottlesSeen<'_>| it.stock.there.into()).summed(),
        Column::both("since", "since", |it| it.stock.since.into()),
    ]
}

impl Counter<'_, '_> {
    /// Enters what was done with a bottle.
    pub(in crate::cli) fn bottle(&mut self, cellar: &Path, step: &BottleStep) -> Outcome {
        let BottleStep::Taste { bottles, taste, from, opened, entering } = step;
        let decide = |_: &mut Self, state: &State| {
            let of = state.bottles_called(bottles).ok_or_else(|| {
                let name = harmless(bottles);
                Complaint::Refused(format!(
                    "No lot code and no run is called '{name}'. See all with `barrelwalk list runs`."
                ))
            })?;
            let Impression { score, marks, text } =
                Impression::read(taste, state).map_err(|error| Complaint::Refused(error.to_string()))?;
            let tasted = BottleTasted {
                run: state.runs.get(of.run).label.clone(),
                lot_code: of.lot_code,
                from: from.clone(),
                bottles: *opened,
                score,
                marks: (!marks.is_empty()).then_some(marks),
                text,
            };
            let run = tasted.run.clone();
            Ok(Decided::of(vec![What::BottleTasted(Box::new(tasted))], run))
        };
        self.act(cellar, (entering, true), own_state, decide, |counter, _, run, desk| {
            let Some(run) = desk.state().runs.by_label(run.as_str()) else { return Ok(()) };
            let (months, left) = (run.tastes.last().map_or(0, BottleTaste::months), run.left());
            let (months, are) = (counted(months, "month"), by_count(left, "is", "are"));
            let left = counted(left, "bottle");
            Ok(writeln!(counter.out, "tasted after {months} in bottle; {left} of {} {are} left", run.label)?)
        })
    }
}
