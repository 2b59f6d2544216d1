//! The review of a lot as it is shown: barrel mix, places, tastes, tests, sulfur dioxide, holds.

mod limits;
mod sulfur;

use crate::cellar::core::state::VesselId;
use crate::cellar::views::floor::lot_review::mix::{BarrelMix, Kind, MixPart, Quality};
use crate::cellar::views::floor::lot_review::places::Stretch;
use crate::cellar::views::floor::lot_review::readings::AnalyteReview;
use crate::cellar::views::floor::lot_review::tastes::Tastes;
use crate::cellar::views::floor::lot_review::{DaysInWood, LotReview};
use crate::cli::core::complaint::Outcome;
use crate::cli::finish::{filtration, fining_trial};
use crate::cli::floor::lot::{self, LotSeen};
use crate::cli::floor::vessel;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::cli::table::seen::{Seen, seen};
use crate::cli::topping::plan::suspect_columns;
use crate::told::floor::days_in_wood;
use crate::told::tests::for_information;

/// What a card tells of a lot.
pub fn card_columns<'a>() -> Vec<Column<LotSeen<'a>>> {
    let mut columns = lot::columns();
    columns.extend([
        Column::within("barrel_mix", |it: &LotSeen<'_>| Cell::thing(&MIX, &it.mix)),
        Column::within("places", |it| Cell::things(&stretch_columns(), &it.places.rows)),
        Column::within("in_no_place", |it| it.places.nowhere.into()),
        Column::within("wood_days", |it| it.in_wood.map(|days| Cell::thing(&WOOD_DAYS, &days)).into()),
        Column::within("tastes", |it| Cell::thing(&taste_columns(), &it.other(&it.tastes))),
        Column::within("tests", |it| it.within(&test_columns(), &it.readings)),
        Column::within("so2", |it| Cell::thing(&sulfur::columns(), &it.other(&it.thing))),
        Column::within("so2_added", |it| it.sulfured.into()),
        Column::within("limits", |it| it.within(&limits::columns(), &it.limits)),
        Column::within("organic", |it| Cell::list(organic_sentences(it))),
        Column::within("held_vessels", |it| it.within(&held_columns(), it.held.iter().copied())),
        Column::within("suspect_vessels", |it| it.within(&suspect_columns(), it.suspect.iter().copied())),
        Column::within("finings", |it| it.within(&fining_trial::done_columns(), it.state.finings_of(it.thing.lot))),
        Column::within("filtrations", |it| it.within(&filtration::columns(), it.state.filtrations_of(it.thing.lot))),
        Column::within("in_vessels", |it| {
            Cell::things(&vessel::columns(), vessel::these(it.state, &it.vessels, it.on))
        }),
    ]);
    columns
}

/// What the barrels of a lot are like, by the litres in them.
const MIX: [Column<BarrelMix>; 9] = [
    Column::program("volume_ul", |it: &BarrelMix| it.whole.into()),
    Column::program("new_wood_share", |it| it.new_wood_share().into()),
    Column::within("forest", |it| of_quality(it, Quality::Forest)),
    Column::within("toast", |it| of_quality(it, Quality::Toast)),
    Column::within("cooper", |it| of_quality(it, Quality::Cooper)),
    Column::within("fill", |it| of_quality(it, Quality::Fill)),
    Column::within("shape", |it| of_quality(it, Quality::Shape)),
    Column::within("grain", |it| of_quality(it, Quality::Grain)),
    Column::within("seasoning_months", |it| of_quality(it, Quality::Seasoning)),
];

/// The part of a lot's barrel wine that lies in barrels of one kind.
struct MixLine<'a> {
    mix: &'a BarrelMix,
    part: &'a MixPart,
    /// By what it is parted; said once.
    by: &'static str,
    thousandths: u64,
}

fn mix_lines<'a>(mix: &'a BarrelMix, quality: Quality, by: &'static str) -> Vec<MixLine<'a>> {
    let parts = mix.by(quality).iter().zip(mix.thousandths(quality)).enumerate();
    parts
        .map(|(at, (part, thousandths))| MixLine { mix, part, by: if at == 0 { by } else { "" }, thousandths })
        .collect()
}

fn of_quality(mix: &BarrelMix, quality: Quality) -> Cell {
    Cell::things(&mix_columns(), mix_lines(mix, quality, ""))
}

