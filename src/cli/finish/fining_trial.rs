//! Fining trials at the desk: listed, shown, and the chosen dose planned for a vessel.

mod entering;

use serde::Serialize;

use super::moving::percent;
use crate::cellar::core::label::{Label, Text, harmless};
use crate::cellar::core::state::{FiningId, State};
use crate::cellar::jobs::finish::fining::given::FiningDone;
use crate::cellar::jobs::finish::fining::{FiningPlan, FiningTrial, TriedGlass, is_same_dose};
use crate::cli::arguments::FiningPlanArguments;
use crate::cli::core::complaint::Outcome;
use crate::cli::core::suggestion::not_found;
use crate::cli::reading::vessel;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::{below, rounded};
use crate::units::{Mass, Volume};

/// A fining trial by its label.
pub fn fining(state: &State, label: &str) -> Outcome<FiningId> {
    let found = state.finings.find(label);
    found.ok_or_else(|| not_found("fining", label, state.finings.iter().map(|(_, trial)| &trial.label)))
}

/// The chosen dose of a trial for a vessel; where none is named, for the one that was tried.
pub fn plan(state: &State, asked: &FiningPlanArguments) -> Outcome<FiningPlan> {
    let trial = fining(state, &asked.trial)?;
    let tried = state.finings.get(trial).vessel;
    let id = asked.vessel.as_ref().map_or(Ok(tried), |label| vessel(state, label))?;
    Ok(state.plan_fining(trial, id)?)
}

/// A fining trial, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct FiningTrialView {
    trial: Label,
    at: When,
    vessel: Label,
    material: Label,
    stock_pct: f64,
    chosen_g_l: Option<f64>,
    /// What is to be said of the chosen dose against what is usual and allowed.
    dose_words: Option<String>,
    glasses: Vec<GlassView>,
    given: Vec<FiningDoneView>,
}

/// A glass of it.
#[derive(Debug, Serialize)]
struct GlassView {
    dose_g_l: f64,
    turbidity_ntu: Option<f64>,
    score: Option<f64>,
    text: Option<Text>,
    chosen: bool,
}

impl GlassView {
    fn of(glass: &TriedGlass, chosen_g_l: Option<f64>) -> GlassView {
        GlassView {
            dose_g_l: glass.dose_g_l,
            turbidity_ntu: glass.turbidity_ntu,
            score: glass.score,
            text: glass.text.clone(),
            chosen: chosen_g_l.is_some_and(|chosen| is_same_dose(chosen, glass.dose_g_l)),
        }
    }

    const COLUMNS: [Column<GlassView>; 5] = [
        Column::both("dose_g_l", "g/L", |it: &GlassView| it.dose_g_l.into()),
        Column::both("turbidity_ntu", "NTU", |it: &GlassView| it.turbidity_ntu.into()).sparse(),
        Column::both("score", "score", |it: &GlassView| it.score.into()).sparse(),
        Column::both("text", "seen", |it: &GlassView| it.text.as_ref().into()).sparse(),
        Column::both("chosen", "chosen", |it: &GlassView| it.chosen.into()),
    ];
}

impl FiningTrialView {
    fn of(state: &State, trial: &FiningTrial) -> FiningTrialView {
        FiningTrialView {
            trial: trial.label.clone(),
            at: When(trial.at),
            vessel: state.vessels.get(trial.vessel).label.clone(),
            material: trial.material.clone(),
            stock_pct: trial.stock_pct,
            chosen_g_l: trial.chosen_g_l,
            dose_words: trial.chosen_g_l.and_then(|dose| trial.word_on(state, dose)),
            given: trial.followed_by(state).map(|done| FiningDoneView::of(state, done)).collect(),
            glasses: trial.glasses.iter().map(|glass| GlassView::of(glass, trial.chosen_g_l)).collect(),
        }
    }

    /// All, in the order in which they were first written down.
    #[must_use]
    pub fn all(state: &State) -> Vec<FiningTrialView> {
        state.finings.iter().map(|(_, trial)| FiningTrialView::of(state, trial)).collect()
    }

    /// The columns of a list of them.
    pub const COLUMNS: [Column<FiningTrialView>; 7] = [
        Column::both("trial", "fining", |it: &FiningTrialView| (&it.trial).into()),
        Column::both("at", "on", |it| it.at.into()),
        Column::both("vessel", "vessel", |it| (&it.vessel).into()),
        Column::both("material", "material", |it| (&it.material).into()),
        Column::both("stock_pct", "stock %", |it| it.stock_pct.into()),
        Column::people("glasses", |it| it.glasses.len().into()),
        Column::both("chosen_g_l", "chosen g/L", |it| it.chosen_g_l.into()),
    ];
}

/// A fining that was done, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct FiningDoneView {
    at: When,
    vessel: Label,
    lot: Option<Label>,
    material: Label,
    batch: Option<Label>,
    amount_ug: Mass,
    solution_ul: Volume,
    volume_ul: Volume,
    dose_g_l: f64,
    racked_off: Option<When>,
    racked_ul: Option<Volume>,
    lost_ul: Option<Volume>,
    lost_pct: Option<f64>,
}

