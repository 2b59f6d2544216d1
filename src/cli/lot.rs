//! Lots as they are listed and shown.

use std::collections::BTreeMap;

use serde::Serialize;

use super::cell::{Cell, When};
use super::column::Column;
use super::complaint::Outcome;
use super::composition::{OriginShare, composition, in_one_cell};
use super::page::Page;
use super::vessel::{VesselView, in_walking_order};
use crate::cellar::label::Label;
use crate::cellar::lot::{Colour, Stage};
use crate::cellar::moment::Moment;
use crate::cellar::state::{LotId, State, Vessel, VesselId};
use crate::cellar::vessel::VesselType;
use crate::cellar::wine::Wine;
use crate::reckon::due::Due;
use crate::units::Volume;

/// A lot at a moment, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct LotView {
    lot: Label,
    colour: Colour,
    stage: Option<Stage>,
    stage_since: Option<When>,
    round_days: Option<u32>,
    opened: When,
    volume_ul: Volume,
    barrels: usize,
    vessels: usize,
    due: usize,
    over: usize,
    held: usize,
    rooms: Vec<Label>,
    composition: Vec<OriginShare>,
}

/// A lot with all that is known of it.
#[derive(Debug, Serialize)]
pub struct LotCard {
    #[serde(flatten)]
    lot: LotView,
    barrel_mix: BarrelMix,
    in_vessels: Vec<VesselView>,
}

/// What the barrels of a lot are like, by the litres in them.
#[derive(Debug, Serialize)]
struct BarrelMix {
    volume_ul: Volume,
    new_wood_share: Option<f64>,
    forest: Vec<MixShare>,
    toast: Vec<MixShare>,
    cooper: Vec<MixShare>,
    fill: Vec<MixShare>,
    shape: Vec<MixShare>,
}

/// The part of a lot's barrel wine that lies in barrels of one kind.
#[derive(Debug, Serialize)]
struct MixShare {
    name: Option<String>,
    volume_ul: Volume,
    share: f64,
}

impl LotView {
    fn of(state: &State, id: LotId, vessels: &[VesselId], on: Moment) -> LotView {
        let lot = state.lots.get(id);
        let composition = composition(state, &wine_of(state, vessels));
        let vessels: Vec<&Vessel> = vessels.iter().map(|&id| state.vessels.get(id)).collect();
        let count = |is: &dyn Fn(&Vessel) -> bool| vessels.iter().filter(|vessel| is(vessel)).count();
        LotView {
            lot: lot.label.clone(),
            colour: lot.colour,
            stage: lot.stage.map(|(stage, _)| stage),
            stage_since: lot.stage.map(|(_, since)| When(since)),
            round_days: lot.own_round_days(),
            opened: When(lot.opened),
            volume_ul: vessels.iter().map(|vessel| vessel.volume()).sum(),
            barrels: count(&|vessel| vessel.vessel_type == VesselType::Barrel),
            vessels: vessels.len(),
            due: count(&|vessel| state.due(vessel, on) == Some(Due::Due)),
            over: count(&|vessel| state.due(vessel, on) == Some(Due::Over)),
            held: count(&|vessel| vessel.held.is_some()),
            rooms: rooms_of(state, &vessels),
            composition,
        }
    }

    /// The columns of a list of lots.
    #[must_use]
    pub fn columns() -> Vec<Column<LotView>> {
        vec![
            Column::both("lot", "lot", |it| (&it.lot).into()),
            Column::both("colour", "colour", |it| Cell::word(&it.colour)),
            Column::both("stage", "stage", |it| Cell::word(&it.stage)),
            Column::program("stage_since", |it| it.stage_since.into()),
            Column::both("round_days", "every", |it| it.round_days.into()),
            Column::program("opened", |it| it.opened.into()),
            Column::both("volume_ul", "litres", |it: &LotView| it.volume_ul.into()).summed(),
            Column::both("barrels", "barrels", |it: &LotView| it.barrels.into()).summed(),
            Column::program("vessels", |it| it.vessels.into()),
            Column::both("due", "due", |it: &LotView| it.due.into()).summed(),
            Column::both("over", "over", |it: &LotView| it.over.into()).summed(),
            Column::both("held", "held", |it: &LotView| it.held.into()).summed(),
            Column::both("rooms", "rooms", |it| labels(&it.rooms)),
            Column::program("composition", |it: &LotView| in_one_cell(&it.composition)).nested(),
        ]
    }
}

/// The rooms that some vessels lie in, in the order in which the rooms were laid out.
fn rooms_of(state: &State, vessels: &[&Vessel]) -> Vec<Label> {
    let lies_in = |room| vessels.iter().any(|vessel| vessel.slot.is_some_and(|slot| slot.room == room));
    state.rooms.iter().filter(|(id, _)| lies_in(*id)).map(|(_, room)| room.label.clone()).collect()
}

fn labels(labels: &[Label]) -> Cell {
    match labels {
        [] => Cell::Nothing,
        labels => Cell::Text(labels.iter().map(Label::as_str).collect::<Vec<_>>().join(", ")),
    }
}

