//! The plan of a round: where to walk, and how much to carry.

use serde::Serialize;

use crate::cellar::core::label::{Label, Text, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RoomId, State, VesselId};
use crate::cellar::views::topping::drift::{Drift, Share};
use crate::cellar::views::topping::odd::Odd;
use crate::cellar::views::topping::plan::{Draw, Stop};
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::due::Due;
use crate::reckon::label_share::LeastShare;
use crate::units::{Volume, VolumeUnit};

/// The plan of a round, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct PlanView {
    room: Label,
    barrels: Vec<StopView>,
    expected_ul: Volume,
    carry_ul: Volume,
    odd: Vec<OddView>,
    held: Vec<HeldView>,
    sources: Vec<SourceView>,
    draws: Vec<DrawView>,
    covered: bool,
    uncovered_ul: Volume,
    #[serde(skip)]
    unplaced: Option<String>,
    minutes: Option<u64>,
    minutes_a_barrel: Option<f64>,
    lots: Vec<DriftView>,
}

/// A barrel to top.
#[derive(Debug, Serialize)]
struct StopView {
    vessel: Label,
    place: Option<String>,
    lot: Option<Label>,
    expected_ul: Volume,
    sd_ul: Volume,
    days_since_topped: Option<i64>,
    due: Option<&'static str>,
    order: usize,
    group: &'static str,
    from: Option<Label>,
}

/// A barrel that is held back.
#[derive(Debug, Serialize)]
pub struct HeldView {
    vessel: Label,
    place: Option<String>,
    held_why: Option<Text>,
}

/// A vessel whose wine is suspect.
#[derive(Debug, Serialize)]
pub struct SuspectView {
    vessel: Label,
    place: Option<String>,
    suspect_why: Option<String>,
}

/// A barrel that somebody should look at before it is topped.
#[derive(Debug, Serialize)]
struct OddView {
    vessel: Label,
    place: Option<String>,
    odd_why: String,
}

/// A vessel that could be topped from.
#[derive(Debug, Serialize)]
struct SourceView {
    vessel: Label,
    lot: Option<Label>,
    volume_ul: Volume,
    suspect_why: Option<String>,
}

/// What is drawn from one of them.
#[derive(Debug, Serialize)]
struct DrawView {
    vessel: Label,
    barrels: usize,
    expected_ul: Volume,
    carry_ul: Volume,
    volume_ul: Volume,
    covers_carry: bool,
}

/// What the round does to the barrels of a lot.
#[derive(Debug, Serialize)]
struct DriftView {
    lot: Label,
    barrels: usize,
    volume_before_ul: Volume,
    foreign_before_ul: Volume,
    volume_after_ul: Volume,
    foreign_after_ul: Volume,
    from_other_lots_ul: Volume,
    organic_before: bool,
    organic_after: bool,
    claims: Vec<ClaimView>,
}

/// How much of a lot is of its vintage or variety.
#[derive(Debug, Serialize)]
struct ClaimView {
    claim: &'static str,
    value: String,
    before_ul: Volume,
    after_ul: Volume,
    least: Vec<LeastView>,
}

/// What may still come in before a published least share is reached.
#[derive(Debug, Serialize)]
struct LeastView {
    percent: u64,
    section: String,
    remaining_ul: Option<Volume>,
}

/// A line of the table of margins.
struct MarginLine {
    lot: String,
    claim: String,
    share: f64,
    percent: u64,
    section: String,
    remaining: Option<Volume>,
}

