//! The plan of a round: where to walk, and how much to carry.

use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RoomId, State, Vessel, VesselId};
use crate::cellar::views::topping::drift::{Drift, Share};
use crate::cellar::views::topping::odd::Odd;
use crate::cellar::views::topping::plan::{Draw, Plan, Stop};
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};
use crate::reckon::due::Due;
use crate::reckon::label_share::LeastShare;
use crate::told::hazard::Caution;
use crate::told::topping::how_long;
use crate::units::{Volume, counted, litres};

/// The plan of a round of a room.
type PlanSeen<'a> = Seen<'a, (RoomId, Plan)>;

/// Gives out the plan of a round of a room at a moment; as a spreadsheet, the barrels to top.
pub fn round(state: &State, room: RoomId, on: Moment, page: &mut Page<'_>) -> Outcome {
    let seen = Seen { state, on, thing: (room, state.plan_round(room, on)) };
    let stops = seen.stops();
    page.report((&columns(), &seen), (&stop_columns(), &stops), |page| seen.tell(&stops, page))
}

fn columns<'a>() -> Vec<Column<PlanSeen<'a>>> {
    vec![
        Column::program("room", |it: &PlanSeen<'_>| (&it.state.rooms.get(it.0).label).into()),
        Column::within("barrels", |it| Cell::things(&stop_columns(), it.stops())),
        Column::program("expected_ul", |it| it.1.expected.into()),
        Column::program("carry_ul", |it| it.1.carry.into()),
        Column::within("odd", |it| it.within(&odd_columns(), &it.1.odd)),
        Column::within("held", |it| it.within(&held_columns(), it.1.held.iter().copied())),
        Column::within("sources", |it| it.within(&source_columns(), it.1.sources.iter().copied())),
        Column::within("draws", |it| it.within(&draw_columns(), &it.1.draws)),
        Column::program("covered", |it| it.1.uncovered.is_zero().into()),
        Column::program("uncovered_ul", |it| it.1.uncovered.into()),
        Column::program("minutes", |it| it.1.minutes().into()),
        Column::program("minutes_a_barrel", |it| it.minutes_a_barrel().into()),
        Column::within("lots", |it| it.within(&drift_columns(), &it.1.drifts)),
    ]
}

impl PlanSeen<'_> {
    fn stops(&self) -> Vec<StopSeen<'_>> {
        seen(self.state, self.on, (1..).zip(&self.1.stops))
    }

    fn minutes_a_barrel(&self) -> Option<f64> {
        self.1.minutes_a_barrel.map(|minutes| rounded(minutes, 2))
    }

    fn tell(&self, stops: &[StopSeen<'_>], page: &mut Page<'_>) -> Outcome {
        let (state, on, (room, plan)) = (self.state, self.on, &self.thing);
        let (expected, carry) = (litres(plan.expected), litres(plan.carry));
        let room = harmless(state.rooms.get(*room).label.as_str());
        match stops.len() {
            0 => page.line(&format!("There is nothing to top in {room}."))?,
            many => {
                let barrels = counted(many, "barrel");
                page.line(&format!("Round of {room}: {barrels}, {expected} expected, carry {carry}"))?;
            }
        }
        if !stops.is_empty() {
            page.caution(&Caution::of_kind("round_begun"))?;
            for words in state.unplaced_words(plan).into_iter().chain(plan.unrecorded_words()) {
                page.line(&words)?;
            }
            page.line(&how_long(plan.minutes(), plan.minutes_a_barrel))?;
            page.line(&self.cover())?;
        }
        page.section("to top, in the order of the walk", &stop_columns(), stops)?;
        page.section("to look at first", &odd_columns(), &seen(state, on, &plan.odd))?;
        page.section("held back", &held_columns(), &seen(state, on, plan.held.iter().copied()))?;
        page.section("topped from, one after the other", &draw_columns(), &seen(state, on, &plan.draws))?;
        page.section("could be topped from", &source_columns(), &seen(state, on, plan.sources.iter().copied()))?;
        page.section("what it does to the lots", &drift_columns(), &seen(state, on, &plan.drifts))?;
        // Its own wine moves no share; what is said of others is the published rule, not advice.
        let touched = plan.drifts.iter().filter(|drift| !drift.from_other_lots.is_zero());
        page.section(
            "wine of another vintage or variety that may still come in (rules as published, for information)",
            &margin_columns(),
            &seen(state, on, touched.flat_map(margins)),
        )
    }

    fn cover(&self) -> String {
        let plan = &self.1;
        let without = plan.stops.iter().filter(|stop| stop.from.is_none()).count();
        let tight = plan.draws.iter().find(|draw| draw.holds < draw.carry);
        match (without, tight) {
            (0, None) => "The topping vessels cover it, with what chance may ask.".to_owned(),
            (0, Some(draw)) => format!(
                "The topping vessels cover what is expected; {} may run out before its last barrel.",
                harmless(self.vessel_label(draw.source).as_str())
            ),
            (without, _) => format!(
                "No topping vessel of their colour holds enough for {without} of them, {} in all.",
                litres(plan.uncovered)
            ),
        }
    }
}

