//! The sulfur dioxide of a lot as it is shown: what of it is molecular, and the forecast of the lot and of each vessel.

use serde::Serialize;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::tests::sulfuring::{FreeOutlook, TestOf};
use crate::cellar::views::floor::lot_review::LotReview;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::{below, rounded};
use crate::reckon::sulfur::CAUTION;

/// The sulfur dioxide of a lot.
#[derive(Debug, Serialize)]
pub struct SulfurView {
    model: &'static str,
    wanted_molecular_so2_mg_l: f64,
    /// Of the free that is expected now.
    molecular_so2_mg_l: Option<f64>,
    /// The total now at the most: as tested, and all that was given since.
    total_so2_mg_l: Option<f64>,
    /// What of it was given since the test.
    total_given_since_mg_l: Option<f64>,
    /// Why there is none, or what is to be known of it.
    note: Option<String>,
    forecast: Option<OutlookView>,
    /// Why there is none.
    no_forecast: Option<String>,
    by_vessel: Vec<VesselSulfurView>,
}

/// What is expected of the free sulfur dioxide now.
#[derive(Clone, Copy, Debug, Serialize)]
struct OutlookView {
    tests: usize,
    monthly_loss_pct: f64,
    free_so2_mg_l: f64,
    low_mg_l: f64,
    high_mg_l: f64,
    /// The free that the wanted molecular takes.
    wanted_free_so2_mg_l: Option<f64>,
    perhaps_below: Option<When>,
    below: Option<When>,
    is_below: bool,
}

/// The sulfur dioxide of one of its vessels.
#[derive(Debug, Serialize)]
struct VesselSulfurView {
    vessel: Label,
    /// What was tested last.
    tested_mg_l: f64,
    tested: When,
    composite: bool,
    /// Whose test it is: its own, a composite's, or that of its wine before it came here.
    tested_of: &'static str,
    /// What was given since, as a rise of the total.
    given_since_mg_l: f64,
    /// As tested, and all that was given since.
    total_so2_mg_l: Option<f64>,
    molecular_so2_mg_l: Option<f64>,
    #[serde(flatten)]
    outlook: OutlookView,
}

impl SulfurView {
    /// What a review says, and each of its vessels.
    #[must_use]
    pub fn of(state: &State, review: &LotReview, on: Moment) -> SulfurView {
        let sulfur = &review.sulfur;
        let note = match sulfur.balance {
            None => Some("No pH was tested yet.".to_owned()),
            Some(Err(error)) => Some(error.to_string()),
            Some(Ok(balance)) => balance.beyond().map(|beyond| beyond.to_string()),
        };
        SulfurView {
            model: sulfur.model.word(),
            wanted_molecular_so2_mg_l: sulfur.wanted_mg_l,
            molecular_so2_mg_l: sulfur.molecular_mg_l.map(|molecular| rounded(molecular, 3)),
            total_so2_mg_l: sulfur.total_now.map(|(now, _)| rounded(now, 1)),
            total_given_since_mg_l: sulfur.total_now.map(|(_, given)| given),
            note,
            forecast: sulfur.outlook.as_ref().map(OutlookView::of),
            no_forecast: sulfur.forecast.as_ref().err().map(ToString::to_string),
            by_vessel: review.vessels.iter().filter_map(|&id| VesselSulfurView::of(state, id, on)).collect(),
        }
    }

    /// Writes it for people; nothing where the free was never tested.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        let Some(forecast) = &self.forecast else { return Ok(()) };
        let whole = Line {
            of: None,
            tested: None,
            given: self.total_given_since_mg_l.filter(|given| *given > 0.0),
            molecular: self.molecular_so2_mg_l,
            outlook: forecast,
        };
        let lines: Vec<Line<'_>> = std::iter::once(whole).chain(self.by_vessel.iter().map(Line::of)).collect();
        page.section("sulfur dioxide, mg/L", &Line::COLUMNS, &lines)?;
        let bands = format!(
            "Molecular by the {} model; {} mg/L is wanted. Nine chances in ten lie from low to high. A third of an addition is taken \
             to be bound.",
            self.model, self.wanted_molecular_so2_mg_l
        );
        [Some(bands.as_str()), self.note.as_deref(), Some(CAUTION)]
            .into_iter()
            .flatten()
            .try_for_each(|words| below(page, words))
    }
}

/// A line for people: the lot, or one of its vessels.
struct Line<'a> {
    of: Option<&'a Label>,
    tested: Option<(f64, When)>,
    given: Option<f64>,
    molecular: Option<f64>,
    outlook: &'a OutlookView,
}

impl<'a> Line<'a> {
    fn of(vessel: &'a VesselSulfurView) -> Line<'a> {
        let tested = Some((vessel.tested_mg_l, vessel.tested));
        Line {
            of: Some(&vessel.vessel),
            tested,
            given: Some(vessel.given_since_mg_l).filter(|given| *given > 0.0),
            molecular: vessel.molecular_so2_mg_l,
            outlook: &vessel.outlook,
        }
    }

    const COLUMNS: [Column<Self>; 10] = [
        Column::people("of", |it| it.of.map_or_else(|| Cell::Text("the lot".to_owned()), Into::into)),
        Column::people("tested", |it| it.tested.map(|(free, _)| free).into()),
        Column::people("on", |it| it.tested.map(|(_, at)| at).into()),
        Column::people("given", |it: &Line<'_>| it.given.into()).sparse(),
        Column::people("molecular", |it| it.molecular.into()),
        Column::people("now", |it| it.outlook.free_so2_mg_l.into()),
        Column::people("low", |it| it.outlook.low_mg_l.into()),
        Column::people("high", |it| it.outlook.high_mg_l.into()),
        Column::people("wanted", |it| it.outlook.wanted_free_so2_mg_l.into()),
        Column::people("below", |it| it.outlook.when_below()),
    ];
}

impl OutlookView {
    fn of(outlook: &FreeOutlook) -> OutlookView {
        OutlookView {
            tests: outlook.tests,
            monthly_loss_pct: rounded(outlook.rate_a_day * 30.0 * 100.0, 1),
            free_so2_mg_l: rounded(outlook.now.free_mg_l, 1),
            low_mg_l: rounded(outlook.now.low_mg_l, 1),
            high_mg_l: rounded(outlook.now.high_mg_l, 1),
            wanted_free_so2_mg_l: outlook.floor_mg_l.map(|floor| rounded(floor, 1)),
            perhaps_below: outlook.perhaps_below.map(When),
            below: outlook.below.map(When),
            is_below: outlook.is_below(),
        }
    }

    /// When it falls below what is wanted, for people.
    fn when_below(&self) -> Cell {
        if self.is_below { Cell::Text("! now".to_owned()) } else { self.below.into() }
    }
}

impl VesselSulfurView {
    /// None of a vessel in which the free was never tested, or into which went more than any wine takes.
    fn of(state: &State, id: VesselId, on: Moment) -> Option<VesselSulfurView> {
        let told = state.sulfur_state(id, on)?;
        Some(VesselSulfurView {
            vessel: state.vessels.get(id).label.clone(),
            tested_mg_l: rounded(told.free.value, 1),
            tested: When(told.free.at),
            composite: told.free.of == TestOf::Composite,
            tested_of: told.free.of.word(),
            given_since_mg_l: rounded(told.known.given_since_free, 1),
            total_so2_mg_l: told.known.total_now.map(|total| rounded(total, 0)),
            molecular_so2_mg_l: told.molecular_mg_l.map(|molecular| rounded(molecular, 3)),
            outlook: OutlookView::of(&state.free_so2_outlook(id, on).ok()?),
        })
    }
}
