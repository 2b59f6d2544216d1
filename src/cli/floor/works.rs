//! Works as they are listed and shown: racking, barrel-down, treating, care, blending.

use serde::Serialize;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, WorkId};
use crate::cellar::jobs::floor::work::{Stop, Tick};
use crate::cli::bench::assemblage::AssemblageView;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::topping::plan::place;
use crate::units::{Mass, Volume};

/// A work, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct WorkView {
    work: Label,
    task: &'static str,
    #[serde(skip)]
    words: String,
    begun: When,
    ended: Option<When>,
    done: usize,
    /// How many vessels it has; of a closed one it is not kept.
    of: Option<usize>,
    skipped: usize,
    moved_ul: Volume,
    to_come_ul: Volume,
    /// How the blend stands, if it is one.
    blend: Option<AssemblageView>,
}

/// A work with its vessels.
#[derive(Debug, Serialize)]
pub struct WorkCard {
    #[serde(flatten)]
    work: WorkView,
    stops: Vec<StopView>,
}

/// A vessel of a work.
#[derive(Debug, Serialize)]
struct StopView {
    vessel: Label,
    place: Option<String>,
    planned_ul: Volume,
    amount_ug: Mass,
    state: &'static str,
    moved_ul: Option<Volume>,
    /// What is still asked of it; none where it is done.
    still_ul: Option<Volume>,
}

impl WorkView {
    fn of(state: &State, id: WorkId, on: Moment) -> WorkView {
        let work = state.works.get(id);
        let progress = work.progress();
        let is_open = work.ended.is_none();
        WorkView {
            work: work.label.clone(),
            task: work.task.word(),
            words: work.task.words(state),
            begun: When(work.begun),
            ended: work.ended.map(When),
            done: if is_open { progress.done } else { work.done as usize },
            of: is_open.then_some(progress.of),
            skipped: progress.skipped,
            moved_ul: progress.moved,
            to_come_ul: progress.to_come,
            blend: AssemblageView::of(state, id, on),
        }
    }

    /// Every open work, in the order in which they were set.
    #[must_use]
    pub fn open(state: &State, on: Moment) -> Vec<WorkView> {
        state.open_works.iter().map(|&id| WorkView::of(state, id, on)).collect()
    }

    /// The columns of a list of works.
    #[must_use]
    pub fn columns() -> Vec<Column<WorkView>> {
        vec![
            Column::both("work", "work", |it: &WorkView| (&it.work).into()),
            Column::program("task", |it| it.task.into()),
            Column::people("what", |it| (&it.words).into()),
            Column::both("begun", "begun", |it| it.begun.into()),
            Column::both("ended", "ended", |it: &WorkView| it.ended.into()).sparse(),
            Column::both("done", "done", |it| it.done.into()),
            Column::both("of", "of", |it| it.of.into()),
            Column::both("skipped", "skipped", |it| it.skipped.into()),
            Column::both("moved_ul", "moved", |it| it.moved_ul.into()),
            Column::both("to_come_ul", "to come", |it| it.to_come_ul.into()),
            Column::people("ratio so far, %", |it: &WorkView| {
                it.blend.as_ref().and_then(AssemblageView::so_far).as_ref().into()
            })
            .sparse(),
        ]
    }
}

impl WorkCard {
    /// A work, open or closed. Of a closed one that is no blend only the vessels that were not done are kept.
    #[must_use]
    pub fn of(state: &State, id: WorkId, on: Moment) -> WorkCard {
        let work = state.works.get(id);
        let stop = |stop: &Stop| StopView {
            vessel: state.vessels.get(stop.vessel).label.clone(),
            place: place(state, stop.vessel),
            planned_ul: stop.volume,
            amount_ug: stop.amount,
            state: match stop.tick {
                Some(Tick::Done(_)) => "done",
                Some(Tick::Skipped) => "skipped",
                None => "to do",
            },
            moved_ul: match stop.tick {
                Some(Tick::Done(volume)) => Some(volume),
                Some(Tick::Skipped) | None => None,
            },
            still_ul: state.expected_at(id, stop.vessel, on).filter(|_| work.ended.is_none() && stop.tick.is_none()),
        };
        WorkCard { work: WorkView::of(state, id, on), stops: work.stops.iter().map(stop).collect() }
    }

    /// Gives the card out; as a spreadsheet, its vessels.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &StopView::columns(), &self.stops, |page| {
            page.card(&WorkView::columns(), &self.work, |page| {
                page.section("vessels", &StopView::columns(), &self.stops)?;
                self.work.blend.as_ref().map_or(Ok(()), |blend| blend.tell(page))
            })
        })
    }
}

impl StopView {
    fn columns() -> Vec<Column<StopView>> {
        vec![
            Column::both("vessel", "vessel", |it: &StopView| (&it.vessel).into()),
            Column::both("place", "place", |it: &StopView| it.place.as_ref().into()).sparse(),
            Column::both("planned_ul", "planned", |it: &StopView| it.planned_ul.into()).summed(),
            Column::program("amount_ug", |it| it.amount_ug.into()),
            Column::both("state", "", |it| Cell::Word(it.state.to_owned())),
            Column::both("moved_ul", "moved", |it: &StopView| it.moved_ul.into()).sparse(),
            Column::both("still_ul", "still", |it: &StopView| it.still_ul.into()).sparse(),
        ]
    }
}
