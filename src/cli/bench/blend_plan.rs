//! `plan blend`: the largest batch of a ratio, the transfers in their order, what stays, and what the blend would be.

use super::blend::{ALCOHOL_ASSUMED, FREE_AT_MOST, PH_BY_BALANCE, STRAINED, assumed_words};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::views::bench::blend::{
    BlendForecast, BlendPlan, BlendRequest, Component, Draw, Expected, NoBlend, Source,
};
use crate::cellar::views::books::lineage::Tracer;
use crate::cli::arguments::BlendPlanArguments;
use crate::cli::books::claims::{NO_ADVICE, claim_columns};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::suggestion::not_found;
use crate::cli::reading;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::cli::table::seen::{Seen, seen};
use crate::cli::topping::plan::{held_columns, suspect_columns};
use crate::reckon::acidity::Prediction;
use crate::reckon::blend::BlendedPh;
use crate::reckon::scale_up::Limit;
use crate::told::hazard::Caution;
use crate::told::tests::ago;
use crate::units::{Shares, Volume, figure, litres, percent, show_percent};

/// Percentages that are written to two decimals sum to all but for this, in millionths: a third is 33.33%.
const WRITTEN_SHORT: u32 = 500;

impl From<NoBlend> for Complaint {
    fn from(refused: NoBlend) -> Complaint {
        Complaint::Refused(refused.to_string())
    }
}

/// Plans what the command line asks for.
pub fn plan(tracer: &Tracer, asked: &BlendPlanArguments, on: Moment) -> Outcome<BlendPlan> {
    Ok(tracer.state.plan_blend(request(&tracer.state, asked)?, &tracer.new_wood(), on)?)
}

/// The facts that begin it as a work.
pub fn begin(state: &State, plan: &BlendPlan, asked: &BlendPlanArguments, work: Label) -> Outcome<Vec<What>> {
    let Some(lot) = &asked.lot else {
        let sentence = "A blend is a lot of its own. Name it with --lot.";
        return Err(Complaint::Refused(sentence.to_owned()));
    };
    let lot = Label::new(lot).map_err(|error| Complaint::Refused(error.to_string()))?;
    Ok(plan.begin(state, work, lot)?)
}

fn request(state: &State, asked: &BlendPlanArguments) -> Outcome<BlendRequest> {
    let whole: Vec<(String, Volume)> = asked.whole.iter().map(|label| (label.clone(), Volume::ZERO)).collect();
    by_label(&asked.shares, &whole)?;
    let component = |((label, _), keep): (&(String, u32), Volume)| -> Outcome<Component> {
        Ok(Component { source: source(state, label)?, keep, whole: asked.whole.contains(label) })
    };
    let keep = by_label(&asked.shares, &asked.keep)?;
    Ok(BlendRequest {
        components: asked.shares.iter().zip(keep).map(component).collect::<Outcome<_>>()?,
        shares: shares(&asked.shares)?,
        into: asked.into.as_ref().map(|label| reading::vessel(state, label)).transpose()?,
        tolerance: asked.tolerance,
        litres: asked.litres,
        barrels_first: asked.barrels_first,
        despite: asked.begin.entering.despite.is_some(),
    })
}

/// A vessel by its label, else a lot.
fn source(state: &State, label: &str) -> Outcome<Source> {
    match (state.vessels.find(label), state.lots.find(label)) {
        (Some(vessel), _) => Ok(Source::Vessel(vessel)),
        (None, Some(lot)) => Ok(Source::Lot(lot)),
        (None, None) => {
            let lots = state.lots.iter().map(|(_, lot)| &lot.label);
            let labels = state.vessels.iter().map(|(_, vessel)| &vessel.label).chain(lots);
            Err(not_found("vessel or lot", label, labels))
        }
    }
}

/// The litres that are said of the wines that have a share, in the order of the shares; nothing where none are said.
pub(in crate::cli) fn by_label(shares: &[(String, u32)], said: &[(String, Volume)]) -> Outcome<Vec<Volume>> {
    if let Some((stranger, _)) = said.iter().find(|(label, _)| !shares.iter().any(|(known, _)| known == label)) {
        let sentence = format!("'{}' has no share in the blend. Give it one with --share.", harmless(stranger));
        return Err(Complaint::Refused(sentence));
    }
    let litres_of =
        |(label, _): &(String, u32)| said.iter().filter(|(named, _)| named == label).map(|(_, it)| *it).sum();
    Ok(shares.iter().map(litres_of).collect())
}

