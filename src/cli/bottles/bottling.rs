//! Bottles before they are filled: `reckon bottles`, `reckon fills`, `reckon fill-point`, `reckon label-alcohol` and
//! `plan bottling`.

use serde::Serialize;

use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::state::State;
use crate::cellar::jobs::bottles::bottling::plan::{BottlingAsked, BottlingPlan};
use crate::cli::arguments::{
    Bottles, BottlesArguments, BottlingPlanArguments, FillPointArguments, FillsArguments, LabelAlcoholArguments,
};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::reading;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::{below, rounded};
use crate::reckon::bottling::{
    DryGoods, FillCheck, NO_ADVICE, NoFills, OddAlcohol, Packing, StatedAlcohol, check_fills, count, fill_point_mm,
    label_alcohol,
};
use crate::reckon::label_share::Rules;
use crate::units::Volume;

impl From<NoFills> for Complaint {
    fn from(error: NoFills) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

impl From<OddAlcohol> for Complaint {
    fn from(error: OddAlcohol) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

/// Reckons the bottles of some litres.
pub fn bottles(asked: &BottlesArguments, page: &mut Page<'_>) -> Outcome {
    let view = BottlesView::of(None, asked.litres, &asked.bottles)?;
    page.card(&BottlesView::columns(), &view, |_| Ok(()))
}

/// Plans the bottling of a vessel.
pub fn plan(state: &State, asked: &BottlingPlanArguments, page: &mut Page<'_>) -> Outcome {
    let plan = planned(state, asked)?;
    let vessel = state.vessels.get(plan.vessel);
    let lot = plan.lot.map(|lot| state.lots.get(lot).label.clone());
    let source = Source { vessel: vessel.label.clone(), lot, holds_ul: plan.holds };
    let view = BottlesView::of(Some(source), plan.volume, &asked.bottles)?;
    page.card(&BottlesView::columns(), &view, |page| {
        let in_the_way = state.in_the_way_of_bottling(plan.vessel);
        in_the_way.iter().try_for_each(|sentence| below(page, &harmless(sentence)))
    })
}

/// The plan that is asked for.
pub(in crate::cli) fn planned(state: &State, asked: &BottlingPlanArguments) -> Outcome<BottlingPlan> {
    let Bottles { bottle, loss, case, pallet, spare } = asked.bottles;
    let packing = Packing { case, pallet, spare };
    let vessel = reading::vessel(state, &asked.tank)?;
    Ok(state.plan_bottling(vessel, BottlingAsked { litres: asked.litres, bottle, loss, packing })?)
}

/// The vessel that is bottled.
#[derive(Debug, Serialize)]
struct Source {
    vessel: Label,
    lot: Option<Label>,
    holds_ul: Volume,
}

/// What some wine gives in bottles, and what is wanted for them.
#[derive(Debug, Serialize)]
struct BottlesView {
    #[serde(flatten)]
    source: Option<Source>,
    volume_ul: Volume,
    bottle_ul: Volume,
    loss_ul: Volume,
    bottles: u64,
    cases: u64,
    odd_bottles: u64,
    left_ul: Volume,
    empty_bottles: u64,
    closures: u64,
    capsules: u64,
    front_labels: u64,
    back_labels: u64,
    cartons: u64,
    pallets: u64,
}

impl BottlesView {
    fn of(source: Option<Source>, volume: Volume, asked: &Bottles) -> Outcome<BottlesView> {
        let packing = Packing { case: asked.case, pallet: asked.pallet, spare: asked.spare };
        let counted = count(volume, asked.bottle, asked.loss).ok_or(NoFills::NoBottle)?;
        let goods = DryGoods::of(counted.bottles, packing).ok_or(NoFills::NoBottle)?;
        Ok(BottlesView {
            source,
            volume_ul: volume,
            bottle_ul: asked.bottle,
            loss_ul: counted.loss,
            bottles: counted.bottles,
            cases: goods.full_cases,
            odd_bottles: goods.odd_bottles,
            left_ul: counted.left,
            empty_bottles: goods.of_each,
            closures: goods.of_each,
            capsules: goods.of_each,
            front_labels: goods.of_each,
            back_labels: goods.of_each,
            cartons: goods.cartons,
            pallets: goods.pallets,
        })
    }

