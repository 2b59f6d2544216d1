//! Vessels as they are listed and shown.

use serde::Serialize;

use super::composition::{OriginShare, composition, in_one_cell};
use super::happening::Happening;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, Taste, Vessel};
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::floor::vessel::{VesselType, Wood};
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::rounded;
use crate::reckon::due::Due;
use crate::reckon::sulfur::USUAL_BOUND_SHARE;
use crate::units::Volume;

/// A vessel at a moment, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct VesselView {
    vessel: Label,
    #[serde(rename = "type")]
    vessel_type: VesselType,
    place: Option<String>,
    lot: Option<Label>,
    capacity_ul: Volume,
    volume_ul: Volume,
    headspace_ul: Volume,
    headspace_sd_ul: Volume,
    /// What the estimate rests on.
    headspace_basis: Option<&'static str>,
    leak_times: Option<f64>,
    leak_since: Option<When>,
    last_topped: Option<When>,
    days_since_topped: Option<i64>,
    /// Since it was topped, else filled: what `due` goes by.
    days_since_full: Option<i64>,
    interval_days: Option<u32>,
    due: Option<&'static str>,
    due_on: Option<String>,
    held: bool,
    held_why: Option<Text>,
    suspect: bool,
    /// Why its wine is kept away from other wine.
    suspect_why: Option<String>,
    composition: Vec<OriginShare>,
    #[serde(flatten)]
    wood: Wood,
    fills: u32,
    stained: Option<Colour>,
    filled: Option<When>,
    retired: Option<When>,
    last_taste: Option<TasteView>,
}

/// How it last tasted.
#[derive(Debug, Serialize)]
struct TasteView {
    at: When,
    score: Option<f64>,
    marks: Vec<Label>,
    text: Option<Text>,
}

/// A vessel with its last facts.
#[derive(Debug, Serialize)]
pub struct VesselCard {
    #[serde(flatten)]
    vessel: VesselView,
    sulfur: Option<SulfurNowView>,
    history: Vec<Happening>,
}

/// The sulfur dioxide of a vessel: what was tested, what was given since, and what that comes to.
#[derive(Debug, Serialize)]
struct SulfurNowView {
    tested_free_mg_l: f64,
    tested: When,
    tested_of: &'static str,
    given_since_mg_l: f64,
    free_so2_mg_l: Option<f64>,
    tested_total_mg_l: Option<f64>,
    total_given_since_mg_l: f64,
    total_so2_mg_l: Option<f64>,
    words: String,
}

impl SulfurNowView {
    /// None of a vessel whose wine was never tested, nor another of its lot.
    fn of(state: &State, vessel: &Vessel, on: Moment) -> Option<SulfurNowView> {
        let known = state.sulfur_known(state.vessels.find(vessel.label.as_str())?, USUAL_BOUND_SHARE, on);
        let free = known.free?;
        Some(SulfurNowView {
            tested_free_mg_l: rounded(free.value, 1),
            tested: When(free.drawn),
            tested_of: free.of.word(),
            given_since_mg_l: rounded(known.given_since_free, 1),
            free_so2_mg_l: known.free_now.map(|now| rounded(now.free_mg_l, 1)),
            tested_total_mg_l: known.total.map(|total| rounded(total.value, 1)),
            total_given_since_mg_l: rounded(known.given_since_total, 1),
            total_so2_mg_l: known.total_now.map(|total| rounded(total, 1)),
            words: known.words()?,
        })
    }
}