/// The shares of a blend, which must sum to the whole.
pub(in crate::cli) fn shares(said: &[(String, u32)]) -> Outcome<Shares> {
    let sum: u32 = said.iter().map(|(_, millionths)| millionths).fold(0, |sum, it| sum.saturating_add(*it));
    if sum.abs_diff(Shares::WHOLE) > WRITTEN_SHORT {
        let sentence = format!("The shares sum to {}%. They must sum to 100%.", show_percent(sum));
        return Err(Complaint::Refused(sentence));
    }
    let parts: Vec<u64> = said.iter().map(|(_, millionths)| u64::from(*millionths)).collect();
    Shares::in_proportion(&parts).map_err(|error| Complaint::Refused(error.to_string()))
}

/// The plan of a blend as it is told.
pub type BlendSeen<'a> = Seen<'a, &'a BlendPlan>;

/// The columns of the plan of a blend.
#[must_use]
pub fn columns<'a>() -> Vec<Column<BlendSeen<'a>>> {
    vec![
        Column::program("into", |it: &BlendSeen<'_>| it.request.into.map(|into| it.vessel(into)).into()),
        Column::program("volume_ul", |it| it.batch.volume.into()),
        Column::program("limit", |it| {
            Cell::from(match it.batch.limit {
                Limit::Tanks(_) => "wine",
                Limit::Room => "room",
                Limit::Asked => "asked",
            })
        }),
        Column::within("components", |it| Cell::things(&component_columns(), components(it))),
        Column::within("transfers", |it| Cell::things(&transfer_columns(), transfers(it))),
        Column::within("forecast", |it| Cell::thing(&forecast_columns(), &it.forecast)),
        Column::within("claims", |it| Cell::things(&claim_columns(), it.forecast.claims.iter().map(Into::into))),
        Column::within("held", |it| it.within(&held_columns(), it.held.iter().copied())),
        Column::within("held_despite", |it| it.within(&held_columns(), it.despite.iter().copied())),
        Column::within("suspect", |it| it.within(&suspect_columns(), it.suspect.iter().copied())),
    ]
}

/// Gives the plan out; as a spreadsheet, its transfers.
pub fn write(told: &BlendSeen<'_>, page: &mut Page<'_>) -> Outcome {
    page.report((&columns(), told), (&transfer_columns(), &transfers(told)), |page| tell(told, page))
}

/// Tells people of the plan.
pub fn tell(told: &BlendSeen<'_>, page: &mut Page<'_>) -> Outcome {
    let (state, on, plan) = (told.state, told.on, told.thing);
    page.line(&title(told))?;
    page.caution(&Caution::of_racking())?;
    limit_words(plan).iter().try_for_each(|words| page.line(words))?;
    page.section("the wines", &component_columns(), &components(plan))?;
    if let Some(promised) = plan.promised_words() {
        below(page, &harmless(&promised))?;
    }
    page.section("the transfers, in their order", &transfer_columns(), &transfers(told))?;
    page.section("what it would be", &value_columns(), &plan.forecast.values.iter().collect::<Vec<_>>())?;
    forecast_words(&plan.forecast).iter().try_for_each(|words| below(page, words))?;
    let claims: Vec<_> = plan.forecast.claims.iter().map(Into::into).collect();
    page.section("what its label could say", &claim_columns(), &claims)?;
    let mut section =
        |title: &str, columns: &[_], ids: &[_]| page.section(title, columns, &seen(state, on, ids.to_vec()));
    section("held and left out", &held_columns(), &plan.held)?;
    section("held and blended all the same", &held_columns(), &plan.despite)?;
    section("suspect among what is blended", &suspect_columns(), &plan.suspect)?;
    below(page, NO_ADVICE)
}

fn title(told: &BlendSeen<'_>) -> String {
    let parts = told.tanks.iter().zip(told.request.shares.millionths());
    let ratio: Vec<String> =
        parts.map(|(tank, share)| format!("{} {}%", harmless(&tank.name), show_percent(*share))).collect();
    let into = told.request.into.map(|into| format!(" in {}", harmless(told.vessel_label(into).as_str())));
    format!("Blend of {}: {}{}", ratio.join(", "), litres(told.batch.volume), into.unwrap_or_default())
}

/// Why it is not more.
fn limit_words(plan: &BlendPlan) -> Vec<String> {
    let name = |at: usize| harmless(&plan.tanks[at].name);
    match &plan.batch.limit {
        Limit::Asked => vec!["No more was asked for.".to_owned()],
        Limit::Room => vec!["The receiving tank is full then.".to_owned()],
        Limit::Tanks(binding) => {
            let names: Vec<String> = binding.iter().map(|&at| name(at)).collect();
            let more = plan.batch.one_more_litre.iter();
            let more = more.map(|&(at, gain)| format!("One more litre of {} would bring {}.", name(at), litres(gain)));
            std::iter::once(format!("It is the most: {} gives out.", names.join(" and "))).chain(more).collect()
        }
    }
}

/// A wine of a plan: which one.
type ComponentOf<'a> = (&'a BlendPlan, usize);

