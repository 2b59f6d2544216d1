//! The sulfur dioxide of a lot as it is shown: what of it is molecular, and the forecast of the lot and of each vessel.

use super::ReviewSeen;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::VesselId;
use crate::cellar::jobs::tests::sulfuring::{FreeOutlook, SulfurState, TestOf};
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::reckon::sulfur::USUAL_BOUND_SHARE;
use crate::told::hazard::{Caution, Hazard};
use crate::told::tests::bound_at_once;
use crate::units::figure;

/// What is told of the sulfur dioxide of a lot.
pub fn columns<'a>() -> Vec<Column<ReviewSeen<'a>>> {
    vec![
        Column::program("model", |it: &ReviewSeen<'_>| it.sulfur.model.word().into()),
        Column::program("wanted_molecular_so2_mg_l", |it| it.sulfur.wanted_mg_l.into()),
        // Of the free that is expected now.
        Column::program("molecular_so2_mg_l", |it| it.sulfur.molecular_mg_l.map(|it| rounded(it, 3)).into()),
        // The total now at the most: as tested, and all that was given since.
        Column::program("total_so2_mg_l", |it| it.sulfur.total_now.map(|(now, _)| rounded(now, 1)).into()),
        Column::program("total_given_since_mg_l", |it| it.sulfur.total_now.map(|(_, given)| given).into()),
        Column::program("note", |it| it.note().into()),
        Column::program("forecast", |it| it.sulfur.outlook.as_ref().map(|it| Cell::thing(&OUTLOOK, it)).into()),
        Column::program("no_forecast", |it| it.sulfur.forecast.as_ref().err().map(ToString::to_string).into()),
        Column::within("by_vessel", |it| Cell::things(&vessel_columns(), it.by_vessel())),
    ]
}

/// What is expected of the free sulfur dioxide now.
const OUTLOOK: [Column<FreeOutlook>; 9] = [
    Column::program("tests", |it: &FreeOutlook| it.tests.into()),
    Column::program("monthly_loss_pct", |it| rounded(it.rate_a_day * 30.0 * 100.0, 1).into()),
    Column::program("free_so2_mg_l", |it| rounded(it.now.free_mg_l, 1).into()),
    Column::program("low_mg_l", |it| rounded(it.now.low_mg_l, 1).into()),
    Column::program("high_mg_l", |it| rounded(it.now.high_mg_l, 1).into()),
    // The free that the wanted molecular takes.
    Column::program("wanted_free_so2_mg_l", |it| it.floor_mg_l.map(|floor| rounded(floor, 1)).into()),
    Column::program("perhaps_below", |it| it.perhaps_below.into()),
    Column::program("below", |it| it.below.into()),
    Column::program("is_below", |it| it.is_below().into()),
];

/// The sulfur dioxide of one of its vessels.
struct OfVessel<'a> {
    label: &'a Label,
    told: SulfurState,
    outlook: FreeOutlook,
}

fn vessel_columns<'a>() -> Vec<Column<OfVessel<'a>>> {
    vec![
        Column::program("vessel", |it: &OfVessel<'_>| it.label.into()),
        // What was tested last.
        Column::program("tested_mg_l", |it| rounded(it.told.free.value, 1).into()),
        Column::program("tested", |it| it.told.free.at.into()),
        Column::program("composite", |it| (it.told.free.of == TestOf::Composite).into()),
        // Whose test it is: its own, a composite's, or that of its wine before it came here.
        Column::program("tested_of", |it| it.told.free.of.word().into()),
        // What was given since, as a rise of the total.
        Column::program("given_since_mg_l", |it| it.given().into()),
        // As tested, and all that was given since.
        Column::program("total_so2_mg_l", |it| it.told.known.total_now.map(|total| rounded(total, 0)).into()),
        Column::program("molecular_so2_mg_l", |it| it.molecular().into()),
        Column::spread(|it| Cell::thing(&OUTLOOK, &it.outlook)),
    ]
}

impl OfVessel<'_> {
    fn given(&self) -> f64 {
        rounded(self.told.known.given_since_free, 1)
    }

    fn molecular(&self) -> Option<f64> {
        self.told.molecular_mg_l.map(|molecular| rounded(molecular, 3))
    }
}