fn mix_columns<'a>() -> Vec<Column<MixLine<'a>>> {
    vec![
        Column::people("by", |it: &MixLine<'_>| it.by.into()),
        Column::program("name", |it| it.part.kind.as_ref().map(plain).into()),
        Column::people("kind", |it| it.part.kind.as_ref().map_or_else(|| "(not known)".to_owned(), plain).into()),
        Column::people("barrels", |it| it.part.barrels.into()),
        Column::both("volume_ul", "litres", |it| it.part.volume.into()),
        Column::program("share", |it| {
            let whole = it.mix.whole;
            Cell::Decimal(if whole.is_zero() { 0.0 } else { it.part.volume.as_litres() / whole.as_litres() })
        }),
        // Thousandths that sum to a thousand.
        Column::people("share", |it| Cell::Share(it.thousandths as f64 / 1_000.0)),
        Column::program("barrels", |it| it.part.barrels.into()),
    ]
}

/// A kind as programs read it: numbers as numbers are written.
fn plain(kind: &Kind) -> String {
    match kind {
        Kind::Named(label) => label.to_string(),
        Kind::Months(number) | Kind::Fill(number) => number.to_string(),
    }
}

/// Writes the mix for people; what is known of no barrel is left out.
pub fn write_mix(mix: &BarrelMix, page: &mut Page<'_>) -> Outcome {
    let all = [
        ("forest", Quality::Forest),
        ("cooper", Quality::Cooper),
        ("toast", Quality::Toast),
        ("seasoning", Quality::Seasoning),
        ("grain", Quality::Grain),
        ("fill", Quality::Fill),
        ("shape", Quality::Shape),
    ];
    let known = all.into_iter().filter(|(_, quality)| mix.knows(*quality));
    let lines: Vec<MixLine<'_>> = known.flat_map(|(by, quality)| mix_lines(mix, quality, by)).collect();
    let new = Cell::Share(mix.new_wood_share().unwrap_or(0.0)).in_table();
    page.section(&format!("barrels, by the litres in them: {new} in new wood"), &mix_columns(), &lines)
}

/// Writes for people what a review says beside the mix.
pub fn write_review(lot: &LotSeen<'_>, page: &mut Page<'_>) -> Outcome {
    let (state, on) = (lot.state, lot.on);
    page.section("places", &stretch_columns(), &lot.places.rows.iter().collect::<Vec<_>>())?;
    if let Some(days) = lot.in_wood {
        page.line(&format!("\nin wood for {}", days_in_wood(days)))?;
    }
    if lot.tastes.tasted > 0 {
        page.section("tastes, the last of each vessel", &taste_columns(), &[lot.other(&lot.tastes)])?;
    }
    page.section("tests, the last of each", &test_columns(), &seen(state, on, &lot.readings))?;
    if let Some(at) = lot.sulfured {
        page.line(&format!("\nSO2 was last added on {}", at.show_date()))?;
    }
    sulfur::write(&lot.other(&lot.thing), page)?;
    if !lot.limits.is_empty() {
        page.section("limits", &limits::columns(), &seen(state, on, &lot.limits))?;
        below(page, &for_information())?;
    }
    organic_sentences(lot).iter().try_for_each(|words| below(page, words))?;
    page.section("held", &held_columns(), &seen(state, on, lot.held.iter().copied()))?;
    page.section("suspect", &suspect_columns(), &seen(state, on, lot.suspect.iter().copied()))
}

/// What is said of a lot of organic grapes; nothing of others.
fn organic_sentences(lot: &LotSeen<'_>) -> Vec<String> {
    lot.organic.iter().flat_map(|organic| lot.state.organic_sentences(organic)).collect()
}

fn stretch_columns<'a>() -> [Column<&'a Stretch>; 6] {
    [
        Column::both("room", "room", |it: &&Stretch| (&it.room).into()),
        Column::both("row", "row", |it| (&it.row).into()),
        Column::both("first_stack", "from stack", |it| u32::from(it.first_stack).into()),
        Column::both("last_stack", "to stack", |it| u32::from(it.last_stack).into()),
        Column::both("racks", "racks", |it: &&Stretch| it.racks.into()).summed(),
        Column::both("barrels", "barrels", |it: &&Stretch| it.barrels.into()).summed(),
    ]
}

const WOOD_DAYS: [Column<DaysInWood>; 3] = [
    Column::program("mean", |it: &DaysInWood| it.mean.into()),
    Column::program("least", |it| it.least.into()),
    Column::program("most", |it| it.most.into()),
];

/// A value of a vessel.
type ValueSeen<'a> = Seen<'a, &'a (VesselId, f64)>;

