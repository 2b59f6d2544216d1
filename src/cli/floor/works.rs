//! Works as they are listed and shown: racking, barrel-down, treating, care, blending.

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, Work, WorkId};
use crate::cellar::jobs::bench::assemblage::Assemblage;
use crate::cellar::jobs::floor::work::{Stop, Tick, WorkProgress};
use crate::cli::bench::assemblage;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};
use crate::units::Volume;

/// A work, and how it stands.
pub struct Standing<'a> {
    id: WorkId,
    work: &'a Work,
    progress: WorkProgress,
    /// How the blend stands, if it is one.
    blend: Option<Assemblage>,
}

/// A work as it is told at a moment.
pub type WorkSeen<'a> = Seen<'a, Standing<'a>>;

/// A work as it is told at a moment.
#[must_use]
pub fn told(state: &State, id: WorkId, on: Moment) -> WorkSeen<'_> {
    let work = state.works.get(id);
    Seen { state, on, thing: Standing { id, work, progress: work.progress(), blend: state.assemblage(id, on) } }
}

/// Every open work, in the order in which they were set.
#[must_use]
pub fn open(state: &State, on: Moment) -> Vec<WorkSeen<'_>> {
    state.open_works.iter().map(|&id| told(state, id, on)).collect()
}

/// The columns of a list of works.
#[must_use]
pub fn columns<'a>() -> Vec<Column<WorkSeen<'a>>> {
    vec![
        Column::both("work", "work", |it: &WorkSeen<'_>| (&it.work.label).into()),
        Column::program("task", |it| it.work.task.word().into()),
        Column::people("what", |it| it.work.task.words(it.state).into()),
        Column::both("begun", "begun", |it| it.work.begun.into()),
        Column::both("ended", "ended", |it: &WorkSeen<'_>| it.work.ended.into()).sparse(),
        Column::both("done", "done", |it| if it.is_open() { it.progress.done.into() } else { it.work.done.into() }),
        // How many vessels it has; of a closed one it is not kept.
        Column::both("of", "of", |it| it.is_open().then_some(it.progress.of).into()),
        Column::both("skipped", "skipped", |it| it.progress.skipped.into()),
        Column::both("moved_ul", "moved", |it| it.progress.moved.into()),
        Column::both("to_come_ul", "to come", |it| it.progress.to_come.into()),
        Column::within("blend", |it| assemblage::thing(it, it.id, it.blend.as_ref())),
        Column::people("ratio so far, %", |it: &WorkSeen<'_>| it.blend.as_ref().and_then(assemblage::so_far).into())
            .sparse(),
    ]
}

/// A vessel of a work.
type StopSeen<'a> = Seen<'a, (&'a Stop, Option<Volume>)>;

fn stop_columns<'a>() -> Vec<Column<StopSeen<'a>>> {
    vec![
        Column::both("vessel", "vessel", |it: &StopSeen<'_>| it.vessel(it.0.vessel)),
        Column::both("place", "place", |it: &StopSeen<'_>| it.place(it.0.vessel)).sparse(),
        Column::both("planned_ul", "planned", |it: &StopSeen<'_>| it.0.volume.into()).summed(),
        Column::program("amount_ug", |it| it.0.amount.into()),
        Column::both("state", "", |it| {
            Cell::from(match it.0.tick {
                Some(Tick::Done(_)) => "done",
                Some(Tick::Skipped) => "skipped",
                None => "to do",
            })
        }),
        Column::both("moved_ul", "moved", |it: &StopSeen<'_>| match it.0.tick {
            Some(Tick::Done(volume)) => volume.into(),
            Some(Tick::Skipped) | None => Cell::Nothing,
        })
        .sparse(),
        // What is still asked of it; none where it is done.
        Column::both("still_ul", "still", |it: &StopSeen<'_>| it.1.into()).sparse(),
    ]
}

impl<'a> WorkSeen<'a> {
    fn is_open(&self) -> bool {
        self.work.ended.is_none()
    }

    /// Its vessels; of a closed one that is no blend only those that were not done are kept.
    fn stops(&self) -> Vec<StopSeen<'a>> {
        let asked = |stop: &Stop| {
            let expected = self.state.expected_at(self.id, stop.vessel, self.on);
            expected.filter(|_| self.is_open() && stop.tick.is_none())
        };
        seen(self.state, self.on, self.thing.work.stops.iter().map(|stop| (stop, asked(stop))))
    }

    /// Gives its card out; as a spreadsheet, its vessels.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        let mut card = columns();
        card.push(Column::within("stops", |it: &WorkSeen<'_>| Cell::things(&stop_columns(), it.stops())));
        let stops = self.stops();
        page.report((&card, self), (&stop_columns(), &stops), |page| {
            page.pairs_of(&card, self)?;
            page.section("vessels", &stop_columns(), &stops)?;
            self.blend.as_ref().map_or(Ok(()), |blend| assemblage::tell(blend, self.is_open(), page))
        })
    }
}