fn components(plan: &BlendPlan) -> Vec<ComponentOf<'_>> {
    (0..plan.tanks.len()).map(|at| (plan, at)).collect()
}

fn component_columns<'a>() -> Vec<Column<ComponentOf<'a>>> {
    vec![
        Column::both("component", "wine", |&(plan, at)| (&plan.tanks[at].name).into()),
        Column::program("shares_ppm", |&(plan, at)| plan.request.shares.millionths()[at].into()),
        // What of it is in the blend, as a part of one.
        Column::people("share", |it| Cell::Share(reached(it))),
        Column::both("volume_ul", "litres", |&(plan, at): &ComponentOf<'_>| plan.batch.parts[at].into()).summed(),
        Column::program("reached", |it| reached(it).into()),
        Column::both("holds_ul", "can give", |&(plan, at)| plan.tanks[at].holds.into()),
        Column::both("keep_ul", "kept", |&(plan, at): &ComponentOf<'_>| {
            plan.tanks[at].keep.saturating_sub(plan.promised[at]).into()
        })
        .sparse(),
        // What open works are still to take of it besides.
        Column::both("promised_ul", "open works", |&(plan, at): &ComponentOf<'_>| plan.promised[at].into()).sparse(),
        Column::both("stays_ul", "stays", |&(plan, at)| plan.batch.left[at].into()),
        Column::both("gives_out", "gives out", |&(plan, at)| {
            matches!(&plan.batch.limit, Limit::Tanks(binding) if binding.contains(&at)).into()
        }),
        Column::program("one_more_litre_ul", |&(plan, at)| {
            plan.batch.one_more_litre.iter().find(|(tank, _)| *tank == at).map(|(_, gain)| *gain).into()
        }),
    ]
}

fn reached(&(plan, at): &ComponentOf<'_>) -> f64 {
    rounded(plan.batch.parts[at].as_litres() / plan.batch.volume.as_litres(), 6)
}

/// A transfer, and the how manieth it is; none of what is in place.
pub type TransferSeen<'a> = Seen<'a, (&'a BlendPlan, Option<usize>, &'a Draw)>;

/// The transfers of a plan in their order.
#[must_use]
pub fn transfers<'a>(told: &BlendSeen<'a>) -> Vec<TransferSeen<'a>> {
    let mut order = 0;
    let plan = told.thing;
    let transfer = |draw: &'a Draw| {
        order += usize::from(!draw.in_place);
        told.other((plan, (!draw.in_place).then_some(order), draw))
    };
    plan.draws.iter().map(transfer).collect()
}

