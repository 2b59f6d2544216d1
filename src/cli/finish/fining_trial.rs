//! Fining trials at the desk: listed, shown, and the chosen dose planned for a vessel.

mod entering;

use super::moving::percent;
use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{FiningId, State};
use crate::cellar::jobs::finish::fining::given::FiningDone;
use crate::cellar::jobs::finish::fining::{FiningPlan, FiningTrial, TriedGlass, is_same_dose};
use crate::cli::core::complaint::Outcome;
use crate::cli::core::suggestion::called;
use crate::cli::reading::vessel;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::cli::table::seen::{Seen, seen};
use crate::reckon::fining::Watered;
use crate::told::finish::too_much_water;
use crate::told::hazard::Caution;

/// A fining trial by its label.
pub fn fining(state: &State, label: &str) -> Outcome<FiningId> {
    called("fining", &state.finings, label)
}

/// The chosen dose of a trial for a vessel; where none is named, for the one that was tried.
pub fn plan(state: &State, trial: &str, into: Option<&str>) -> Outcome<FiningPlan> {
    let trial = fining(state, trial)?;
    let tried = state.finings.get(trial).vessel;
    let id = into.map_or(Ok(tried), |label| vessel(state, label))?;
    Ok(state.plan_fining(trial, id)?)
}

/// A fining trial as it is told.
pub type TrialSeen<'a> = Seen<'a, &'a FiningTrial>;

/// A glass of it, and the dose that was chosen.
struct Glass<'a> {
    glass: &'a TriedGlass,
    chosen_g_l: Option<f64>,
}

