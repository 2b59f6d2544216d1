//! `plan blend`: the largest batch of a ratio, the transfers in their order, what stays, and what the blend would be.

use serde::Serialize;

use super::blend::{ALCOHOL_ASSUMED, FREE_AT_MOST, PH_BY_BALANCE, STRAINED, assumed_words};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::wood::racking::CAUTION;
use crate::cellar::views::bench::blend::{
    BlendForecast, BlendPlan, BlendRequest, Component, Draw, Expected, NoBlend, Source,
};
use crate::cellar::views::books::lineage::Tracer;
use crate::cli::arguments::BlendPlanArguments;
use crate::cli::books::claims::{ClaimView, NO_ADVICE};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::reading;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::{below, rounded};
use crate::cli::topping::plan::{HeldView, SuspectView, place};
use crate::reckon::blend::BlendedPh;
use crate::reckon::scale_up::Limit;
use crate::units::{Shares, Volume, VolumeUnit, show_percent};

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
            Err(crate::cli::core::suggestion::not_found("vessel or lot", label, labels))
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

/// The plan of a blend.
#[derive(Debug, Serialize)]
pub struct BlendView {
    into: Option<Label>,
    volume_ul: Volume,
    limit: &'static str,
    components: Vec<ComponentView>,
    transfers: Vec<TransferView>,
    forecast: ForecastView,
    claims: Vec<ClaimView>,
    held: Vec<HeldView>,
    held_despite: Vec<HeldView>,
    suspect: Vec<SuspectView>,
}

/// A component.
#[derive(Debug, Serialize)]
struct ComponentView {
    component: String,
    shares_ppm: u32,
    volume_ul: Volume,
    /// What of it is in the blend, as a part of one.
    reached: f64,
    holds_ul: Volume,
    keep_ul: Volume,
    /// What open works are still to take of it besides.
    promised_ul: Volume,
    stays_ul: Volume,
    gives_out: bool,
    one_more_litre_ul: Option<Volume>,
}

/// A transfer, or what is in place.
#[derive(Debug, Serialize)]
pub struct TransferView {
    order: Option<usize>,
    component: String,
    vessel: Label,
    place: Option<String>,
    volume_ul: Volume,
    stays_ul: Volume,
}

/// What it would be.
#[derive(Debug, Serialize)]
struct ForecastView {
    values: Vec<ExpectedView>,
    ph_low: Option<f64>,
    ph_high: Option<f64>,
    ph_plain_mean: Option<f64>,
    molecular_so2_mg_l: Option<f64>,
    so2_model: Option<&'static str>,
    new_wood: Option<f64>,
    notes: Vec<String>,
}

/// One value of it.
#[derive(Debug, Serialize)]
struct ExpectedView {
    quantity: &'static str,
    value: Option<f64>,
    unit: &'static str,
    at_most: bool,
    not_tested: Vec<String>,
    oldest_days: Option<i64>,
    composite: bool,
    of_lot: bool,
    given_since: Option<f64>,
}

impl BlendView {
    /// A plan as it is told.
    #[must_use]
    pub fn of(state: &State, plan: &BlendPlan) -> BlendView {
        BlendView {
            into: plan.request.into.map(|id| state.vessels.get(id).label.clone()),
            volume_ul: plan.batch.volume,
            limit: match plan.batch.limit {
                Limit::Tanks(_) => "wine",
                Limit::Room => "room",
                Limit::Asked => "asked",
            },
            components: (0..plan.tanks.len()).map(|at| ComponentView::of(plan, at)).collect(),
            transfers: transfers(state, plan),
            forecast: ForecastView::of(&plan.forecast),
            claims: plan.forecast.claims.iter().map(ClaimView::of).collect(),
            held: plan.held.iter().map(|&id| HeldView::of(state, id)).collect(),
            held_despite: plan.despite.iter().map(|&id| HeldView::of(state, id)).collect(),
            suspect: plan.suspect.iter().map(|&id| SuspectView::of(state, id)).collect(),
        }
    }

    /// Gives the plan out; as a spreadsheet, its transfers.
    pub fn write(&self, plan: &BlendPlan, page: &mut Page<'_>) -> Outcome {
        page.report(self, &TransferView::columns(), &self.transfers, |page| self.tell(plan, page))
    }