impl VesselView {
    /// A vessel at a moment.
    #[must_use]
    pub fn of(state: &State, vessel: &Vessel, on: Moment) -> VesselView {
        let headspace = state.headspace(vessel, on);
        let due = state.due(vessel, on);
        let leak = state.leak(vessel);
        let suspect_why = state.suspect_words(vessel);
        VesselView {
            vessel: vessel.label.clone(),
            vessel_type: vessel.vessel_type,
            place: state.place_of(vessel).map(|place| place.to_string()),
            lot: vessel.lot.map(|lot| state.lots.get(lot).label.clone()),
            capacity_ul: vessel.capacity,
            volume_ul: vessel.volume(),
            headspace_ul: headspace.missing,
            headspace_sd_ul: headspace.deviation,
            headspace_basis: due.map(|_| headspace.basis.words()),
            leak_times: leak.map(|leak| (leak.times * 100.0).round() / 100.0),
            leak_since: leak.map(|leak| When(leak.since)),
            last_topped: vessel.last_topped.map(When),
            days_since_topped: vessel.last_topped.map(|topped| on.days_since(topped)),
            days_since_full: state.days_since_full(vessel, on),
            interval_days: due.map(|_| state.interval_days(vessel)),
            due: due.map(Due::word),
            due_on: state.due_on(vessel).map(|date| date.to_string()),
            held: vessel.held.is_some(),
            held_why: vessel.held.as_ref().map(|hold| hold.why.clone()),
            suspect: suspect_why.is_some(),
            suspect_why,
            composition: composition(state, &vessel.wine),
            wood: (*vessel.wood).clone(),
            fills: vessel.fills,
            stained: vessel.stained,
            filled: vessel.filled.map(When),
            retired: vessel.retired.map(When),
            last_taste: vessel.taste.as_deref().map(TasteView::of),
        }
    }

    /// The columns of a list of vessels.
    #[must_use]
    pub fn columns() -> Vec<Column<VesselView>> {
        vec![
            Column::both("vessel", "vessel", |it| (&it.vessel).into()),
            Column::program("type", |it| Cell::word(&it.vessel_type)),
            Column::both("place", "place", |it| it.place.as_ref().into()),
            Column::both("lot", "lot", |it| it.lot.as_ref().into()),
            Column::program("capacity_ul", |it| it.capacity_ul.into()),
            Column::both("volume_ul", "litres", |it: &VesselView| it.volume_ul.into()).summed(),
            Column::people("lacks", VesselView::lacks),
            Column::program("headspace_ul", |it| it.headspace_ul.into()),
            Column::program("headspace_sd_ul", |it| it.headspace_sd_ul.into()),
            Column::program("headspace_basis", |it| it.headspace_basis.into()),
            Column::program("leak_times", |it| it.leak_times.into()),
            Column::program("leak_since", |it| it.leak_since.into()),
            Column::people("drinks", VesselView::drinks).sparse(),
            Column::program("last_topped", |it| it.last_topped.into()),
            Column::program("days_since_topped", |it| it.days_since_topped.into()),
            Column::program("days_since_full", |it| it.days_since_full.into()),
            Column::people("days", |it| it.due.and(it.days_since_full).into()),
            Column::program("interval_days", |it| it.interval_days.into()),
            Column::both("due", "due", |it| it.due.map(|word| Cell::Word(word.to_owned())).into()),
            Column::program("due_on", |it| it.due_on.as_ref().into()),
            Column::both("held", "held", |it| it.held.into()),
            Column::program("held_why", |it| it.held_why.as_ref().into()),
            Column::program("suspect", |it| it.suspect.into()),
            Column::both("suspect_why", "suspect", |it: &VesselView| it.suspect_why.as_ref().into()).sparse(),
            Column::program("composition", |it: &VesselView| in_one_cell(&it.composition)).nested(),
            Column::program("shape", |it| it.wood.shape.as_ref().into()),
            Column::program("bilge_mm", |it| it.wood.bilge_mm.into()),
            Column::program("head_mm", |it| it.wood.head_mm.into()),
            Column::program("length_mm", |it| it.wood.length_mm.into()),
            Column::program("cooper", |it| it.wood.cooper.as_ref().into()),
            Column::program("forest", |it| it.wood.forest.as_ref().into()),
            Column::program("grain", |it| it.wood.grain.as_ref().into()),
            Column::program("seasoning_months", |it| it.wood.seasoning_months.into()),
            Column::program("toast", |it| it.wood.toast.as_ref().into()),
            Column::program("heads_toasted", |it| it.wood.heads_toasted.into()),
            Column::program("made", |it| it.wood.made.map(u32::from).into()),
            Column::program("price", |it| it.wood.price.into()),
            Column::program("fills", |it| it.fills.into()),
            Column::program("stained", |it| Cell::word(&it.stained)),
            Column::program("filled", |it| it.filled.into()),
            Column::program("retired", |it| it.retired.into()),
            Column::program("last_taste", |it| it.last_taste.as_ref().map(TasteView::in_one_cell).into()),
        ]
    }