/// The columns of transfers.
#[must_use]
pub fn transfer_columns<'a>() -> Vec<Column<TransferSeen<'a>>> {
    vec![
        Column::program("order", |it: &TransferSeen<'_>| it.1.into()),
        Column::people("order", |it| it.1.map_or_else(|| "in place".into(), Cell::from)),
        Column::both("component", "wine", |it| (&it.0.tanks[it.2.component].name).into()),
        Column::both("vessel", "from", |it| it.vessel(it.2.vessel)),
        Column::both("place", "place", |it: &TransferSeen<'_>| it.place(it.2.vessel)).sparse(),
        Column::both("volume_ul", "litres", |it: &TransferSeen<'_>| it.2.volume.into()).summed(),
        Column::both("stays_ul", "stays", |it| it.2.stays.into()),
    ]
}

/// What the blend would be.
fn forecast_columns() -> Vec<Column<BlendForecast>> {
    vec![
        Column::within("values", |it: &BlendForecast| Cell::things(&value_columns(), &it.values)),
        Column::program("ph_low", |it| predicted(it).map(|it| rounded(it.low, 3)).into()),
        Column::program("ph_high", |it| predicted(it).map(|it| rounded(it.high, 3)).into()),
        Column::program("ph_plain_mean", |it| predicted(it).map(|it| rounded(it.plain_mean, 3)).into()),
        Column::program("molecular_so2_mg_l", |it| it.molecular.map(|it| rounded(it.mg_l, 2)).into()),
        Column::program("so2_model", |it| it.molecular.map(|it| it.model.word()).into()),
        Column::program("new_wood", |it| it.new_wood.map(|part| rounded(part, 3)).into()),
        Column::within("notes", |it| Cell::list(notes(it))),
    ]
}

fn predicted(forecast: &BlendForecast) -> Option<&Prediction> {
    match &forecast.ph {
        BlendedPh::Predicted(prediction) => Some(prediction),
        BlendedPh::Lacking(_) | BlendedPh::Beyond(..) => None,
    }
}

/// What people read below the values.
fn forecast_words(forecast: &BlendForecast) -> Vec<String> {
    let mut words = Vec::new();
    if let Some(ph) = predicted(forecast) {
        let [low, high, mean] = [ph.low, ph.high, ph.plain_mean].map(|ph| rounded(ph, 3));
        words.push(format!("pH from {low} to {high}; the straight mean reads {mean}. {PH_BY_BALANCE}"));
    }
    if let Some(molecular) = &forecast.molecular {
        let (mg_l, model) = (rounded(molecular.mg_l, 2), molecular.model.word());
        words.push(format!("Molecular SO2 at most {mg_l} mg/L by the {model} model. {FREE_AT_MOST}"));
    }
    if let Some(part) = forecast.new_wood.map(|part| rounded(part, 3)) {
        words.push(format!("{} of it has lain in new wood, as far as the book knows.", percent(1, part)));
    }
    words.extend(notes(forecast).iter().map(|note| harmless(note)));
    words
}

/// What a forecast rests on and what it lacks.
fn notes(forecast: &BlendForecast) -> Vec<String> {
    let mut notes = Vec::new();
    notes.extend(forecast.assumed.iter().map(|(name, acids)| assumed_words(name, acids)));
    if matches!(&forecast.ph, BlendedPh::Predicted(prediction) if prediction.alcohol_assumed) {
        notes.push(ALCOHOL_ASSUMED.to_owned());
    }
    if let BlendedPh::Beyond(_, error) = &forecast.ph {
        notes.push(format!("No pH is predicted. {error}"));
    }
    let named = |names: &[String], words: &str| (!names.is_empty()).then(|| format!("{}: {words}", names.join(", ")));
    notes.extend(named(&forecast.strained, STRAINED));
    notes.extend(forecast.other_class.clone());
    notes.extend(named(&forecast.changed_since, "something was added or came in since the tests. Test again."));
    notes.extend(named(&forecast.wood_lacking, "the book knows nothing of the wood that this wine came through."));
    notes
}

/// One value of what it would be.
fn value_columns<'a>() -> Vec<Column<&'a Expected>> {
    vec![
        Column::both("quantity", "", |it: &&Expected| it.analyte.name().into()),
        Column::people("value", |it| match value(it).map(|value| figure(it.read.value(value))) {
            Some(value) if it.at_most => format!("at most {value}").into(),
            Some(value) => value.into(),
            None => "not known".into(),
        }),
        Column::program("value", |it| value(it).into()),
        Column::people("unit", |it| it.read.unit().into()),
        Column::program("unit", |it| it.analyte.unit().into()),
        Column::program("at_most", |it| (it.at_most && it.value.is_some()).into()),
        Column::people("given since", |it: &&Expected| given_since(it)).sparse(),
        Column::people("oldest test", |it| it.oldest_days.map(ago).into()),
        Column::people("of", |it| match (it.composite, it.of_lot) {
            (_, true) => "its lot".into(),
            (true, false) => "a composite".into(),
            (false, false) => Cell::Nothing,
        }),
        Column::both("not_tested", "not tested in", |it| Cell::list(&it.lacking)),
        Column::program("oldest_days", |it| it.oldest_days.into()),
        Column::program("composite", |it| it.composite.into()),
        Column::program("of_lot", |it| it.of_lot.into()),
        Column::program("given_since", |it| given_since(it)),
    ]
}

fn value(expected: &Expected) -> Option<f64> {
    let decimals = if expected.analyte.unit() == "mg/L" { 0 } else { 2 };
    expected.value.map(|value| rounded(value, decimals))
}

fn given_since(expected: &Expected) -> Cell {
    expected.given_since.map(|given| rounded(given, 1)).into()
}
