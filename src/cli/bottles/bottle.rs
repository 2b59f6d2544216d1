//! Bottles at the desk: where they lie and whether they may go, and a bottle that was tasted.

use std::path::Path;

use serde::Serialize;

use crate::cellar::core::day::Day;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bottles::bottling::bins::Lying;
use crate::cellar::jobs::bottles::bottling::bottle_tasting::BottleTasted;
use crate::cellar::jobs::bottles::bottling::size;
use crate::cellar::jobs::tests::tasting::Impression;
use crate::cli::Counter;
use crate::cli::arguments::BottleStep;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::finish::checklist::enter;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::desk::Access;
use crate::units::Volume;

/// Bottles of one lot code at one place for one release.
#[derive(Debug, Serialize)]
pub struct BottlesView {
    place: Option<Label>,
    state: &'static str,
    release: Option<Day>,
    run: Label,
    lot_code: Option<Label>,
    bottle_ul: Volume,
    bottles: u64,
    since: When,
}

impl BottlesView {
    /// All bottles in the house: what may go first comes first, what is not laid away last.
    #[must_use]
    pub fn all(state: &State, on: Moment) -> Vec<BottlesView> {
        let today = Day::of(on.date());
        let lying = state.by_release(today).into_iter().chain(state.not_laid_away());
        lying.map(|lying| BottlesView::of(state, &lying, today)).collect()
    }

    fn of(state: &State, lying: &Lying, today: Day) -> BottlesView {
        let (run, stock) = (state.runs.get(lying.run), lying.stock.clone());
        BottlesView {
            state: if stock.place.is_none() { "not laid away" } else { stock.readiness(today).words() },
            place: stock.place,
            release: stock.release,
            run: run.label.clone(),
            lot_code: stock.lot_code,
            bottle_ul: run.bottle,
            bottles: stock.there,
            since: When(stock.since),
        }
    }

    /// The columns of a list of bottles.
    pub const COLUMNS: [Column<BottlesView>; 8] = [
        Column::both("place", "place", |it: &BottlesView| it.place.as_ref().into()),
        Column::both("state", "state", |it: &BottlesView| it.state.into()),
        Column::both("release", "release", |it: &BottlesView| {
            it.release.map_or(Cell::Nothing, |day| Cell::Text(day.show()))
        }),
        Column::both("run", "run", |it: &BottlesView| (&it.run).into()),
        Column::both("lot_code", "code", |it: &BottlesView| it.lot_code.as_ref().into()),
        Column::both("bottle_ul", "bottle", |it| Cell::Text(size(it.bottle_ul))),
        Column::both("bottles", "bottles", |it: &BottlesView| it.bottles.into()).summed(),
        Column::both("since", "since", |it| it.since.into()),
    ];
}

impl Counter<'_, '_> {
    /// Enters what was done with a bottle.
    pub(in crate::cli) fn bottle(&mut self, cellar: &Path, step: &BottleStep) -> Outcome {
        let BottleStep::Taste { bottles, taste, from, opened, entering } = step;
        let mut desk = self.desk(cellar, Access::ReadWrite)?;
        let state = desk.state();
        let of = state.bottles_called(bottles).ok_or_else(|| {
            let name = harmless(bottles);
            Complaint::Refused(format!(
                "No lot code and no run is called '{name}'. See all with `barrelwalk list runs`."
            ))
        })?;
        let Impression { score, marks, text } =
            Impression::read(taste, state).map_err(|error| Complaint::Refused(error.to_string()))?;
        let fact = BottleTasted {
            run: state.runs.get(of.run).label.clone(),
            lot_code: of.lot_code,
            from: from.clone(),
            bottles: *opened,
            score,
            marks: (!marks.is_empty()).then_some(marks),
            text,
        };
        let run = fact.run.clone();
        enter(&mut desk, What::BottleTasted(Box::new(fact)), entering, self.now)?;
        let tasted = desk
            .state()
            .runs
            .by_label(run.as_str())
            .and_then(|run| run.tastes.last().map(|it| (it.months(), run.left())));
        let (months, left) = tasted.unwrap_or_default();
        Ok(writeln!(self.out, "tasted after {months} months in bottle; {left} bottles of {run} are left")?)
    }
}