    /// The columns of a list of what is due, where people also want to know how far its day has passed.
    #[must_use]
    pub fn due_columns() -> Vec<Column<VesselView>> {
        let mut columns = Self::columns();
        for column in &mut columns {
            match column.name {
                Some("interval_days") => column.heading = Some("of"),
                Some("volume_ul") => column.heading = None,
                _ => {}
            }
        }
        columns
    }

    /// How many times what it should it drinks, where that is too much.
    fn drinks(&self) -> Cell {
        self.leak_times.map(|times| Cell::Text(format!("{times:.1} times"))).into()
    }

    /// What it lacks; an empty vessel lacks nothing that a person would pour.
    fn lacks(&self) -> Cell {
        if self.volume_ul.is_zero() { Cell::Nothing } else { Cell::Estimate(self.headspace_ul, self.headspace_sd_ul) }
    }
}

impl TasteView {
    fn of(taste: &Taste) -> TasteView {
        TasteView { at: When(taste.at), score: taste.score, marks: taste.marks.clone(), text: taste.text.clone() }
    }

    fn in_one_cell(&self) -> Cell {
        let mut parts = vec![self.at.0.show_date()];
        parts.extend(self.score.map(|score| score.to_string()));
        parts.extend(self.marks.iter().map(Label::to_string));
        parts.extend(self.text.as_ref().map(|text| format!("\"{text}\"")));
        Cell::Text(parts.join(", "))
    }
}

impl VesselCard {
    /// A vessel at a moment, with its last facts.
    #[must_use]
    pub fn of(state: &State, vessel: &Vessel, on: Moment) -> VesselCard {
        VesselCard {
            vessel: VesselView::of(state, vessel, on),
            sulfur: SulfurNowView::of(state, vessel, on),
            history: vessel.history.lines().map(Happening::of).collect(),
        }
    }

    /// Gives the card out.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &VesselView::columns(), std::slice::from_ref(&self.vessel), |page| {
            page.card(&VesselView::columns(), &self.vessel, |page| {
                if let Some(sulfur) = &self.sulfur {
                    page.line(&format!("Free SO2 {}.", sulfur.words))?;
                }
                page.section("composition", &OriginShare::COLUMNS, &self.vessel.composition)?;
                page.section("last facts", &Happening::columns(), &self.history)
            })
        })
    }
}

/// The vessels of the cellar, retired ones only where all are wanted.
#[must_use]
pub fn all_vessels(state: &State, on: Moment, retired_too: bool) -> Vec<VesselView> {
    state
        .in_walking_order()
        .map(|id| state.vessels.get(id))
        .filter(|vessel| retired_too || vessel.retired.is_none())
        .map(|vessel| VesselView::of(state, vessel, on))
        .collect()
}

/// The vessels that are to be topped.
#[must_use]
pub fn due_vessels(state: &State, on: Moment) -> Vec<VesselView> {
    state
        .in_walking_order()
        .map(|id| state.vessels.get(id))
        .filter(|vessel| state.due(vessel, on).is_some_and(|due| due != Due::Fine))
        .map(|vessel| VesselView::of(state, vessel, on))
        .collect()
}
