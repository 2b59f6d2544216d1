//! A blend under way or done, as it is shown: its ratio so far against the one chosen, and what is still to come.

use crate::cellar::core::label::harmless;
use crate::cellar::core::state::{Work, WorkId};
use crate::cellar::jobs::bench::assemblage::{Assemblage, Component};
use crate::cellar::jobs::floor::work::Task;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::cli::table::seen::Seen;
use crate::units::{litres, show_percent_rounded};

/// How a blend stands, and the work that makes it.
type BlendSeen<'a> = Seen<'a, (&'a Work, &'a Assemblage)>;

/// How the blend of a work stands, for JSON; nothing where the work is no blend.
pub fn thing<T>(of: &Seen<'_, T>, id: WorkId, blend: Option<&Assemblage>) -> Cell {
    let work = of.state.works.get(id);
    blend.map_or(Cell::Nothing, |blend| Cell::thing(&columns(), &of.other((work, blend))))
}

fn columns<'a>() -> Vec<Column<BlendSeen<'a>>> {
    vec![
        Column::program("into", |it: &BlendSeen<'_>| match it.0.task {
            Task::Blending { into, .. } => it.vessel(into),
            _ => Cell::Nothing,
        }),
        Column::program("lot", |it| match it.0.task {
            Task::Blending { lot, .. } => it.lot(lot),
            _ => Cell::Nothing,
        }),
        Column::program("planned_ul", |it| it.1.planned.into()),
        Column::program("arrived_ul", |it| it.1.arrived.into()),
        Column::program("tolerance_ppm", |it| it.1.tolerance.millionths().into()),
        // Whether every share is within the tolerance.
        Column::program("holds", |it| it.1.holds().into()),
        // What it would come to, and the largest difference of a share then; none once its work is closed.
        Column::program("comes_to_ul", |it| it.0.ended.is_none().then_some(it.1.correction.volume).into()),
        Column::program("off_ppm", |it| it.0.ended.is_none().then_some(it.1.correction.off).into()),
        Column::within("wines", |it| Cell::things(&wine_columns(), wines(it.1, it.0.ended.is_none()))),
        // The closing check, share by share.
        Column::within("says", |it| Cell::list(says(it.1))),
    ]
}

/// A wine of a blend, and whether that is still under way.
type Wine<'a> = (&'a Component, bool);

fn wines(blend: &Assemblage, is_open: bool) -> Vec<Wine<'_>> {
    blend.wines.iter().map(|wine| (wine, is_open)).collect()
}

fn says(blend: &Assemblage) -> Vec<String> {
    blend.closing.as_ref().map_or_else(Vec::new, |closing| closing.words(&blend.names()))
}

fn wine_columns<'a>() -> Vec<Column<Wine<'a>>> {
    vec![
        Column::both("wine", "wine", |it: &Wine<'_>| (&it.0.name).into()),
        Column::program("share_ppm", |it| it.0.share.into()),
        Column::people("chosen", |it| part(it.0.share)),
        Column::program("running_ppm", |it| it.0.running.into()),
        Column::people("so far", |it| it.0.running.map_or(Cell::Nothing, part)),
        Column::both("arrived_ul", "in", |it: &Wine<'_>| it.0.arrived.into()).summed(),
        Column::both("still_ul", "still to come", |it: &Wine<'_>| it.1.then_some(it.0.still).into()).sparse(),
    ]
}

fn part(millionths: u32) -> Cell {
    Cell::Share(f64::from(millionths) / 1_000_000.0)
}

/// The shares so far before those chosen, like `T1 49.6/50, T6 50.4/50`; none while nothing has come in.
#[must_use]
pub fn so_far(blend: &Assemblage) -> Option<String> {
    let part = |wine: &Component| {
        let tenth = |millionths| show_percent_rounded(millionths, 1);
        Some(format!("{} {}/{}", wine.name, tenth(wine.running?), tenth(wine.share)))
    };
    blend.wines.iter().map(part).collect::<Option<Vec<_>>>().map(|parts| parts.join(", "))
}

/// Tells people of it.
pub fn tell(blend: &Assemblage, is_open: bool, page: &mut Page<'_>) -> Outcome {
    page.section("the wines of the blend", &wine_columns(), &wines(blend, is_open))?;
    says(blend).iter().try_for_each(|words| below(page, &harmless(words)))?;
    let comes = blend.correction.volume;
    if !is_open || comes <= blend.arrived {
        return Ok(());
    }
    below(page, &format!("With what is still to come it is {} of {} planned.", litres(comes), litres(blend.planned)))
}
