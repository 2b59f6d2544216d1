//! A blend under way or done, as it is shown: its ratio so far against the one chosen, and what is still to come.

use serde::Serialize;

use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, WorkId};
use crate::cellar::jobs::bench::assemblage::{Assemblage, Component};
use crate::cellar::jobs::floor::work::Task;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::below;
use crate::units::{Volume, VolumeUnit, show_percent_rounded};

/// How a blend stands, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct AssemblageView {
    into: Label,
    lot: Label,
    planned_ul: Volume,
    arrived_ul: Volume,
    tolerance_ppm: u32,
    /// Whether every share is within the tolerance.
    holds: bool,
    /// What it would come to; none once its work is closed.
    comes_to_ul: Option<Volume>,
    /// The largest difference of a share then.
    off_ppm: Option<u32>,
    wines: Vec<WineView>,
    /// The closing check, share by share.
    says: Vec<String>,
}

/// A wine of it.
#[derive(Debug, Serialize)]
struct WineView {
    wine: String,
    share_ppm: u32,
    running_ppm: Option<u32>,
    arrived_ul: Volume,
    still_ul: Option<Volume>,
}

impl AssemblageView {
    /// The blend of a work at a moment; none where the work is no blend.
    #[must_use]
    pub fn of(state: &State, id: WorkId, on: Moment) -> Option<AssemblageView> {
        let work = state.works.get(id);
        let stands = state.assemblage(id, on)?;
        let Task::Blending { into, lot, .. } = work.task else { return None };
        let is_open = work.ended.is_none();
        let Assemblage { wines, closing, correction, .. } = &stands;
        Some(AssemblageView {
            into: state.vessels.get(into).label.clone(),
            lot: state.lots.get(lot).label.clone(),
            planned_ul: stands.planned,
            arrived_ul: stands.arrived,
            tolerance_ppm: stands.tolerance.millionths(),
            holds: stands.holds(),
            comes_to_ul: is_open.then_some(correction.volume),
            off_ppm: is_open.then_some(correction.off),
            wines: wines.iter().map(|wine| WineView::of(wine, is_open)).collect(),
            says: closing.as_ref().map_or_else(Vec::new, |closing| closing.words(&stands.names())),
        })
    }

    /// The shares so far before those chosen, like `T1 49.6/50, T6 50.4/50`; none while nothing has come in.
    #[must_use]
    pub fn so_far(&self) -> Option<String> {
        let part = |wine: &WineView| {
            let tenth = |millionths| show_percent_rounded(millionths, 1);
            Some(format!("{} {}/{}", wine.wine, tenth(wine.running_ppm?), tenth(wine.share_ppm)))
        };
        self.wines.iter().map(part).collect::<Option<Vec<_>>>().map(|parts| parts.join(", "))
    }

    /// Whether every share is within the tolerance.
    #[must_use]
    pub const fn holds(&self) -> bool {
        self.holds
    }

    /// Tells people of it.
    pub fn tell(&self, page: &mut Page<'_>) -> Outcome {
        page.section("the wines of the blend", &WineView::columns(), &self.wines)?;
        self.says.iter().try_for_each(|words| below(page, &harmless(words)))?;
        let litres = |volume: Volume| volume.show(VolumeUnit::Litre, 1);
        match self.comes_to_ul {
            Some(comes) if comes > self.arrived_ul => below(
                page,
                &format!("With what is still to come it is {} of {} planned.", litres(comes), litres(self.planned_ul)),
            ),
            _ => Ok(()),
        }
    }
}

impl WineView {
    fn of(wine: &Component, is_open: bool) -> WineView {
        WineView {
            wine: wine.name.clone(),
            share_ppm: wine.share,
            running_ppm: wine.running,
            arrived_ul: wine.arrived,
            still_ul: is_open.then_some(wine.still),
        }
    }

    fn columns() -> Vec<Column<WineView>> {
        vec![
            Column::people("wine", |it: &WineView| (&it.wine).into()),
            Column::people("chosen", |it| part(it.share_ppm)),
            Column::people("so far", |it| it.running_ppm.map_or(Cell::Nothing, part)),
            Column::people("in", |it: &WineView| it.arrived_ul.into()).summed(),
            Column::people("still to come", |it: &WineView| it.still_ul.into()).sparse(),
        ]
    }
}

fn part(millionths: u32) -> Cell {
    Cell::Share(f64::from(millionths) / 1_000_000.0)
}