impl PlanView {
    /// The plan of a round of a room at a moment.
    #[must_use]
    pub fn of(state: &State, room: RoomId, on: Moment) -> PlanView {
        let plan = state.plan_round(room, on);
        PlanView {
            room: state.rooms.get(room).label.clone(),
            barrels: (1..).zip(&plan.stops).map(|(order, stop)| StopView::of(state, order, stop, on)).collect(),
            draws: plan.draws.iter().map(|draw| DrawView::of(state, draw)).collect(),
            covered: plan.uncovered.is_zero(),
            uncovered_ul: plan.uncovered,
            unplaced: state.unplaced_words(&plan),
            minutes: plan.minutes(),
            minutes_a_barrel: plan.minutes_a_barrel.map(|minutes| (minutes * 100.0).round() / 100.0),
            lots: plan.drifts.iter().map(|drift| DriftView::of(state, drift)).collect(),
            expected_ul: plan.expected,
            carry_ul: plan.carry,
            odd: plan.odd.iter().map(|(id, why)| OddView::of(state, *id, why)).collect(),
            held: plan.held.iter().map(|&id| HeldView::of(state, id)).collect(),
            sources: plan.sources.iter().map(|&id| SourceView::of(state, id)).collect(),
        }
    }

    /// Gives the plan out; as a spreadsheet, the barrels to top.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &StopView::columns(), &self.barrels, |page| {
            let litres = |volume: Volume| volume.show(VolumeUnit::Litre, 1);
            let (expected, carry) = (litres(self.expected_ul), litres(self.carry_ul));
            let room = harmless(self.room.as_str());
            match self.barrels.len() {
                0 => page.line(&format!("There is nothing to top in {room}."))?,
                1 => page.line(&format!("Round of {room}: 1 barrel, {expected} expected, carry {carry}"))?,
                many => page.line(&format!("Round of {room}: {many} barrels, {expected} expected, carry {carry}"))?,
            }
            if !self.barrels.is_empty() {
                if let Some(words) = &self.unplaced {
                    page.line(words)?;
                }
                page.line(&self.how_long())?;
                page.line(&self.cover())?;
            }
            page.section("to top, in the order of the walk", &StopView::columns(), &self.barrels)?;
            page.section("to look at first", &OddView::COLUMNS, &self.odd)?;
            page.section("held back", &HeldView::COLUMNS, &self.held)?;
            page.section("topped from, one after the other", &DrawView::COLUMNS, &self.draws)?;
            page.section("could be topped from", &SourceView::COLUMNS, &self.sources)?;
            page.section("what it does to the lots", &DriftView::COLUMNS, &self.lots)?;
            // Its own wine moves no share; what is said of others is the published rule, not advice.
            let margins: Vec<MarginLine> =
                self.lots.iter().filter(|lot| lot.is_touched()).flat_map(DriftView::margins).collect();
            page.section(
                "wine of another vintage or variety that may still come in (rules as published, for information)",
                &MarginLine::COLUMNS,
                &margins,
            )
        })
    }

    fn how_long(&self) -> String {
        match (self.minutes, self.minutes_a_barrel) {
            (Some(minutes), Some(each)) => {
                format!("About {minutes} minutes, at {each} a barrel as the last rounds here went.")
            }
            _ => "How long it takes is not known: no round here has ended that tells.".to_owned(),
        }
    }

    fn cover(&self) -> String {
        let without = self.barrels.iter().filter(|stop| stop.from.is_none()).count();
        let tight = self.draws.iter().find(|draw| !draw.covers_carry);
        match (without, tight) {
            (0, None) => "The topping vessels cover it, with what chance may ask.".to_owned(),
            (0, Some(draw)) => format!(
                "The topping vessels cover what is expected; {} may run out before its last barrel.",
                harmless(draw.vessel.as_str())
            ),
            (without, _) => format!(
                "No topping vessel of their colour holds enough for {without} of them, {} in all.",
                self.uncovered_ul.show(VolumeUnit::Litre, 1)
            ),
        }
    }
}

/// Where a vessel lies, as it is written.
pub fn place(state: &State, id: VesselId) -> Option<String> {
    state.place_of(state.vessels.get(id)).map(|place| place.to_string())
}

fn lot(state: &State, id: VesselId) -> Option<Label> {
    state.vessels.get(id).lot.map(|lot| state.lots.get(lot).label.clone())
}

