//! Vessels as they are listed and shown.

use super::composition::part_columns;
use super::happening::Happening;
use crate::cellar::core::day::Day;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, Taste, Vessel, VesselId};
use crate::cellar::jobs::tests::sulfuring::known::SulfurKnown;
use crate::cellar::views::topping::headspace::Leak;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::Seen;
use crate::reckon::due::Due;
use crate::reckon::headspace::Estimate;
use crate::reckon::sulfur::USUAL_BOUND_SHARE;
use crate::units::{figure, figure_to};

/// A vessel, and what several columns tell of it.
pub struct Judged<'a> {
    id: VesselId,
    /// The vessel itself.
    pub vessel: &'a Vessel,
    headspace: Estimate,
    due: Option<Due>,
    leak: Option<Leak>,
    /// Why its wine is kept away from other wine.
    suspect_why: Option<String>,
}

/// A vessel as it is told at a moment.
pub type VesselSeen<'a> = Seen<'a, Judged<'a>>;

/// A vessel as it is told at a moment.
#[must_use]
pub fn told(state: &State, id: VesselId, on: Moment) -> VesselSeen<'_> {
    let vessel = state.vessels.get(id);
    let thing = Judged {
        id,
        vessel,
        headspace: state.headspace(vessel, on),
        due: state.due(vessel, on),
        leak: state.leak(vessel),
        suspect_why: state.suspect_words(vessel),
    };
    Seen { state, on, thing }
}

/// The vessels of the cellar, retired ones only where all are wanted.
#[must_use]
pub fn all(state: &State, on: Moment, retired_too: bool) -> Vec<VesselSeen<'_>> {
    let is_wanted = |id: &VesselId| retired_too || state.vessels.get(*id).retired.is_none();
    state.in_walking_order().filter(is_wanted).map(|id| told(state, id, on)).collect()
}

/// The vessels that are to be topped.
#[must_use]
pub fn due(state: &State, on: Moment) -> Vec<VesselSeen<'_>> {
    let is_due = |id: &VesselId| state.due(state.vessels.get(*id), on).is_some_and(|due| due != Due::Fine);
    state.in_walking_order().filter(is_due).map(|id| told(state, id, on)).collect()
}

/// The columns of a list of vessels.
#[must_use]
pub fn columns<'a>() -> Vec<Column<VesselSeen<'a>>> {
    let mut columns = columns_of_now();
    columns.extend(columns_of_wood());
    columns
}