    /// The transfers, for a spreadsheet.
    pub fn transfers(&self) -> &[TransferView] {
        &self.transfers
    }

    /// Tells people of the plan.
    pub fn tell(&self, plan: &BlendPlan, page: &mut Page<'_>) -> Outcome {
        page.line(&self.title())?;
        limit_words(plan).iter().try_for_each(|words| page.line(words))?;
        page.section("the wines", &ComponentView::columns(), &self.components)?;
        if let Some(promised) = plan.promised_words() {
            below(page, &harmless(&promised))?;
        }
        page.section("the transfers, in their order", &TransferView::columns(), &self.transfers)?;
        page.section("what it would be", &ExpectedView::columns(), &self.forecast.values)?;
        self.forecast.words().iter().try_for_each(|words| below(page, words))?;
        page.section("what its label could say", &ClaimView::columns(), &self.claims)?;
        page.section("held and left out", &HeldView::COLUMNS, &self.held)?;
        page.section("held and blended all the same", &HeldView::COLUMNS, &self.held_despite)?;
        page.section("suspect among what is blended", &SuspectView::COLUMNS, &self.suspect)?;
        below(page, NO_ADVICE)?;
        below(page, CAUTION)
    }

    fn title(&self) -> String {
        let ratio: Vec<String> = self
            .components
            .iter()
            .map(|it| format!("{} {}%", harmless(&it.component), show_percent(it.shares_ppm)))
            .collect();
        let into = self.into.as_ref().map_or_else(String::new, |into| format!(" in {}", harmless(into.as_str())));
        format!("Blend of {}: {}{into}", ratio.join(", "), litres(self.volume_ul))
    }
}