impl StopView {
    fn of(state: &State, order: usize, stop: &Stop, on: Moment) -> StopView {
        let vessel = state.vessels.get(stop.vessel);
        StopView {
            vessel: vessel.label.clone(),
            place: place(state, stop.vessel),
            lot: lot(state, stop.vessel),
            expected_ul: stop.expected,
            sd_ul: stop.deviation,
            days_since_topped: vessel.last_topped.map(|topped| on.days_since(topped)),
            due: state.due(vessel, on).map(Due::word),
            order,
            group: stop.group.words(),
            from: stop.from.map(|from| state.vessels.get(from).label.clone()),
        }
    }

    fn columns() -> Vec<Column<StopView>> {
        vec![
            Column::both("vessel", "vessel", |it: &StopView| (&it.vessel).into()),
            Column::both("place", "place", |it| it.place.as_ref().into()),
            Column::both("lot", "lot", |it| it.lot.as_ref().into()),
            Column::program("expected_ul", |it| it.expected_ul.into()),
            Column::program("sd_ul", |it| it.sd_ul.into()),
            Column::people("litres", |it| Cell::Estimate(it.expected_ul, it.sd_ul)),
            Column::both("days_since_topped", "days", |it| it.days_since_topped.into()),
            Column::both("due", "due", |it| it.due.map(|word| Cell::Word(word.to_owned())).into()),
            Column::program("order", |it| it.order.into()),
            Column::both("group", "group", |it| it.group.into()),
            Column::both("from", "from", |it| it.from.as_ref().into()),
        ]
    }
}

impl HeldView {
    /// A held barrel as it is told.
    #[must_use]
    pub fn of(state: &State, id: VesselId) -> HeldView {
        let vessel = state.vessels.get(id);
        HeldView {
            vessel: vessel.label.clone(),
            place: place(state, id),
            held_why: vessel.held.as_ref().map(|hold| hold.why.clone()),
        }
    }

    /// The columns of a list of them.
    pub const COLUMNS: [Column<HeldView>; 3] = [
        Column::people("vessel", |it: &HeldView| Cell::Text(it.vessel.to_string())),
        Column::people("place", |it| it.place.as_ref().into()),
        Column::people("why", |it| it.held_why.as_ref().into()),
    ];
}

impl SuspectView {
    /// A suspect vessel as it is told.
    #[must_use]
    pub fn of(state: &State, id: VesselId) -> SuspectView {
        let vessel = state.vessels.get(id);
        SuspectView { vessel: vessel.label.clone(), place: place(state, id), suspect_why: state.suspect_words(vessel) }
    }

    /// The columns of a list of them.
    pub const COLUMNS: [Column<SuspectView>; 3] = [
        Column::people("vessel", |it: &SuspectView| Cell::Text(it.vessel.to_string())),
        Column::people("place", |it| it.place.as_ref().into()),
        Column::people("why", |it| it.suspect_why.as_ref().into()),
    ];
}

impl OddView {
    fn of(state: &State, id: VesselId, why: &Odd) -> OddView {
        let vessel = state.vessels.get(id).label.clone();
        OddView { vessel, place: place(state, id), odd_why: why.to_string() }
    }

    const COLUMNS: [Column<OddView>; 3] = [
        Column::people("vessel", |it: &OddView| Cell::Text(it.vessel.to_string())),
        Column::people("place", |it| it.place.as_ref().into()),
        Column::people("why", |it| Cell::Text(it.odd_why.clone())),
    ];
}

impl SourceView {
    fn of(state: &State, id: VesselId) -> SourceView {
        let vessel = state.vessels.get(id);
        SourceView {
            vessel: vessel.label.clone(),
            lot: lot(state, id),
            volume_ul: vessel.volume(),
            suspect_why: state.suspect_words(vessel),
        }
    }

    const COLUMNS: [Column<SourceView>; 4] = [
        Column::people("vessel", |it: &SourceView| Cell::Text(it.vessel.to_string())),
        Column::people("lot", |it| it.lot.as_ref().into()),
        Column::people("litres", |it| it.volume_ul.into()),
        Column::people("suspect, so only if you choose it", |it: &SourceView| it.suspect_why.as_ref().into()).sparse(),
    ];
}