/// A barrel to top, and which one of the walk it is.
type StopSeen<'a> = Seen<'a, (usize, &'a Stop)>;

fn stop_columns<'a>() -> Vec<Column<StopSeen<'a>>> {
    vec![
        Column::both("vessel", "vessel", |it: &StopSeen<'_>| it.vessel(it.1.vessel)),
        Column::both("place", "place", |it| it.place(it.1.vessel)),
        Column::both("lot", "lot", |it| it.lot(it.barrel().lot)),
        Column::program("expected_ul", |it| it.1.expected.into()),
        Column::program("sd_ul", |it| it.1.deviation.into()),
        Column::people("litres", |it| Cell::Estimate(it.1.expected, it.1.deviation)),
        Column::program("days_since_topped", |it| it.days_since(it.barrel().last_topped)),
        Column::people("days", |it| match it.barrel().kept_since {
            Some(_) => "?".into(),
            None => it.days_since(it.barrel().last_topped),
        }),
        Column::both("due", "due", |it| it.state.due(it.barrel(), it.on).map(Due::word).into()),
        Column::program("order", |it| it.0.into()),
        Column::both("group", "group", |it| it.1.group.words().into()),
        Column::both("from", "from", |it| it.1.from.map(|from| it.vessel(from)).into()),
    ]
}

impl StopSeen<'_> {
    fn barrel(&self) -> &Vessel {
        self.state.vessels.get(self.1.vessel)
    }
}

/// A vessel and where it lies, with why it is held.
pub fn held_columns<'a>() -> [Column<Seen<'a, VesselId>>; 3] {
    let [vessel, place] = place_columns();
    let why = |it: &Seen<'_, VesselId>| it.state.vessels.get(it.thing).held.as_ref().map(|hold| &hold.why).into();
    [vessel, place, Column::both("held_why", "why", why)]
}

/// A vessel and where it lies, with why its wine is suspect.
pub fn suspect_columns<'a>() -> [Column<Seen<'a, VesselId>>; 3] {
    let [vessel, place] = place_columns();
    [vessel, place, Column::both("suspect_why", "why", suspect_why)]
}

fn suspect_why(vessel: &Seen<'_, VesselId>) -> Cell {
    vessel.state.suspect_words(vessel.state.vessels.get(vessel.thing)).into()
}