/// Every lot of the cellar.
#[must_use]
pub fn all_lots(state: &State, on: Moment) -> Vec<LotView> {
    let mut vessels: BTreeMap<LotId, Vec<VesselId>> = BTreeMap::new();
    for id in in_walking_order(state) {
        if let Some(lot) = state.vessels.get(id).lot {
            vessels.entry(lot).or_default().push(id);
        }
    }
    let held_by = |id| vessels.get(&id).map_or(&[][..], Vec::as_slice);
    state.lots.iter().map(|(id, _)| LotView::of(state, id, held_by(id), on)).collect()
}

/// The vessels that hold a lot, as one walks.
#[must_use]
pub fn vessels_of(state: &State, lot: LotId) -> Vec<VesselId> {
    in_walking_order(state).filter(|&id| state.vessels.get(id).lot == Some(lot)).collect()
}

/// All wine of some vessels together.
#[must_use]
pub fn wine_of(state: &State, vessels: &[VesselId]) -> Wine {
    let mut wine = Wine::default();
    for &id in vessels {
        wine.mix(&state.vessels.get(id).wine);
    }
    wine
}

impl LotCard {
    /// A lot at a moment, with all that is known of it.
    #[must_use]
    pub fn of(state: &State, id: LotId, on: Moment) -> LotCard {
        let vessels = vessels_of(state, id);
        LotCard {
            lot: LotView::of(state, id, &vessels, on),
            barrel_mix: BarrelMix::of(state, &vessels),
            in_vessels: vessels.iter().map(|&id| VesselView::of(state, state.vessels.get(id), on)).collect(),
        }
    }

    /// Gives the card out.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &LotView::columns(), std::slice::from_ref(&self.lot), |page| {
            page.card(&LotView::columns(), &self.lot, |page| {
                page.section("composition", &OriginShare::COLUMNS, &self.lot.composition)?;
                page.section(&self.barrel_mix.title(), &MixLine::COLUMNS, &self.barrel_mix.lines())?;
                page.section("in vessels", &VesselView::columns(), &self.in_vessels)
            })
        })
    }
}

impl BarrelMix {
    fn of(state: &State, vessels: &[VesselId]) -> BarrelMix {
        let barrels: Vec<&Vessel> = vessels
            .iter()
            .map(|&id| state.vessels.get(id))
            .filter(|vessel| vessel.vessel_type == VesselType::Barrel)
            .collect();
        let volume_ul = barrels.iter().map(|barrel| barrel.volume()).sum();
        let by = |name: fn(&Vessel) -> Option<String>| MixShare::by(&barrels, volume_ul, name);
        let new: Volume = barrels.iter().filter(|barrel| barrel.is_first_fill()).map(|barrel| barrel.volume()).sum();
        BarrelMix {
            volume_ul,
            new_wood_share: (!volume_ul.is_zero()).then(|| part_of(new, volume_ul)),
            forest: by(|barrel| barrel.wood.forest.as_ref().map(Label::to_string)),
            toast: by(|barrel| barrel.wood.toast.as_ref().map(Label::to_string)),
            cooper: by(|barrel| barrel.wood.cooper.as_ref().map(Label::to_string)),
            fill: by(|barrel| Some(barrel.fills.to_string())),
            shape: by(|barrel| barrel.wood.shape.as_ref().map(Label::to_string)),
        }
    }

    fn title(&self) -> String {
        let new = Cell::Share(self.new_wood_share.unwrap_or(0.0)).in_table();
        format!("barrels, by the litres in them: {new} in new wood")
    }

    /// The whole mix, a line a kind; what is known of no barrel is left out.
    fn lines(&self) -> Vec<MixLine<'_>> {
        let all = [
            ("forest", &self.forest),
            ("toast", &self.toast),
            ("cooper", &self.cooper),
            ("fill", &self.fill),
            ("shape", &self.shape),
        ];
        all.into_iter()
            .filter(|(_, shares)| shares.iter().any(|share| share.name.is_some()))
            .flat_map(|(by, shares)| shares.iter().enumerate().map(move |(at, share)| (at, by, share)))
            .map(|(at, by, share)| MixLine { by: if at == 0 { by } else { "" }, share })
            .collect()
    }
}

impl MixShare {
    /// The largest first; equal ones by name.
    fn by(barrels: &[&Vessel], whole: Volume, name: fn(&Vessel) -> Option<String>) -> Vec<MixShare> {
        let mut sums: BTreeMap<Option<String>, Volume> = BTreeMap::new();
        for barrel in barrels {
            *sums.entry(name(barrel)).or_default() += barrel.volume();
        }
        let mut shares: Vec<MixShare> = sums
            .into_iter()
            .map(|(name, volume_ul)| MixShare { name, volume_ul, share: part_of(volume_ul, whole) })
            .collect();
        shares.sort_by_key(|share| std::cmp::Reverse(share.volume_ul));
        shares
    }
}

fn part_of(part: Volume, whole: Volume) -> f64 {
    part.as_litres() / whole.as_litres()
}

/// A line of the barrel mix for people.
struct MixLine<'a> {
    by: &'static str,
    share: &'a MixShare,
}

impl MixLine<'_> {
    const COLUMNS: [Column<Self>; 4] = [
        Column::people("by", |line| line.by.into()),
        Column::people("kind", |line| line.share.name.as_deref().unwrap_or("(not known)").into()),
        Column::people("litres", |line| line.share.volume_ul.into()),
        Column::people("share", |line| Cell::Share(line.share.share)),
    ];
}