impl<'a> ReviewSeen<'a> {
    /// Why nothing is molecular, or what is to be known of it.
    fn note(&self) -> Option<String> {
        match self.sulfur.balance {
            None => Some("No pH was tested yet.".to_owned()),
            Some(Err(error)) => Some(error.to_string()),
            Some(Ok(balance)) => balance.beyond().map(|beyond| beyond.to_string()),
        }
    }

    /// Of each vessel; none of one in which the free was never tested, or into which went more than any wine takes.
    fn by_vessel(&self) -> Vec<OfVessel<'a>> {
        let of = |&id: &VesselId| {
            let told = self.state.sulfur_state(id, self.on)?;
            let outlook = self.state.free_so2_outlook(id, self.on).ok()?;
            Some(OfVessel { label: self.vessel_label(id), told, outlook })
        };
        self.vessels.iter().filter_map(of).collect()
    }
}

/// Writes it for people; nothing where the free was never tested.
pub fn write(review: &ReviewSeen<'_>, page: &mut Page<'_>) -> Outcome {
    let sulfur = &review.sulfur;
    let Some(outlook) = &sulfur.outlook else { return Ok(()) };
    let by_vessel = review.by_vessel();
    let whole = Line {
        of: None,
        given: sulfur.total_now.map(|(_, given)| given).filter(|given| *given > 0.0),
        molecular: sulfur.molecular_mg_l.map(|molecular| rounded(molecular, 3)),
        outlook,
    };
    let lines: Vec<Line<'_>> = std::iter::once(whole).chain(by_vessel.iter().map(Line::of)).collect();
    page.section("sulfur dioxide, mg/L", &line_columns(), &lines)?;
    let bands = format!(
        "Molecular by the {} model; {} mg/L is wanted. From low to high is the 90 % range. {}",
        sulfur.model.word(),
        figure(sulfur.wanted_mg_l),
        bound_at_once(USUAL_BOUND_SHARE)
    );
    let note = review.note();
    let caution = Caution::of(&[Hazard::SulfurDioxide]).words();
    [Some(bands.as_str()), note.as_deref(), Some(&caution)]
        .into_iter()
        .flatten()
        .try_for_each(|words| below(page, words))
}

/// A line for people: the lot, or one of its vessels.
struct Line<'a> {
    of: Option<&'a OfVessel<'a>>,
    given: Option<f64>,
    molecular: Option<f64>,
    outlook: &'a FreeOutlook,
}

impl<'a> Line<'a> {
    fn of(vessel: &'a OfVessel<'a>) -> Line<'a> {
        let given = Some(vessel.given()).filter(|given| *given > 0.0);
        Line { of: Some(vessel), given, molecular: vessel.molecular(), outlook: &vessel.outlook }
    }
}

fn line_columns<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        Column::people("of", |it: &Line<'_>| it.of.map_or_else(|| "the lot".into(), |vessel| vessel.label.into())),
        Column::people("tested", |it| it.of.map(|vessel| rounded(vessel.told.free.value, 1)).into()),
        Column::people("on", |it| it.of.map(|vessel| vessel.told.free.at).into()),
        Column::people("given", |it: &Line<'_>| it.given.into()).sparse(),
        Column::people("molecular", |it| it.molecular.into()),
        Column::people("now", |it| rounded(it.outlook.now.free_mg_l, 1).into()),
        Column::people("low", |it| rounded(it.outlook.now.low_mg_l, 1).into()),
        Column::people("high", |it| rounded(it.outlook.now.high_mg_l, 1).into()),
        Column::people("wanted", |it| it.outlook.floor_mg_l.map(|floor| rounded(floor, 1)).into()),
        Column::people("below", |it| {
            if it.outlook.is_below() { Cell::Text("! now".to_owned()) } else { it.outlook.below.into() }
        }),
    ]
}