    fn columns() -> Vec<Column<BottlesView>> {
        vec![
            Column::both("vessel", "vessel", |it: &BottlesView| it.source.as_ref().map(|its| &its.vessel).into()),
            Column::both("lot", "lot", |it| it.source.as_ref().and_then(|its| its.lot.as_ref()).into()),
            Column::both("holds_ul", "holds", |it| it.source.as_ref().map(|its| its.holds_ul).into()),
            Column::both("volume_ul", "litres", |it| it.volume_ul.into()),
            Column::both("bottle_ul", "bottle", |it| Cell::Measured(it.bottle_ul)),
            Column::both("loss_ul", "lost", |it| it.loss_ul.into()),
            Column::both("bottles", "bottles", |it| it.bottles.into()),
            Column::both("cases", "cases", |it| it.cases.into()),
            Column::both("odd_bottles", "odd bottles", |it| it.odd_bottles.into()),
            Column::both("left_ul", "left", |it| Cell::Measured(it.left_ul)),
            Column::both("empty_bottles", "empty bottles", |it| it.empty_bottles.into()),
            Column::both("closures", "closures", |it| it.closures.into()),
            Column::both("capsules", "capsules", |it| it.capsules.into()),
            Column::both("front_labels", "front labels", |it| it.front_labels.into()),
            Column::both("back_labels", "back labels", |it| it.back_labels.into()),
            Column::both("cartons", "cartons", |it| it.cartons.into()),
            Column::both("pallets", "pallets", |it| it.pallets.into()),
        ]
    }
}

/// Judges measured fills.
pub fn fills(asked: &FillsArguments, page: &mut Page<'_>) -> Outcome {
    let view = FillsView::of(&check_fills(&asked.fills, asked.nominal, asked.rules.into())?, asked.nominal);
    page.card(&FillsView::columns(), &view, |page| {
        below(page, &view.says)?;
        page.line(NO_ADVICE)
    })
}

/// How measured bottles stand to a label.
#[derive(Debug, Serialize)]
pub struct FillsView {
    rules: &'static str,
    nominal_ul: Volume,
    measured: usize,
    mean_ul: Volume,
    deviation_ml: Option<f64>,
    least_ul: Volume,
    most_ul: Volume,
    tolerance_ul: Volume,
    too_little: usize,
    far_too_little: usize,
    too_much: usize,
    holds: bool,
    says: String,
}

impl FillsView {
    /// A check as it is told.
    #[must_use]
    pub fn of(check: &FillCheck, nominal: Volume) -> FillsView {
        FillsView {
            rules: check.rules.word(),
            nominal_ul: nominal,
            measured: check.measured,
            mean_ul: check.mean,
            deviation_ml: check.deviation_ml.map(|it| rounded(it, 2)),
            least_ul: check.range.0,
            most_ul: check.range.1,
            tolerance_ul: check.tolerance,
            too_little: check.too_little,
            far_too_little: check.far_too_little,
            too_much: check.too_much,
            holds: check.holds(),
            says: check.words(),
        }
    }

    /// What it comes to, in a sentence.
    #[must_use]
    pub fn says(&self) -> &str {
        &self.says
    }

