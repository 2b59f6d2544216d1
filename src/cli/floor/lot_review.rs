//! The review of a lot as it is shown: barrel mix, places, tastes, tests, sulfur dioxide, holds.

mod limits;
mod sulfur;

use serde::Serialize;

use self::limits::LimitView;
use self::sulfur::SulfurView;

use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::views::floor::lot_review::mix::{BarrelMix, Kind, Quality};
use crate::cellar::views::floor::lot_review::readings::AnalyteReview;
use crate::cellar::views::floor::lot_review::tastes::Tastes;
use crate::cellar::views::floor::lot_review::{LotReview, places};
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::{FOR_INFORMATION, below};
use crate::cli::topping::plan::SuspectView;
use crate::units::Volume;

/// What the barrels of a lot are like, by the litres in them.
#[derive(Debug, Serialize)]
pub struct MixView {
    volume_ul: Volume,
    new_wood_share: Option<f64>,
    forest: Vec<MixShare>,
    toast: Vec<MixShare>,
    cooper: Vec<MixShare>,
    fill: Vec<MixShare>,
    shape: Vec<MixShare>,
    grain: Vec<MixShare>,
    seasoning_months: Vec<MixShare>,
}

/// The part of a lot's barrel wine that lies in barrels of one kind.
#[derive(Debug, Serialize)]
struct MixShare {
    name: Option<String>,
    volume_ul: Volume,
    share: f64,
    barrels: usize,
    /// For people: thousandths that sum to a thousand.
    #[serde(skip)]
    thousandths: u64,
}

impl MixView {
    /// The barrel mix of a lot.
    #[must_use]
    pub fn of(mix: &BarrelMix) -> MixView {
        let by = |quality| MixShare::by(mix, quality);
        MixView {
            volume_ul: mix.whole,
            new_wood_share: mix.new_wood_share(),
            forest: by(Quality::Forest),
            toast: by(Quality::Toast),
            cooper: by(Quality::Cooper),
            fill: by(Quality::Fill),
            shape: by(Quality::Shape),
            grain: by(Quality::Grain),
            seasoning_months: by(Quality::Seasoning),
        }
    }

    /// Writes the mix for people; what is known of no barrel is left out.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        let new = Cell::Share(self.new_wood_share.unwrap_or(0.0)).in_table();
        let title = format!("barrels, by the litres in them: {new} in new wood");
        page.section(&title, &MixLine::COLUMNS, &self.lines())
    }

    fn lines(&self) -> Vec<MixLine<'_>> {
        let all = [
            ("forest", &self.forest),
            ("cooper", &self.cooper),
            ("toast", &self.toast),
            ("seasoning", &self.seasoning_months),
            ("grain", &self.grain),
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
    fn by(mix: &BarrelMix, quality: Quality) -> Vec<MixShare> {
        let parts = mix.by(quality).iter().zip(mix.thousandths(quality));
        parts
            .map(|(part, thousandths)| MixShare {
                name: part.kind.as_ref().map(plain),
                volume_ul: part.volume,
                share: if mix.whole.is_zero() { 0.0 } else { part.volume.as_litres() / mix.whole.as_litres() },
                barrels: part.barrels,
                thousandths,
            })
            .collect()
    }
}

/// A kind as programs read it: numbers as numbers are written.
fn plain(kind: &Kind) -> String {
    match kind {
        Kind::Named(label) => label.to_string(),
        Kind::Months(number) | Kind::Fill(number) => number.to_string(),
    }
}

/// A line of the barrel mix for people.
struct MixLine<'a> {
    by: &'static str,
    share: &'a MixShare,
}

impl MixLine<'_> {
    const COLUMNS: [Column<Self>; 5] = [
        Column::people("by", |line| line.by.into()),
        Column::people("kind", |line| line.share.name.as_deref().unwrap_or("(not known)").into()),
        Column::people("barrels", |line| line.share.barrels.into()),
        Column::people("litres", |line| line.share.volume_ul.into()),
        Column::people("share", |line| Cell::Share(line.share.thousandths as f64 / 1_000.0)),
    ];
}

/// What the review of a lot says beside its barrel mix.
#[derive(Debug, Serialize)]
pub struct ReviewView {
    places: Vec<PlaceView>,
    in_no_place: usize,
    wood_days: Option<WoodDaysView>,
    tastes: TastesView,
    tests: Vec<TestView>,
    so2: SulfurView,
    so2_added: Option<When>,
    limits: Vec<LimitView>,
    held_vessels: Vec<HeldView>,
    suspect_vessels: Vec<SuspectView>,
}