fn columns_of_now<'a>() -> Vec<Column<VesselSeen<'a>>> {
    vec![
        Column::both("vessel", "vessel", |it| (&it.vessel.label).into()),
        Column::program("type", |it| Cell::word(&it.vessel.vessel_type)),
        Column::both("place", "place", |it| it.place(it.id)),
        Column::both("lot", "lot", |it| it.lot(it.vessel.lot)),
        Column::program("capacity_ul", |it| it.vessel.capacity.into()),
        Column::both("volume_ul", "litres", |it: &VesselSeen<'_>| it.vessel.volume().into()).summed(),
        Column::people("lacks", Seen::lacks),
        Column::program("headspace_ul", |it| it.headspace.missing.into()),
        Column::program("headspace_sd_ul", |it| it.headspace.deviation.into()),
        // What the estimate rests on.
        Column::program("headspace_basis", |it| it.due.map(|_| it.headspace.basis.words()).into()),
        Column::program("leak_times", |it| it.leak.map(|leak| rounded(leak.times, 2)).into()),
        Column::program("leak_since", |it| it.leak.map(|leak| leak.since).into()),
        Column::people("drinks", Seen::drinks).sparse(),
        Column::program("last_topped", |it| it.vessel.last_topped.into()),
        Column::program("days_since_topped", |it| it.days_since(it.vessel.last_topped)),
        // Since it was topped, else filled: what `due` goes by.
        Column::program("days_since_full", |it| it.days_since_full().into()),
        Column::people("days", Seen::days),
        Column::program("interval_days", |it| it.due.map(|_| it.state.interval_days(it.vessel)).into()),
        Column::both("due", "due", |it| it.due.map(Due::word).into()),
        Column::program("due_on", |it| it.state.due_on(it.vessel).map(Day::of).into()),
        Column::both("held", "held", |it| it.vessel.held.is_some().into()),
        Column::program("held_why", |it| it.vessel.held.as_ref().map(|hold| &hold.why).into()),
        Column::program("suspect", |it| it.suspect_why.is_some().into()),
        Column::both("suspect_why", "suspect", |it: &VesselSeen<'_>| it.suspect_why.as_ref().into()).sparse(),
        Column::program("composition", |it: &VesselSeen<'_>| it.wine_in_one_cell(&it.vessel.wine))
            .nested()
            .whole(|it| it.wine(&it.vessel.wine)),
    ]
}

fn columns_of_wood<'a>() -> Vec<Column<VesselSeen<'a>>> {
    vec![
        Column::program("shape", |it| it.vessel.wood.shape.as_ref().into()),
        Column::program("bilge_mm", |it| it.vessel.wood.bilge_mm.into()),
        Column::program("head_mm", |it| it.vessel.wood.head_mm.into()),
        Column::program("length_mm", |it| it.vessel.wood.length_mm.into()),
        Column::program("cooper", |it| it.vessel.wood.cooper.as_ref().into()),
        Column::program("forest", |it| it.vessel.wood.forest.as_ref().into()),
        Column::program("grain", |it| it.vessel.wood.grain.as_ref().into()),
        Column::program("seasoning_months", |it| it.vessel.wood.seasoning_months.into()),
        Column::program("toast", |it| it.vessel.wood.toast.as_ref().into()),
        Column::program("heads_toasted", |it| it.vessel.wood.heads_toasted.into()),
        Column::program("made", |it| it.vessel.wood.made.map(u32::from).into()),
        Column::program("price", |it| it.vessel.wood.price.into()),
        Column::program("fills", |it| it.vessel.fills.into()),
        Column::program("stained", |it| Cell::word(&it.vessel.stained)),
        Column::program("filled", |it| it.vessel.filled.into()),
        Column::program("stirred", |it| it.vessel.stirred.into()),
        Column::program("stirring_due", |it| it.state.stirring(it.id).map(|kept| kept.due).into()),
        Column::program("gas", |it| it.vessel.blanket.as_ref().map(|blanket| &blanket.gas).into()),
        Column::program("blanketed", |it| it.vessel.blanket.as_ref().map(|blanket| blanket.at).into()),
        Column::program("blanket_due", |it| it.state.blanket(it.id).map(|kept| kept.due).into()),
        Column::program("retired", |it| it.vessel.retired.into()),
        Column::program("last_taste", |it: &VesselSeen<'_>| it.vessel.taste.as_deref().map(taste_in_one_cell).into())
            .whole(|it| it.vessel.taste.as_deref().map(|taste| Cell::thing(&TASTE, taste)).into()),
    ]
}

/// The columns of a list of what is due, where people also want to know how far its day has passed.
#[must_use]
pub fn due_columns<'a>() -> Vec<Column<VesselSeen<'a>>> {
    let mut columns = columns();
    for column in &mut columns {
        match column.name {
            Some("interval_days") => column.heading = Some("of"),
            Some("volume_ul") => column.heading = None,
            _ => {}
        }
    }
    columns
}

/// How it last tasted.
const TASTE: [Column<Taste>; 4] = [
    Column::program("at", |it: &Taste| it.at.into()),
    Column::program("score", |it| it.score.into()),
    Column::program("marks", |it| Cell::list(&it.marks)),
    Column::program("text", |it| it.text.as_ref().into()),
];

fn taste_in_one_cell(taste: &Taste) -> Cell {
    let mut parts = vec![taste.at.show_date()];
    parts.extend(taste.score.map(figure));
    parts.extend(taste.marks.iter().map(Label::to_string));
    parts.extend(taste.text.as_ref().map(|text| format!("\"{text}\"")));
    Cell::Text(parts.join(", "))
}

/// The sulfur dioxide of a vessel: what was tested, what was given since, and what that comes to.
const SULFUR: [Column<SulfurKnown>; 9] = [
    Column::program("tested_free_mg_l", |it: &SulfurKnown| it.free.map(|free| rounded(free.value, 1)).into()),
    Column::program("tested", |it| it.free.map(|free| free.drawn).into()),
    Column::program("tested_of", |it| it.free.map(|free| free.of.word()).into()),
    Column::program("given_since_mg_l", |it| rounded(it.given_since_free, 1).into()),
    Column::program("free_so2_mg_l", |it| it.free_now.map(|now| rounded(now.free_mg_l, 1)).into()),
    Column::program("tested_total_mg_l", |it| it.total.map(|total| rounded(total.value, 1)).into()),
    Column::program("total_given_since_mg_l", |it| rounded(it.given_since_total, 1).into()),
    Column::program("total_so2_mg_l", |it| it.total_now.map(|total| rounded(total, 1)).into()),
    Column::program("words", |it| it.words().into()),
];

impl VesselSeen<'_> {
    /// How many times what it should it drinks, where that is too much.
    fn drinks(&self) -> Cell {
        self.leak.map(|leak| format!("{} times", figure_to(1, rounded(leak.times, 2)))).into()
    }

    /// What it lacks; an empty vessel lacks nothing that a person would pour.
    fn lacks(&self) -> Cell {
        let lacks = Cell::Estimate(self.headspace.missing, self.headspace.deviation);
        if self.vessel.volume().is_zero() { Cell::Nothing } else { lacks }
    }

    /// For how many days it has not been topped; a question mark where that was not written down.
    fn days(&self) -> Cell {
        let is_known = self.due.is_none() || self.vessel.kept_since.is_none();
        if is_known { self.due.and_then(|_| self.days_since_full()).into() } else { "?".into() }
    }

    fn days_since_full(&self) -> Option<i64> {
        self.state.days_since_full(self.vessel, self.on)
    }

    /// None of a vessel whose wine was never tested, nor another of its lot.
    fn sulfur(&self) -> Option<SulfurKnown> {
        let known = self.state.sulfur_known(self.id, USUAL_BOUND_SHARE, self.on);
        known.free.is_some().then_some(known)
    }

    fn history(&self) -> Vec<Happening<'_>> {
        self.vessel.history.lines().map(Happening::of).collect()
    }

    /// Gives its card out, with its last facts.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        let mut columns = columns();
        columns.extend([
            Column::within("sulfur", |it: &VesselSeen<'_>| {
                it.sulfur().map(|known| Cell::thing(&SULFUR, &known)).into()
            }),
            Column::within("history", |it| Cell::things(&Happening::columns(), it.history())),
        ]);
        page.card(&columns, self, |page| {
            if let Some(words) = self.sulfur().and_then(|known| known.words()) {
                page.line(&format!("Free SO2 {words}."))?;
            }
            page.section("composition", &part_columns(), &self.parts(&self.vessel.wine))?;
            page.section("last facts", &Happening::columns(), &self.history())
        })
    }
}

/// Vessels as they are told at a moment.
#[must_use]
pub fn these<'a>(state: &'a State, ids: &[VesselId], on: Moment) -> Vec<VesselSeen<'a>> {
    ids.iter().map(|&id| told(state, id, on)).collect()
}