fn litres(volume: Volume) -> String {
    volume.show(VolumeUnit::Litre, 1)
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

fn transfers(state: &State, plan: &BlendPlan) -> Vec<TransferView> {
    let mut order = 0;
    let view = |draw: &Draw| {
        order += usize::from(!draw.in_place);
        TransferView {
            order: (!draw.in_place).then_some(order),
            component: plan.tanks[draw.component].name.clone(),
            vessel: state.vessels.get(draw.vessel).label.clone(),
            place: place(state, draw.vessel),
            volume_ul: draw.volume,
            stays_ul: draw.stays,
        }
    };
    plan.draws.iter().map(view).collect()
}

impl ComponentView {
    fn of(plan: &BlendPlan, at: usize) -> ComponentView {
        let (tank, batch) = (&plan.tanks[at], &plan.batch);
        ComponentView {
            component: tank.name.clone(),
            shares_ppm: plan.request.shares.millionths()[at],
            volume_ul: batch.parts[at],
            reached: rounded(batch.parts[at].as_litres() / batch.volume.as_litres(), 6),
            holds_ul: tank.holds,
            keep_ul: tank.keep.saturating_sub(plan.promised[at]),
            promised_ul: plan.promised[at],
            stays_ul: batch.left[at],
            gives_out: matches!(&batch.limit, Limit::Tanks(binding) if binding.contains(&at)),
            one_more_litre_ul: batch.one_more_litre.iter().find(|(tank, _)| *tank == at).map(|(_, gain)| *gain),
        }
    }

    fn columns() -> Vec<Column<ComponentView>> {
        vec![
            Column::people("wine", |it: &ComponentView| (&it.component).into()),
            Column::people("share", |it| Cell::Share(it.reached)),
            Column::people("litres", |it: &ComponentView| it.volume_ul.into()).summed(),
            Column::people("can give", |it| it.holds_ul.into()),
            Column::people("kept", |it: &ComponentView| it.keep_ul.into()).sparse(),
            Column::people("open works", |it: &ComponentView| it.promised_ul.into()).sparse(),
            Column::people("stays", |it| it.stays_ul.into()),
            Column::people("gives out", |it| it.gives_out.into()),
        ]
    }
}

impl TransferView {
    /// The columns of a list of them.
    #[must_use]
    pub fn columns() -> Vec<Column<TransferView>> {
        vec![
            Column::program("order", |it: &TransferView| it.order.into()),
            Column::people("order", |it| it.order.map_or_else(|| Cell::Text("in place".to_owned()), Cell::from)),
            Column::both("component", "wine", |it| (&it.component).into()),
            Column::both("vessel", "from", |it| (&it.vessel).into()),
            Column::both("place", "place", |it: &TransferView| it.place.as_ref().into()).sparse(),
            Column::both("volume_ul", "litres", |it: &TransferView| it.volume_ul.into()).summed(),
            Column::both("stays_ul", "stays", |it| it.stays_ul.into()),
        ]
    }
}

impl ForecastView {
    fn of(forecast: &BlendForecast) -> ForecastView {
        let predicted = match &forecast.ph {
            BlendedPh::Predicted(prediction) => Some(prediction),
            BlendedPh::Lacking(_) | BlendedPh::Beyond(..) => None,
        };
        ForecastView {
            values: forecast.values.iter().map(ExpectedView::of).collect(),
            ph_low: predicted.map(|it| rounded(it.low, 3)),
            ph_high: predicted.map(|it| rounded(it.high, 3)),
            ph_plain_mean: predicted.map(|it| rounded(it.plain_mean, 3)),
            molecular_so2_mg_l: forecast.molecular.map(|it| rounded(it.mg_l, 2)),
            so2_model: forecast.molecular.map(|it| it.model.word()),
            new_wood: forecast.new_wood.map(|part| rounded(part, 3)),
            notes: notes(forecast),
        }
    }

    /// What people read below the values.
    fn words(&self) -> Vec<String> {
        let mut words = Vec::new();
        if let (Some(low), Some(high), Some(mean)) = (self.ph_low, self.ph_high, self.ph_plain_mean) {
            words.push(format!("pH from {low} to {high}; the straight mean reads {mean}. {PH_BY_BALANCE}"));
        }
        if let (Some(molecular), Some(model)) = (self.molecular_so2_mg_l, self.so2_model) {
            words.push(format!("Molecular SO2 at most {molecular} mg/L by the {model} model. {FREE_AT_MOST}"));
        }
        if let Some(part) = self.new_wood {
            words.push(format!("{:.1} % of it has lain in new wood, as far as the book knows.", part * 100.0));
        }
        words.extend(self.notes.iter().map(|note| harmless(note)));
        words
    }
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
    notes.extend(named(&forecast.changed_since, "something was added or came in since the tests. Test again."));
    notes.extend(named(&forecast.wood_lacking, "the book knows nothing of the wood that this wine came through."));
    notes
}

impl ExpectedView {
    fn of(expected: &Expected) -> ExpectedView {
        let decimals = match expected.analyte.unit() {
            "mg/L" => 0,
            _ => 2,
        };
        ExpectedView {
            quantity: expected.analyte.name(),
            value: expected.value.map(|value| rounded(value, decimals)),
            unit: expected.analyte.unit(),
            at_most: expected.at_most && expected.value.is_some(),
            not_tested: expected.lacking.clone(),
            oldest_days: expected.oldest_days,
            composite: expected.composite,
            of_lot: expected.of_lot,
            given_since: expected.given_since.map(|given| rounded(given, 1)),
        }
    }

    fn columns() -> Vec<Column<ExpectedView>> {
        vec![
            Column::people("", |it: &ExpectedView| it.quantity.into()),
            Column::people("value", |it| match it.value {
                Some(value) if it.at_most => Cell::Text(format!("at most {value}")),
                Some(value) => Cell::Text(value.to_string()),
                None => Cell::Text("not known".to_owned()),
            }),
            Column::people("unit", |it| it.unit.into()),
            Column::people("given since", |it: &ExpectedView| it.given_since.into()).sparse(),
            Column::people("oldest test", |it| match it.oldest_days {
                Some(days) => Cell::Text(format!("{days} days ago")),
                None => Cell::Nothing,
            }),
            Column::people("of", |it| match (it.composite, it.of_lot) {
                (_, true) => "its lot".into(),
                (true, false) => "a composite".into(),
                (false, false) => Cell::Nothing,
            }),
            Column::people("not tested in", |it| Cell::Text(it.not_tested.join(", "))),
        ]
    }
}