impl DrawView {
    fn of(state: &State, draw: &Draw) -> DrawView {
        DrawView {
            vessel: state.vessels.get(draw.source).label.clone(),
            barrels: draw.barrels,
            expected_ul: draw.expected,
            carry_ul: draw.carry,
            volume_ul: draw.holds,
            covers_carry: draw.holds >= draw.carry,
        }
    }

    const COLUMNS: [Column<DrawView>; 5] = [
        Column::people("vessel", |it: &DrawView| Cell::Text(it.vessel.to_string())),
        Column::people("barrels", |it: &DrawView| it.barrels.into()).summed(),
        Column::people("expected", |it: &DrawView| it.expected_ul.into()).summed(),
        Column::people("carry", |it| it.carry_ul.into()),
        Column::people("holds", |it| it.volume_ul.into()),
    ];
}

impl DriftView {
    fn of(state: &State, drift: &Drift) -> DriftView {
        DriftView {
            lot: state.lots.get(drift.lot).label.clone(),
            barrels: drift.barrels,
            volume_before_ul: drift.before,
            foreign_before_ul: drift.foreign_before,
            volume_after_ul: drift.after,
            foreign_after_ul: drift.foreign_after,
            from_other_lots_ul: drift.from_other_lots,
            organic_before: drift.organic.0,
            organic_after: drift.organic.1,
            claims: drift.claims.iter().map(ClaimView::of).collect(),
        }
    }

    /// Whether wine of another lot comes into it.
    fn is_touched(&self) -> bool {
        !self.from_other_lots_ul.is_zero()
    }

    fn margins(&self) -> impl Iterator<Item = MarginLine> + '_ {
        self.claims.iter().flat_map(move |claim| {
            claim.least.iter().map(move |least| MarginLine {
                lot: self.lot.to_string(),
                claim: format!("{} {}", claim.claim, claim.value),
                share: part_of(claim.after_ul, self.volume_after_ul),
                percent: least.percent,
                section: least.section.clone(),
                remaining: least.remaining_ul,
            })
        })
    }

    const COLUMNS: [Column<DriftView>; 6] = [
        Column::people("lot", |it: &DriftView| Cell::Text(it.lot.to_string())),
        Column::people("barrels", |it| it.barrels.into()),
        Column::people("from others", |it| it.from_other_lots_ul.into()),
        Column::people("foreign now", |it| Cell::Share(part_of(it.foreign_before_ul, it.volume_before_ul))),
        Column::people("then", |it| Cell::Share(part_of(it.foreign_after_ul, it.volume_after_ul))),
        Column::people("organic", |it: &DriftView| match (it.organic_before, it.organic_after) {
            (true, true) => Cell::Text("yes".to_owned()),
            (true, false) => Cell::Text("no longer".to_owned()),
            (false, _) => Cell::Nothing,
        })
        .sparse(),
    ];
}

impl ClaimView {
    fn of(share: &Share) -> ClaimView {
        let least = |(least, remaining): &(LeastShare, Option<Volume>)| LeastView {
            percent: least.percent,
            section: least.rule(),
            remaining_ul: *remaining,
        };
        ClaimView {
            claim: share.claim.word(),
            value: share.value.clone(),
            before_ul: share.before,
            after_ul: share.after,
            least: share.margins.iter().map(least).collect(),
        }
    }
}

impl MarginLine {
    const COLUMNS: [Column<MarginLine>; 6] = [
        Column::people("lot", |it: &MarginLine| Cell::Text(it.lot.clone())),
        Column::people("of it", |it| Cell::Text(it.claim.clone())),
        Column::people("share", |it| Cell::Share(it.share)),
        Column::people("least", |it| Cell::Text(format!("{} %", it.percent))),
        Column::people("litres", |it| match it.remaining {
            Some(remaining) => remaining.into(),
            None => Cell::Text("below".to_owned()),
        }),
        Column::people("rule", |it| it.section.as_str().into()),
    ];
}

/// A part of a whole; of nothing it is nothing.
fn part_of(part: Volume, whole: Volume) -> f64 {
    if whole.is_zero() { 0.0 } else { part.as_litres() / whole.as_litres() }
}