fn value_columns<'a>() -> [Column<ValueSeen<'a>>; 2] {
    [Column::program("vessel", |it: &ValueSeen<'_>| it.vessel(it.0)), Column::program("value", |it| it.1.into())]
}

/// Values of vessels in one cell.
fn values<T>(of: &Seen<'_, T>, values: &[(VesselId, f64)]) -> Cell {
    Cell::list(values.iter().map(|(id, value)| format!("{} {}", of.vessel_label(*id), crate::units::figure(*value))))
}

type TastesSeen<'a> = Seen<'a, &'a Tastes>;

fn taste_columns<'a>() -> Vec<Column<TastesSeen<'a>>> {
    vec![
        Column::both("tasted", "tasted", |it: &TastesSeen<'_>| it.tasted.into()),
        Column::program("first", |it| it.between.map(|(first, _)| first).into()),
        Column::both("last", "last", |it| it.between.map(|(_, last)| last).into()),
        Column::both("least", "least", |it| it.spread.map(|spread| spread.least).into()),
        Column::both("median", "median", |it| it.spread.map(|spread| spread.median).into()),
        Column::program("mean", |it| it.spread.map(|spread| spread.mean).into()),
        Column::both("most", "most", |it| it.spread.map(|spread| spread.most).into()),
        Column::both("outliers", "stand out", |it: &TastesSeen<'_>| values(it, &it.outliers))
            .sparse()
            .whole(|it| it.within(&value_columns(), &it.outliers)),
        Column::people("fault", |it: &TastesSeen<'_>| faults(it)).sparse(),
        Column::both("marks", "marks", |it: &TastesSeen<'_>| {
            Cell::list(it.marks.iter().map(|(mark, vessels)| format!("{mark} {vessels}")))
        })
        .sparse()
        .whole(|it| Cell::things(&mark_columns(), &it.marks)),
        Column::within("with_fault", faults),
    ]
}

fn faults(tastes: &TastesSeen<'_>) -> Cell {
    Cell::list(tastes.faults.iter().map(|&id| tastes.vessel_label(id)))
}

/// A mark, and how many vessels have it.
type Marked<'a> = &'a (crate::cellar::core::label::Label, usize);

fn mark_columns<'a>() -> [Column<Marked<'a>>; 2] {
    [
        Column::program("mark", |it: &Marked<'_>| (&it.0).into()),
        Column::program("vessels", |it: &Marked<'_>| it.1.into()),
    ]
}

type TestSeen<'a> = Seen<'a, &'a AnalyteReview>;

fn test_columns<'a>() -> Vec<Column<TestSeen<'a>>> {
    vec![
        Column::both("analyte", "analyte", |it| it.analyte.name().into()),
        Column::people("last", |it: &TestSeen<'_>| it.state.read_as(it.analyte).value(it.last.value).into()),
        Column::people("unit", |it| it.state.read_as(it.analyte).unit().into()),
        Column::program("unit", |it| it.analyte.unit().into()),
        Column::program("value", |it| it.last.value.into()),
        Column::both("at", "tested", |it| it.last.at.into()),
        // Of how many vessels together; several make a composite.
        Column::program("of_vessels", |it| it.last.vessels.into()),
        Column::program("composite", |it| (it.last.vessels > 1).into()),
        Column::people("of", |it| match it.last.vessels {
            0 | 1 => "one vessel".into(),
            several => format!("composite of {several}").into(),
        }),
        Column::people("before", |it: &TestSeen<'_>| {
            let read = it.state.read_as(it.analyte);
            it.trend().map(|(before, _)| rounded(read.turned(before.mean), 2)).into()
        })
        .sparse(),
        Column::program("before", |it| it.trend().map(|(before, _)| before.mean).into()),
        Column::program("before_at", |it| it.trend().map(|(before, _)| before.at).into()),
        Column::both("own_results", "own", |it| it.own.len().into()),
        Column::both("in_composite_only", "composite only", |it| it.in_composite.into()),
        Column::program("least", |it| it.spread.map(|spread| spread.least).into()),
        Column::program("median", |it| it.spread.map(|spread| spread.median).into()),
        Column::program("most", |it| it.spread.map(|spread| spread.most).into()),
        Column::both("outliers", "stand out", |it: &TestSeen<'_>| {
            values(it, &it.read(it.state.read_as(it.analyte)).outliers)
        })
        .sparse()
        .whole(|it| it.within(&value_columns(), &it.outliers)),
    ]
}

fn held_columns<'a>() -> [Column<Seen<'a, VesselId>>; 4] {
    let why = |it: &Seen<'_, VesselId>| it.state.vessels.get(it.thing).held.as_ref().map(|hold| &hold.why).into();
    [
        Column::both("vessel", "vessel", |it: &Seen<'_, VesselId>| it.vessel(it.thing)),
        Column::program("why", why),
        Column::both("since", "since", |it| it.state.vessels.get(it.thing).held.as_ref().map(|hold| hold.since).into()),
        Column::people("why", why),
    ]
}

/// What the sulfur dioxide of a review is told of.
pub type ReviewSeen<'a> = Seen<'a, &'a LotReview>;
