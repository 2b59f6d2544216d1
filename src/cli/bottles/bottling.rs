//! Bottles before they are filled: `reckon bottles`, `reckon fills`, `reckon fill-point`, `reckon label-alcohol` and
//! `plan bottling`.

use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bottles::bottling::plan::{BottlingAsked, BottlingPlan};
use crate::cli::arguments::{
    Bottles, BottlesArguments, BottlingPlanArguments, FillPointArguments, FillsArguments, LabelAlcoholArguments,
};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::reading;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::cli::table::seen::Seen;
use crate::reckon::bottling::{
    Alcohol, BatchCheck, Count, DryGoods, FOR_INFORMATION, FillCheck, NoBatch, NoFills, OddAlcohol, Packing,
    StatedAlcohol, check_batch, check_fills, count, fill_point_mm, label_alcohol, odd_size,
};
use crate::reckon::label_share::Rules;
use crate::told::hazard::Caution;
use crate::units::Volume;

impl From<NoFills> for Complaint {
    fn from(error: NoFills) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

impl From<NoBatch> for Complaint {
    fn from(error: NoBatch) -> Complaint {
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
    let filled = Filled::of(None, asked.litres, &asked.bottles)?;
    page.card(&columns(false), &filled, |_| Ok(()))
}

/// Plans the bottling of a vessel.
pub fn plan(state: &State, asked: &BottlingPlanArguments, on: Moment, page: &mut Page<'_>) -> Outcome {
    let plan = Seen { state, on, thing: planned(state, asked)? };
    let filled = Filled::of(Some(&plan), plan.volume, &asked.bottles)?;
    if page.is_for_people() {
        page.caution(&Caution::of_kind("bottled"))?;
    }
    page.card(&columns(true), &filled, |page| {
        let in_the_way = state.in_the_way_of_bottling(plan.thing.vessel);
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

/// What some wine gives in bottles, and what is wanted for them.
struct Filled<'a> {
    /// Of a vessel, its plan.
    plan: Option<&'a Seen<'a, BottlingPlan>>,
    volume: Volume,
    bottle: Volume,
    count: Count,
    goods: DryGoods,
}

impl<'a> Filled<'a> {
    fn of(plan: Option<&'a Seen<'a, BottlingPlan>>, volume: Volume, asked: &Bottles) -> Outcome<Filled<'a>> {
        let packing = Packing { case: asked.case, pallet: asked.pallet, spare: asked.spare };
        let count = count(volume, asked.bottle, asked.loss).ok_or(NoFills::NoBottle)?;
        let goods = DryGoods::of(count.bottles, packing).ok_or(NoFills::NoBottle)?;
        Ok(Filled { plan, volume, bottle: asked.bottle, count, goods })
    }
}

fn columns<'a>(of_a_vessel: bool) -> Vec<Column<Filled<'a>>> {
    let mut columns = Vec::new();
    if of_a_vessel {
        columns.extend([
            Column::both("vessel", "vessel", |it: &Filled<'_>| {
                it.plan.map_or(Cell::Nothing, |plan| plan.vessel(plan.thing.vessel))
            }),
            Column::both("lot", "lot", |it| it.plan.map_or(Cell::Nothing, |plan| plan.lot(plan.thing.lot))),
            Column::both("holds_ul", "holds", |it| it.plan.map(|plan| plan.holds).into()),
        ]);
    }
    columns.extend([
        Column::both("volume_ul", "litres", |it: &Filled<'_>| it.volume.into()),
        Column::both("bottle_ul", "bottle", |it| Cell::Measured(it.bottle)),
        Column::both("loss_ul", "lost", |it| it.count.loss.into()),
        Column::both("bottles", "bottles", |it| it.count.bottles.into()),
        Column::both("cases", "cases", |it| it.goods.full_cases.into()),
        Column::both("odd_bottles", "odd bottles", |it| it.goods.odd_bottles.into()),
        Column::both("left_ul", "left", |it| Cell::Measured(it.count.left)),
        Column::both("empty_bottles", "empty bottles", |it| it.goods.of_each.into()),
        Column::both("closures", "closures", |it| it.goods.of_each.into()),
        Column::both("capsules", "capsules", |it| it.goods.of_each.into()),
        Column::both("front_labels", "front labels", |it| it.goods.of_each.into()),
        Column::both("back_labels", "back labels", |it| it.goods.of_each.into()),
        Column::both("cartons", "cartons", |it| it.goods.cartons.into()),
        Column::both("pallets", "pallets", |it| it.goods.pallets.into()),
    ]);
    columns
}

/// Judges measured fills.
pub fn fills(asked: &FillsArguments, page: &mut Page<'_>) -> Outcome {
    let check = check_fills(&asked.fills, asked.nominal, asked.rules.into())?;
    let tested = |batch| check_batch(&asked.fills, asked.nominal, batch, asked.destructive);
    let batch = asked.batch.filter(|_| check.rules == Rules::Eu).map(tested).transpose()?;
    if asked.batch.is_some() && batch.is_none() {
        let sentence =
            "The batch test is the European Union's (Directive 76/211/EEC, Annex II): give --rules eu with it.";
        return Err(Complaint::Refused(sentence.to_owned()));
    }
    let seen = FillsSeen { check, batch };
    page.card(&fills_columns(), &seen, |page| {
        below(page, &seen.check.words())?;
        match &seen.batch {
            Some(batch) => below(page, &batch.words())?,
            None => below(page, seen.check.beyond_it())?,
        }
        if let Some(odd) = odd_size(seen.check.nominal, seen.check.rules) {
            below(page, &odd)?;
        }
        page.line(FOR_INFORMATION)
    })
}

/// How measured bottles stand to what a label says.
pub struct FillsSeen {
    /// How they stand.
    pub check: FillCheck,
    /// How their batch stands, where they are its sample.
    pub batch: Option<BatchCheck>,
}

const BATCH: [Column<BatchCheck>; 8] = [
    Column::both("bottles", "bottles", |it: &BatchCheck| it.batch.into()),
    Column::both("judged_by", "judged by", |it| it.stage.map(|stage| stage.measured).into()),
    Column::both("short", "short", |it| it.short.into()),
    Column::both("far_short", "far short", |it| it.far_short.into()),
    Column::both("mean_ml", "mean", |it| rounded(it.mean_ml, 3).into()),
    Column::both("least_mean_ml", "least mean", |it| rounded(it.least_mean_ml, 3).into()),
    Column::both("verdict", "verdict", |it| it.verdict.word().into()),
    Column::both("says", "says", |it| it.words().into()),
];

/// The columns of what is said of measured bottles.
#[must_use]
pub fn fills_columns() -> Vec<Column<FillsSeen>> {
    vec![
        Column::both("rules", "rules", |it| it.check.rules.word().into()),
        Column::both("nominal_ul", "stated", |it| Cell::Measured(it.check.nominal)),
        Column::both("measured", "measured", |it| it.check.measured.into()),
        Column::both("mean_ul", "mean", |it| Cell::Measured(it.check.mean)),
        Column::both("deviation_ml", "deviation", |it| it.check.deviation_ml.map(|it| rounded(it, 2)).into()),
        Column::both("least_ul", "least", |it| Cell::Measured(it.check.range.0)),
        Column::both("most_ul", "most", |it| Cell::Measured(it.check.range.1)),
        Column::both("tolerance_ul", "tolerance", |it| Cell::Measured(it.check.tolerance)),
        Column::both("under", "under", |it| it.check.under.into()),
        Column::both("over", "over", |it| it.check.over.into()),
        Column::both("too_little", "too little", |it| it.check.too_little.into()),
        Column::both("far_too_little", "far too little", |it| it.check.far_too_little.into()),
        Column::both("too_much", "too much", |it| it.check.too_much.into()),
        Column::both("holds", "within this house's check", |it: &FillsSeen| it.check.is_within().into())
            .on_card("within this house's check"),
        Column::program("says", |it: &FillsSeen| it.check.words().into()).nested(),
        Column::within("asked_beyond", |it| it.check.beyond_it().into()),
        Column::within("batch", |it| it.batch.as_ref().map_or(Cell::Nothing, |batch| Cell::thing(&BATCH, batch))),
    ]
}

/// Reckons where wine is to stand in the neck.
pub fn fill_point(asked: FillPointArguments, page: &mut Page<'_>) -> Outcome {
    let temperature_c = asked.temperature;
    if !(-5.0..=40.0).contains(&temperature_c) {
        let sentence = format!("No wine is filled at {temperature_c} °C. Give a temperature between -5 and 40.");
        return Err(Complaint::Refused(sentence));
    }
    page.card(&FILL_POINT, &temperature_c, |page| {
        below(
            page,
            "From the top of a 750 mL bottle down to the wine. The mark of the bottle's own maker goes before it.",
        )
    })
}

/// Where wine of a temperature is to stand, °C.
const FILL_POINT: [Column<f64>; 2] = [
    Column::both("temperature_c", "temperature", |it: &f64| (*it).into()),
    Column::both("fill_point_mm", "fill point", |it| rounded(fill_point_mm(*it), 1).into()),
];

/// Judges the alcohol on a label.
pub fn alcohol(asked: &LabelAlcoholArguments, page: &mut Page<'_>) -> Outcome {
    let (label_pct, found_pct) = (asked.label, asked.found);
    let rules = Rules::from(asked.rules);
    let judged = label_alcohol(StatedAlcohol { label_pct, found_pct, rules, wider: asked.wider })?;
    let says = judged.words();
    let seen = AlcoholSeen { asked: StatedAlcohol { label_pct, found_pct, rules, wider: asked.wider }, judged, says };
    page.card(&ALCOHOL, &seen, |page| {
        seen.says.iter().try_for_each(|words| below(page, words))?;
        page.line(FOR_INFORMATION)
    })
}

/// How the alcohol of a label stands to what was found.
struct AlcoholSeen {
    asked: StatedAlcohol,
    judged: Alcohol,
    says: Vec<String>,
}

const ALCOHOL: [Column<AlcoholSeen>; 8] = [
    Column::both("rules", "rules", |it: &AlcoholSeen| it.asked.rules.word().into()),
    Column::both("label_pct", "label", |it| it.asked.label_pct.into()),
    Column::both("found_pct", "found", |it| it.asked.found_pct.into()),
    Column::both("off_pct", "off", |it| rounded(it.judged.off_pct, 2).into()),
    Column::both("tolerance_pct", "tolerance", |it| it.judged.tolerance_pct.into()),
    Column::both("crosses_pct", "crosses", |it| it.judged.crosses.map(|bound| bound.pct).into()),
    Column::both("holds", "within the figures", |it: &AlcoholSeen| it.judged.is_within().into())
        .on_card("within the figures"),
    Column::within("says", |it| Cell::list(&it.says)),
];