fn place_columns<'a>() -> [Column<Seen<'a, VesselId>>; 2] {
    [
        Column::both("vessel", "vessel", |it: &Seen<'_, VesselId>| it.vessel(it.thing)),
        Column::both("place", "place", |it| it.place(it.thing)),
    ]
}

/// A barrel that somebody should look at before it is topped.
type OddSeen<'a> = Seen<'a, &'a (VesselId, Odd)>;

fn odd_columns<'a>() -> [Column<OddSeen<'a>>; 3] {
    [
        Column::both("vessel", "vessel", |it: &OddSeen<'_>| it.vessel(it.0)),
        Column::both("place", "place", |it| it.place(it.0)),
        Column::both("odd_why", "why", |it| it.1.to_string().into()),
    ]
}

/// A vessel that could be topped from.
fn source_columns<'a>() -> [Column<Seen<'a, VesselId>>; 4] {
    [
        Column::both("vessel", "vessel", |it: &Seen<'_, VesselId>| it.vessel(it.thing)),
        Column::both("lot", "lot", |it| it.lot(it.state.vessels.get(it.thing).lot)),
        Column::both("volume_ul", "litres", |it| it.state.vessels.get(it.thing).volume().into()),
        Column::both("suspect_why", "suspect, so only if you choose it", suspect_why).sparse(),
    ]
}

/// What is drawn from one of them.
type DrawSeen<'a> = Seen<'a, &'a Draw>;

fn draw_columns<'a>() -> [Column<DrawSeen<'a>>; 6] {
    [
        Column::both("vessel", "vessel", |it: &DrawSeen<'_>| it.vessel(it.source)),
        Column::both("barrels", "barrels", |it: &DrawSeen<'_>| it.barrels.into()).summed(),
        Column::both("expected_ul", "expected", |it: &DrawSeen<'_>| it.expected.into()).summed(),
        Column::both("carry_ul", "carry", |it| it.carry.into()),
        Column::both("volume_ul", "holds", |it| it.holds.into()),
        Column::program("covers_carry", |it| (it.holds >= it.carry).into()),
    ]
}

/// What the round does to the barrels of a lot.
type DriftSeen<'a> = Seen<'a, &'a Drift>;

fn drift_columns<'a>() -> Vec<Column<DriftSeen<'a>>> {
    vec![
        Column::both("lot", "lot", |it: &DriftSeen<'_>| it.lot(it.thing.lot)),
        Column::both("barrels", "barrels", |it| it.barrels.into()),
        Column::program("volume_before_ul", |it| it.before.into()),
        Column::program("foreign_before_ul", |it| it.foreign_before.into()),
        Column::program("volume_after_ul", |it| it.after.into()),
        Column::program("foreign_after_ul", |it| it.foreign_after.into()),
        Column::both("from_other_lots_ul", "from others", |it| it.from_other_lots.into()),
        Column::people("foreign now", |it| Cell::Share(part_of(it.foreign_before, it.before))),
        Column::people("then", |it| Cell::Share(part_of(it.foreign_after, it.after))),
        Column::people("organic", |it: &DriftSeen<'_>| match it.organic {
            (true, true) => "yes".into(),
            (true, false) => "no longer".into(),
            (false, _) => Cell::Nothing,
        })
        .sparse(),
        Column::program("organic_before", |it| it.organic.0.into()),
        Column::program("organic_after", |it| it.organic.1.into()),
        Column::within("claims", |it| Cell::things(&share_columns(), &it.claims)),
    ]
}

/// How much of a lot is of its vintage or variety.
fn share_columns<'a>() -> [Column<&'a Share>; 5] {
    [
        Column::program("claim", |it: &&Share| it.claim.word().into()),
        Column::program("value", |it| (&it.value).into()),
        Column::program("before_ul", |it| it.before.into()),
        Column::program("after_ul", |it| it.after.into()),
        Column::within("least", |it| Cell::things(&least_columns(), &it.margins)),
    ]
}

/// What may still come in before a published least share is reached.
fn least_columns<'a>() -> [Column<&'a (LeastShare, Option<Volume>)>; 3] {
    [
        Column::program("percent", |it: &&(LeastShare, Option<Volume>)| it.0.percent.into()),
        Column::program("section", |it| it.0.rule().into()),
        Column::program("remaining_ul", |it| it.1.into()),
    ]
}

/// A published least share of a claim of a lot.
type Margin<'a> = (&'a Drift, &'a Share, &'a (LeastShare, Option<Volume>));

fn margins(drift: &Drift) -> impl Iterator<Item = Margin<'_>> {
    drift.claims.iter().flat_map(move |share| share.margins.iter().map(move |margin| (drift, share, margin)))
}

fn margin_columns<'a>() -> [Column<Seen<'a, Margin<'a>>>; 6] {
    [
        Column::people("lot", |it: &Seen<'_, Margin<'_>>| it.lot(it.0.lot)),
        Column::people("of it", |it| format!("{} {}", it.1.claim.word(), it.1.value).into()),
        Column::people("share", |it| Cell::Share(part_of(it.1.after, it.0.after))),
        Column::people("least", |it| format!("{} %", it.2.0.percent).into()),
        Column::people("litres", |it| it.2.1.map_or_else(|| "below".into(), Into::into)),
        Column::people("rule", |it| it.2.0.rule().into()),
    ]
}

/// A part of a whole; of nothing it is nothing.
fn part_of(part: Volume, whole: Volume) -> f64 {
    if whole.is_zero() { 0.0 } else { part.as_litres() / whole.as_litres() }
}