    fn columns() -> Vec<Column<FillsView>> {
        vec![
            Column::both("rules", "rules", |it: &FillsView| it.rules.into()),
            Column::both("nominal_ul", "stated", |it| Cell::Measured(it.nominal_ul)),
            Column::both("measured", "measured", |it| it.measured.into()),
            Column::both("mean_ul", "mean", |it| Cell::Measured(it.mean_ul)),
            Column::both("deviation_ml", "deviation", |it| it.deviation_ml.into()),
            Column::both("least_ul", "least", |it| Cell::Measured(it.least_ul)),
            Column::both("most_ul", "most", |it| Cell::Measured(it.most_ul)),
            Column::both("tolerance_ul", "tolerance", |it| Cell::Measured(it.tolerance_ul)),
            Column::both("too_little", "too little", |it| it.too_little.into()),
            Column::both("far_too_little", "far too little", |it| it.far_too_little.into()),
            Column::both("too_much", "too much", |it| it.too_much.into()),
            Column::both("holds", "holds", |it| it.holds.into()),
            Column::program("says", |it: &FillsView| (&it.says).into()).nested(),
        ]
    }
}

/// Reckons where wine is to stand in the neck.
pub fn fill_point(asked: FillPointArguments, page: &mut Page<'_>) -> Outcome {
    let temperature_c = asked.temperature;
    if !(-5.0..=40.0).contains(&temperature_c) {
        let sentence = format!("No wine is filled at {temperature_c} °C. Give a temperature between -5 and 40.");
        return Err(Complaint::Refused(sentence));
    }
    let view = FillPointView { temperature_c, fill_point_mm: rounded(fill_point_mm(temperature_c), 1) };
    page.card(&FillPointView::COLUMNS, &view, |page| {
        below(
            page,
            "From the top of a 750 mL bottle down to the wine. The mark of the bottle's own maker goes before it.",
        )
    })
}

#[derive(Debug, Serialize)]
struct FillPointView {
    temperature_c: f64,
    fill_point_mm: f64,
}

impl FillPointView {
    const COLUMNS: [Column<FillPointView>; 2] = [
        Column::both("temperature_c", "temperature", |it: &FillPointView| it.temperature_c.into()),
        Column::both("fill_point_mm", "fill point", |it| it.fill_point_mm.into()),
    ];
}

/// Judges the alcohol on a label.
pub fn alcohol(asked: &LabelAlcoholArguments, page: &mut Page<'_>) -> Outcome {
    let (label_pct, found_pct) = (asked.label, asked.found);
    let rules = Rules::from(asked.rules);
    let judged = label_alcohol(StatedAlcohol { label_pct, found_pct, rules, wider: asked.wider })?;
    let mut says = Vec::new();
    if !judged.is_near {
        says.push(format!("It is more than {} % vol from what was found.", judged.tolerance_pct));
    }
    if let Some(limit) = judged.crosses_pct {
        says.push(format!("The limit of {limit} % vol lies between the two, and no tolerance goes across it."));
    }
    if !judged.is_well_written {
        says.push("The European Union asks for whole or half units.".to_owned());
    }
    if says.is_empty() {
        says.push("The figure may stand.".to_owned());
    }
    let view = AlcoholView {
        rules: rules.word(),
        label_pct,
        found_pct,
        off_pct: rounded(judged.off_pct, 2),
        tolerance_pct: judged.tolerance_pct,
        crosses_pct: judged.crosses_pct,
        holds: judged.holds(),
        says,
    };
    page.card(&AlcoholView::columns(), &view, |page| {
        view.says.iter().try_for_each(|words| below(page, words))?;
        page.line(NO_ADVICE)
    })
}

#[derive(Debug, Serialize)]
struct AlcoholView {
    rules: &'static str,
    label_pct: f64,
    found_pct: f64,
    off_pct: f64,
    tolerance_pct: f64,
    crosses_pct: Option<f64>,
    holds: bool,
    says: Vec<String>,
}

impl AlcoholView {
    fn columns() -> Vec<Column<AlcoholView>> {
        vec![
            Column::both("rules", "rules", |it: &AlcoholView| it.rules.into()),
            Column::both("label_pct", "label", |it| it.label_pct.into()),
            Column::both("found_pct", "found", |it| it.found_pct.into()),
            Column::both("off_pct", "off", |it| it.off_pct.into()),
            Column::both("tolerance_pct", "tolerance", |it| it.tolerance_pct.into()),
            Column::both("crosses_pct", "crosses", |it| it.crosses_pct.into()),
            Column::both("holds", "holds", |it| it.holds.into()),
        ]
    }
}