impl<'a> Glass<'a> {
    fn all(trial: &'a FiningTrial) -> Vec<Glass<'a>> {
        trial.glasses.iter().map(|glass| Glass { glass, chosen_g_l: trial.chosen_g_l }).collect()
    }

    fn columns() -> [Column<Glass<'a>>; 5] {
        [
            Column::both("dose_g_l", "g/L", |it: &Glass<'_>| it.glass.dose_g_l.into()),
            Column::both("turbidity_ntu", "NTU", |it: &Glass<'_>| it.glass.turbidity_ntu.into()).sparse(),
            Column::both("score", "score", |it: &Glass<'_>| it.glass.score.into()).sparse(),
            Column::both("text", "seen", |it: &Glass<'_>| it.glass.text.as_ref().into()).sparse(),
            Column::both("chosen", "chosen", |it: &Glass<'_>| {
                it.chosen_g_l.is_some_and(|chosen| is_same_dose(chosen, it.glass.dose_g_l)).into()
            }),
        ]
    }
}

impl TrialSeen<'_> {
    /// What giving its agent would do to the claim of organic wine.
    fn organic_words(&self) -> Option<String> {
        self.thing.organic_words(self.state, self.thing.vessel)
    }

    /// What is to be said of the chosen dose against what is usual and published.
    fn dose_words(&self) -> Option<String> {
        self.chosen_g_l.and_then(|dose| self.word_on(self.state, dose))
    }
}

/// The columns of a list of fining trials.
#[must_use]
pub fn columns<'a>() -> Vec<Column<TrialSeen<'a>>> {
    vec![
        Column::both("trial", "fining", |it| (&it.label).into()),
        Column::both("at", "on", |it| it.at.into()),
        Column::both("vessel", "vessel", |it| it.vessel(it.thing.vessel)),
        Column::both("material", "material", |it| (&it.material).into()),
        Column::both("stock_pct", "stock %", |it| it.stock_pct.into()),
        Column::people("glasses", |it| it.glasses.len().into()),
        Column::both("chosen_g_l", "chosen g/L", |it| it.chosen_g_l.into()),
        Column::within("dose_words", |it| it.dose_words().into()),
        Column::within("organic", |it| it.organic_words().into()),
        Column::within("glasses", |it| Cell::things(&Glass::columns(), Glass::all(it))),
        Column::within("given", |it| it.within(&done_columns(), it.followed_by(it.state))),
    ]
}

/// A fining that was done, as it is told.
pub type DoneSeen<'a> = Seen<'a, &'a FiningDone>;

/// The columns of a list of finings that were done.
#[must_use]
pub fn done_columns<'a>() -> Vec<Column<DoneSeen<'a>>> {
    vec![
        Column::both("at", "on", |it| it.at.into()),
        Column::both("vessel", "vessel", |it| it.vessel(it.thing.vessel)),
        Column::program("lot", |it| it.lot(it.thing.lot)),
        Column::both("material", "material", |it| (&it.material).into()),
        Column::both("batch", "batch", |it: &DoneSeen<'_>| it.batch.as_ref().into()).sparse(),
        Column::both("amount_ug", "grams", |it| it.amount.into()),
        Column::both("solution_ul", "stock L", |it| Cell::Fine(it.stock)),
        Column::both("volume_ul", "of wine", |it| it.wine.into()),
        Column::both("dose_g_l", "g/L", |it| rounded(it.dose_g_l(), 4).into()),
        Column::both("racked_off", "racked off", |it: &DoneSeen<'_>| it.racked.map(|racked| racked.at).into()).sparse(),
        Column::program("racked_ul", |it| it.racked.map(|racked| racked.moved).into()),
        Column::both("lost_ul", "cost L", |it: &DoneSeen<'_>| it.racked.map(|racked| racked.lost).into()).sparse(),
        Column::both("lost_pct", "cost %", |it: &DoneSeen<'_>| {
            it.racked.and_then(|racked| racked.lost_share()).map(percent).into()
        })
        .sparse(),
    ]
}

/// Shows a fining trial with its glasses.
pub fn show(state: &State, label: &str, on: Moment, page: &mut Page<'_>) -> Outcome {
    let trial = Seen { state, on, thing: state.finings.get(fining(state, label)?) };
    let glasses = Glass::all(&trial);
    page.report((&columns(), &trial), (&Glass::columns(), &glasses), |page| {
        let (material, vessel) =
            (harmless(trial.material.as_str()), harmless(trial.vessel_label(trial.thing.vessel).as_str()));
        page.line(&format!("{}: {material}, stock of {} %, in the wine of {vessel}", trial.label, trial.stock_pct))?;
        page.line("")?;
        page.table(&Glass::columns(), &glasses)?;
        trial.dose_words().iter().chain(&trial.organic_words()).try_for_each(|words| below(page, words))?;
        page.section("given", &done_columns(), &seen(state, on, trial.followed_by(state)))
    })
}

/// What a vessel is given, as it is told.
pub type PlanSeen<'a> = Seen<'a, &'a FiningPlan>;

impl PlanSeen<'_> {
    fn trial(&self) -> &FiningTrial {
        self.state.finings.get(self.thing.trial)
    }

    fn dose_words(&self) -> Option<String> {
        self.trial().chosen_g_l.and_then(|dose| self.trial().word_on(self.state, dose))
    }

    fn watered(&self) -> Watered {
        self.thing.watered(self.state)
    }

    fn organic_words(&self) -> Option<String> {
        self.trial().organic_words(self.state, self.thing.vessel)
    }

    /// Gives the plan out.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        if page.is_for_people() {
            page.caution(&Caution::of_material(self.state, &self.trial().material))?;
        }
        page.card(&plan_columns(), self, |page| {
            self.dose_words().iter().chain(&self.organic_words()).try_for_each(|words| below(page, words))?;
            too_much_water(&self.watered()).iter().try_for_each(|words| below(page, words))
        })
    }
}

fn plan_columns<'a>() -> [Column<PlanSeen<'a>>; 13] {
    [
        Column::both("trial", "fining", |it: &PlanSeen<'_>| (&it.trial().label).into()),
        Column::both("vessel", "vessel", |it| it.vessel(it.thing.vessel)),
        Column::both("material", "material", |it| (&it.trial().material).into()),
        Column::both("dose_g_l", "g/L", |it| it.trial().chosen_g_l.unwrap_or_default().into()),
        Column::both("volume_ul", "litres", |it| it.state.vessels.get(it.thing.vessel).volume().into()),
        Column::both("amount_ug", "grams", |it| it.given.amount.into()),
        Column::both("solution_ul", "litres of stock", |it| Cell::Fine(it.given.stock)),
        Column::both("stock_of_wine_pct", "of the wine %", |it| rounded(it.given.share * 100.0, 2).into()),
        Column::program("water_of_wine_pct", |it| rounded(it.watered().share * 100.0, 2).into()),
        Column::both("above_water_allowed", "above 1 % water", |it| it.watered().is_above_figure().into()),
        Column::within("weakest_stock_pct", |it| it.watered().weakest_stock_pct.map(|pct| rounded(pct, 2)).into()),
        Column::within("dose_words", |it| it.dose_words().into()),
        Column::within("organic", |it| it.organic_words().into()),
    ]
}