#[derive(Debug, Serialize)]
struct PlaceView {
    room: Label,
    row: Label,
    first_stack: u16,
    last_stack: u16,
    racks: usize,
    barrels: usize,
}

#[derive(Debug, Serialize)]
struct WoodDaysView {
    mean: f64,
    least: i64,
    most: i64,
}

#[derive(Debug, Serialize)]
struct TastesView {
    tasted: usize,
    first: Option<When>,
    last: Option<When>,
    least: Option<f64>,
    median: Option<f64>,
    mean: Option<f64>,
    most: Option<f64>,
    outliers: Vec<VesselValue>,
    marks: Vec<MarkCount>,
    with_fault: Vec<Label>,
}

#[derive(Debug, Serialize)]
struct VesselValue {
    vessel: Label,
    value: f64,
}

#[derive(Debug, Serialize)]
struct MarkCount {
    mark: Label,
    vessels: usize,
}

#[derive(Debug, Serialize)]
struct TestView {
    analyte: &'static str,
    unit: &'static str,
    value: f64,
    at: When,
    /// Of how many vessels together; several make a composite.
    of_vessels: usize,
    composite: bool,
    before: Option<f64>,
    before_at: Option<When>,
    own_results: usize,
    in_composite_only: usize,
    least: Option<f64>,
    median: Option<f64>,
    most: Option<f64>,
    outliers: Vec<VesselValue>,
}

#[derive(Debug, Serialize)]
struct HeldView {
    vessel: Label,
    why: Option<Text>,
    since: Option<When>,
}

impl ReviewView {
    /// What a review says.
    #[must_use]
    pub fn of(state: &State, review: &LotReview, on: Moment) -> ReviewView {
        let held = |&id: &VesselId| {
            let vessel = state.vessels.get(id);
            let hold = vessel.held.as_deref();
            HeldView {
                vessel: vessel.label.clone(),
                why: hold.map(|hold| hold.why.clone()),
                since: hold.map(|hold| When(hold.since)),
            }
        };
        ReviewView {
            places: review.places.rows.iter().map(PlaceView::of).collect(),
            in_no_place: review.places.nowhere,
            wood_days: review.in_wood.map(|days| WoodDaysView { mean: days.mean, least: days.least, most: days.most }),
            tastes: TastesView::of(state, &review.tastes),
            tests: review.readings.iter().map(|reading| TestView::of(state, reading)).collect(),
            so2: SulfurView::of(state, review, on),
            so2_added: review.sulfured.map(When),
            limits: LimitView::all(state, review),
            held_vessels: review.held.iter().map(held).collect(),
            suspect_vessels: review.suspect.iter().map(|&id| SuspectView::of(state, id)).collect(),
        }
    }

    /// Writes it for people.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.section("places", &PlaceView::COLUMNS, &self.places)?;
        if let Some(days) = &self.wood_days {
            page.line(&format!("\nin wood for {:.0} days, {} to {}", days.mean, days.least, days.most))?;
        }
        if self.tastes.tasted > 0 {
            page.section("tastes, the last of each vessel", &TastesView::COLUMNS, std::slice::from_ref(&self.tastes))?;
        }
        page.section("tests, the last of each", &TestView::COLUMNS, &self.tests)?;
        if let Some(When(at)) = self.so2_added {
            page.line(&format!("\nSO2 was last added on {}", at.show_date()))?;
        }
        self.so2.write(page)?;
        if !self.limits.is_empty() {
            page.section("limits", &LimitView::COLUMNS, &self.limits)?;
            below(page, FOR_INFORMATION)?;
        }
        page.section("held", &HeldView::COLUMNS, &self.held_vessels)?;
        page.section("suspect", &SuspectView::COLUMNS, &self.suspect_vessels)
    }
}

impl PlaceView {
    const COLUMNS: [Column<Self>; 6] = [
        Column::people("room", |it| (&it.room).into()),
        Column::people("row", |it| (&it.row).into()),
        Column::people("from stack", |it| u32::from(it.first_stack).into()),
        Column::people("to stack", |it| u32::from(it.last_stack).into()),
        Column::people("racks", |it: &PlaceView| it.racks.into()).summed(),
        Column::people("barrels", |it: &PlaceView| it.barrels.into()).summed(),
    ];