impl FiningDoneView {
    /// A fining for people and programs.
    pub fn of(state: &State, done: &FiningDone) -> FiningDoneView {
        FiningDoneView {
            at: When(done.at),
            vessel: state.vessels.get(done.vessel).label.clone(),
            lot: done.lot.map(|lot| state.lots.get(lot).label.clone()),
            material: done.material.clone(),
            batch: done.batch.clone(),
            amount_ug: done.amount,
            solution_ul: done.stock,
            volume_ul: done.wine,
            dose_g_l: rounded(done.dose_g_l(), 4),
            racked_off: done.racked.map(|racked| When(racked.at)),
            racked_ul: done.racked.map(|racked| racked.moved),
            lost_ul: done.racked.map(|racked| racked.lost),
            lost_pct: done.racked.and_then(|racked| racked.lost_share()).map(percent),
        }
    }

    /// The columns of a list of them.
    pub const COLUMNS: [Column<FiningDoneView>; 13] = [
        Column::both("at", "on", |it: &FiningDoneView| it.at.into()),
        Column::both("vessel", "vessel", |it| (&it.vessel).into()),
        Column::program("lot", |it| it.lot.as_ref().into()),
        Column::both("material", "material", |it| (&it.material).into()),
        Column::both("batch", "batch", |it: &FiningDoneView| it.batch.as_ref().into()).sparse(),
        Column::both("amount_ug", "grams", |it| it.amount_ug.into()),
        Column::both("solution_ul", "stock L", |it| Cell::Fine(it.solution_ul)),
        Column::both("volume_ul", "of wine", |it| it.volume_ul.into()),
        Column::both("dose_g_l", "g/L", |it| it.dose_g_l.into()),
        Column::both("racked_off", "racked off", |it: &FiningDoneView| it.racked_off.into()).sparse(),
        Column::program("racked_ul", |it| it.racked_ul.into()),
        Column::both("lost_ul", "cost L", |it: &FiningDoneView| it.lost_ul.into()).sparse(),
        Column::both("lost_pct", "cost %", |it: &FiningDoneView| it.lost_pct.into()).sparse(),
    ];
}

/// Shows a fining trial with its glasses.
pub fn show(state: &State, label: &str, page: &mut Page<'_>) -> Outcome {
    let view = FiningTrialView::of(state, state.finings.get(fining(state, label)?));
    page.report(&view, &GlassView::COLUMNS, &view.glasses, |page| {
        let (material, vessel) = (harmless(view.material.as_str()), harmless(view.vessel.as_str()));
        page.line(&format!("{}: {material}, stock of {} %, in the wine of {vessel}", view.trial, view.stock_pct))?;
        page.line("")?;
        page.table(&GlassView::COLUMNS, &view.glasses)?;
        view.dose_words.iter().try_for_each(|words| below(page, words))?;
        page.section("given", &FiningDoneView::COLUMNS, &view.given)
    })
}

/// What a vessel is given, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct FiningPlanView {
    trial: Label,
    vessel: Label,
    material: Label,
    dose_g_l: f64,
    volume_ul: Volume,
    amount_ug: Mass,
    solution_ul: Volume,
    stock_of_wine_pct: f64,
    above_water_allowed: bool,
    weakest_stock_pct: f64,
    dose_words: Option<String>,
}

impl FiningPlanView {
    /// A plan for people and programs.
    pub fn of(state: &State, plan: &FiningPlan) -> FiningPlanView {
        let (trial, vessel) = (state.finings.get(plan.trial), state.vessels.get(plan.vessel));
        FiningPlanView {
            trial: trial.label.clone(),
            vessel: vessel.label.clone(),
            material: trial.material.clone(),
            dose_g_l: trial.chosen_g_l.unwrap_or_default(),
            volume_ul: vessel.volume(),
            amount_ug: plan.given.amount,
            solution_ul: plan.given.stock,
            stock_of_wine_pct: rounded(plan.given.share * 100.0, 2),
            above_water_allowed: plan.given.is_above_water_allowed(),
            weakest_stock_pct: rounded(plan.fining.weakest_stock_pct(), 2),
            dose_words: trial.chosen_g_l.and_then(|dose| trial.word_on(state, dose)),
        }
    }

    /// Gives it out.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.card(&FiningPlanView::COLUMNS, self, |page| {
            self.dose_words.iter().try_for_each(|words| below(page, words))?;
            if !self.above_water_allowed {
                return Ok(());
            }
            let weakest = self.weakest_stock_pct;
            below(
                page,
                &format!(
                    "The stock is more than the water that 27 CFR 24.246 allows. Make it up to at least {weakest} %, or \
                     in the wine itself."
                ),
            )
        })
    }

    const COLUMNS: [Column<FiningPlanView>; 9] = [
        Column::both("trial", "fining", |it: &FiningPlanView| (&it.trial).into()),
        Column::both("vessel", "vessel", |it| (&it.vessel).into()),
        Column::both("material", "material", |it| (&it.material).into()),
        Column::both("dose_g_l", "g/L", |it| it.dose_g_l.into()),
        Column::both("volume_ul", "litres", |it| it.volume_ul.into()),
        Column::both("amount_ug", "grams", |it| it.amount_ug.into()),
        Column::both("solution_ul", "litres of stock", |it| Cell::Fine(it.solution_ul)),
        Column::both("stock_of_wine_pct", "of the wine %", |it| it.stock_of_wine_pct.into()),
        Column::both("above_water_allowed", "above 1 % water", |it| it.above_water_allowed.into()),
    ];
}