    fn of(stretch: &places::Stretch) -> PlaceView {
        PlaceView {
            room: stretch.room.clone(),
            row: stretch.row.clone(),
            first_stack: stretch.first_stack,
            last_stack: stretch.last_stack,
            racks: stretch.racks,
            barrels: stretch.barrels,
        }
    }
}

impl TastesView {
    const COLUMNS: [Column<Self>; 8] = [
        Column::people("tasted", |it| it.tasted.into()),
        Column::people("last", |it| it.last.into()),
        Column::people("least", |it| it.least.into()),
        Column::people("median", |it| it.median.into()),
        Column::people("most", |it| it.most.into()),
        Column::people("stand out", |it: &TastesView| values(&it.outliers)).sparse(),
        Column::people("fault", |it: &TastesView| names(&it.with_fault)).sparse(),
        Column::people("marks", |it: &TastesView| it.marks_in_words()).sparse(),
    ];

    fn of(state: &State, tastes: &Tastes) -> TastesView {
        let label = |id: &VesselId| state.vessels.get(*id).label.clone();
        let spread = tastes.spread;
        TastesView {
            tasted: tastes.tasted,
            first: tastes.between.map(|(first, _)| When(first)),
            last: tastes.between.map(|(_, last)| When(last)),
            least: spread.map(|spread| spread.least),
            median: spread.map(|spread| spread.median),
            mean: spread.map(|spread| spread.mean),
            most: spread.map(|spread| spread.most),
            outliers: VesselValue::all(state, &tastes.outliers),
            marks: tastes
                .marks
                .iter()
                .map(|(mark, vessels)| MarkCount { mark: mark.clone(), vessels: *vessels })
                .collect(),
            with_fault: tastes.faults.iter().map(label).collect(),
        }
    }

    fn marks_in_words(&self) -> Cell {
        let words: Vec<String> = self.marks.iter().map(|count| format!("{} {}", count.mark, count.vessels)).collect();
        joined(&words)
    }
}

impl VesselValue {
    fn all(state: &State, values: &[(VesselId, f64)]) -> Vec<VesselValue> {
        let named = |&(id, value): &(VesselId, f64)| VesselValue { vessel: state.vessels.get(id).label.clone(), value };
        values.iter().map(named).collect()
    }
}

impl TestView {
    const COLUMNS: [Column<Self>; 9] = [
        Column::people("analyte", |it| it.analyte.into()),
        Column::people("last", |it| it.value.into()),
        Column::people("unit", |it| it.unit.into()),
        Column::people("tested", |it| it.at.into()),
        Column::people("of", |it: &TestView| it.whose()),
        Column::people("before", |it: &TestView| it.before.map(|mean| (mean * 100.0).round() / 100.0).into()).sparse(),
        Column::people("own", |it| it.own_results.into()),
        Column::people("composite only", |it| it.in_composite_only.into()),
        Column::people("stand out", |it: &TestView| values(&it.outliers)).sparse(),
    ];

    fn of(state: &State, reading: &AnalyteReview) -> TestView {
        let before = reading.trend().map(|(before, _)| before);
        let spread = reading.spread;
        TestView {
            analyte: reading.analyte.name(),
            unit: reading.analyte.unit(),
            value: reading.last.value,
            at: When(reading.last.at),
            of_vessels: reading.last.vessels,
            composite: reading.last.vessels > 1,
            before: before.map(|day| day.mean),
            before_at: before.map(|day| When(day.at)),
            own_results: reading.own.len(),
            in_composite_only: reading.in_composite,
            least: spread.map(|spread| spread.least),
            median: spread.map(|spread| spread.median),
            most: spread.map(|spread| spread.most),
            outliers: VesselValue::all(state, &reading.outliers),
        }
    }

    fn whose(&self) -> Cell {
        Cell::Text(if self.composite { format!("composite of {}", self.of_vessels) } else { "one vessel".to_owned() })
    }
}

impl HeldView {
    const COLUMNS: [Column<Self>; 3] = [
        Column::people("vessel", |it| (&it.vessel).into()),
        Column::people("since", |it| it.since.into()),
        Column::people("why", |it| it.why.as_ref().into()),
    ];
}

fn names(labels: &[Label]) -> Cell {
    joined(&labels.iter().map(Label::to_string).collect::<Vec<_>>())
}

fn values(values: &[VesselValue]) -> Cell {
    joined(&values.iter().map(|it| format!("{} {}", it.vessel, it.value)).collect::<Vec<_>>())
}

fn joined(words: &[String]) -> Cell {
    if words.is_empty() { Cell::Nothing } else { Cell::Text(words.join(", ")) }
}
