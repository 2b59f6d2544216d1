//! Trace and recall: from a run or its lot code back to all that its wine met, from it forward to where its bottles went,
//! and from a material to every bottle, each on one page.

use std::collections::BTreeMap;

use serde::Serialize;

use super::trace::{FlowView, ReceiptView};
use crate::cellar::core::label::{Label, Text, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RunId, State};
use crate::cellar::core::wine::Wine;
use crate::cellar::jobs::bottles::bottling::run::Run;
use crate::cellar::jobs::finish::fining::FiningTried;
use crate::cellar::jobs::floor::origin::OriginDeclared;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::tests::tasting::Tasted;
use crate::cellar::jobs::tests::testing::Readings;
use crate::cellar::jobs::wood::care::Care;
use crate::cellar::views::books::lineage::{Check, Done, DoneTo, Fill, Reached, Since, Tracer};
use crate::cli::arguments::{Thing, Traceable};
use crate::cli::bottles::run::{RunCard, joined};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::suggestion::{near, not_found};
use crate::cli::floor::composition::{OriginShare, composition};
use crate::cli::reading;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::sheets::books::trace::{self, From};
use crate::sheets::core::document::Document;
use crate::units::{Mass, Volume};

/// The run of a label, or the run on whose bottles a lot code stands.
pub fn find_run(state: &State, label: Option<&str>, code: Option<&str>) -> Outcome<RunId> {
    let of_label = label
        .map(|label| {
            let found = state.runs.find(label);
            found.ok_or_else(|| not_found("run", label, state.runs.iter().map(|(_, run)| &run.label)))
        })
        .transpose()?;
    let Some(code) = code else {
        return of_label
            .ok_or_else(|| Complaint::Refused("Name the run, or give its lot code with --code.".to_owned()));
    };
    let of_code = state.runs_of_code(code);
    match (of_label, of_code.as_slice()) {
        (Some(run), runs) if runs.contains(&run) => Ok(run),
        (None, &[run]) => Ok(run),
        (_, []) => {
            let all = " See all codes with `barrelwalk list runs`.";
            let hint = near(code, all_codes(state)).unwrap_or_else(|| all.to_owned());
            Err(Complaint::Refused(format!("No bottle has the lot code '{}'.{hint}", harmless(code))))
        }
        (_, runs) => {
            let labels: Vec<String> = runs.iter().map(|&run| harmless(state.runs.get(run).label.as_str())).collect();
            let sentence = format!("That lot code stands on bottles of {}. Name one with it.", labels.join(" and "));
            Err(Complaint::Refused(sentence))
        }
    }
}

/// The bottles of a run, or those with one lot code: what is typed is a run's label, else a lot code.
pub fn find_bottles(state: &State, label: Option<&str>, code: Option<&str>) -> Outcome<(RunId, Option<String>)> {
    let typed = label.filter(|label| code.is_none() && state.runs.find(label).is_none());
    if let Some(typed) = typed
        && state.runs_of_code(typed).is_empty()
    {
        let runs = state.runs.iter().map(|(_, run)| &run.label);
        return Err(not_found("run", typed, runs.chain(all_codes(state))));
    }
    let run = if typed.is_some() { find_run(state, None, typed) } else { find_run(state, label, code) };
    Ok((run?, typed.or(code).map(ToOwned::to_owned)))
}

fn all_codes(state: &State) -> impl Iterator<Item = &Label> {
    state.runs.iter().flat_map(|(_, run)| run.stretches.iter().map(|stretch| &stretch.lot_code))
}

/// A fill of a vessel: the one that is asked for, else the present or last one.
pub fn find_fill(tracer: &Tracer, label: &str, number: Option<u32>) -> Outcome<Fill> {
    let last = tracer.fill_of(reading::vessel(&tracer.state, label)?);
    let number = number.unwrap_or(last.number);
    if (1..=last.number).contains(&number) {
        return Ok(Fill { number, ..last });
    }
    let label = harmless(label);
    Err(Complaint::Refused(match last.number {
        0 => format!("No wine ever lay in {label}."),
        1 => format!("{label} was filled once. Leave --fill out."),
        fills => format!("{label} was filled {fills} times. Say --fill 1 to {fills}."),
    }))
}

/// What a page traces.
pub enum Bottles<'a> {
    /// Back from the bottles of a run.
    Back(RunId, Option<String>),
    /// Forward to all bottles.
    Forward(From<'a>),
}

impl<'a> Bottles<'a> {
    /// What a person asked for, found.
    pub fn find(tracer: &Tracer, thing: &'a Traceable, fill: Option<u32>) -> Outcome<Bottles<'a>> {
        Ok(match thing {
            Traceable::Run { label, code } => {
                let (run, code) = find_bottles(&tracer.state, label.as_deref(), code.as_deref())?;
                Bottles::Back(run, code)
            }
            Traceable::Thing(Thing::Vessel { label }) => {
                Bottles::Forward(From::Vessel(find_fill(tracer, label, fill)?))
            }
            Traceable::Thing(Thing::Lot { label }) => Bottles::Forward(From::Lot(reading::lot(&tracer.state, label)?)),
            Traceable::Material { label } => Bottles::Forward(From::Material(known_material(tracer, label)?)),
            Traceable::Block { label } => Bottles::Forward(From::Block(known_block(tracer, label)?)),
        })
    }

    /// Its page.
    pub fn page(&self, tracer: &Tracer, on: Moment) -> Document {
        match self {
            Bottles::Back(run, code) => trace::back(tracer, *run, code.as_deref(), on),
            Bottles::Forward(from) => trace::forward(tracer, *from, on),
        }
    }
}

fn known_material<'a>(tracer: &Tracer, label: &'a str) -> Outcome<&'a str> {
    let all = tracer.all_materials();
    if all.iter().any(|known| known.as_str() == label) {
        return Ok(label);
    }
    let hint = near(label, all.into_iter()).unwrap_or_else(|| " Check its spelling.".to_owned());
    let label = harmless(label);
    Err(Complaint::Refused(format!("No wine was treated and no bottle was filled with '{label}'.{hint}")))
}

fn known_block<'a>(tracer: &Tracer, label: &'a str) -> Outcome<&'a str> {
    let blocks = || tracer.state.origins.iter().map(|(_, origin)| &origin.0.block);
    if blocks().any(|known| known.as_str() == label) {
        return Ok(label);
    }
    let hint = near(label, blocks()).unwrap_or_else(|| " Check its spelling.".to_owned());
    Err(Complaint::Refused(format!("No block of vines is called '{}'.{hint}", harmless(label))))
}

/// Traces the bottles of a run: back to all that its wine met, or forward to where they went.
pub fn run(tracer: &Tracer, bottles: &Bottles<'_>, forward: bool, on: Moment, page: &mut Page<'_>) -> Outcome {
    let Bottles::Back(id, code) = bottles else { return Ok(()) };
    if forward {
        // The card of the run tells of all its lot codes.
        return RunCard::of(&tracer.state, tracer.state.runs.get(*id), on).write(page);
    }
    let view = PastView::of(tracer, *id, code.as_deref());
    page.report(&view, &FlowView::columns(), &view.flows, |page| page.document(&bottles.page(tracer, on)))
}

/// All that the wine of a run met.
#[derive(Debug, Serialize)]
struct PastView {
    run: Label,
    lot_codes: Vec<Label>,
    bottled: Option<When>,
    bottle_ul: Volume,
    bottles: u64,
    volume_ul: Volume,
    composition: Vec<OriginShare>,
    origins: Vec<OriginView>,
    vessels: Vec<FillView>,
    treatments: Vec<TreatmentView>,
    tests: Vec<TestView>,
    tastings: Vec<TastingView>,
    fining_trials: Vec<FiningView>,
    trials: Vec<TrialView>,
    checks: Vec<CheckView>,
    care: Vec<CareView>,
    people: Vec<PersonView>,
    line: Vec<LineView>,
    received: Vec<ReceiptView>,
    flows: Vec<FlowView>,
}

/// An origin of the wine, and how much of it is in one bottle.
#[derive(Debug, Serialize)]
struct OriginView {
    origin: Label,
    block: Label,
    variety: Label,
    vintage: u16,
    appellation: Label,
    volume_ul: Volume,
    share: f64,
}

/// A vessel in one of its fills.
#[derive(Debug, Serialize)]
struct FillView {
    vessel: Label,
    fill: u32,
    #[serde(rename = "type")]
    kind: VesselType,
    cooper: Option<Label>,
    forest: Option<Label>,
    lot: Option<Label>,
}

/// An addition.
#[derive(Debug, Serialize)]
struct TreatmentView {
    at: When,
    material: Label,
    amount_ug: Mass,
    batch: Option<Label>,
    vessels: Vec<Label>,
    by: Option<Label>,
}

/// A test.
#[derive(Debug, Serialize)]
struct TestView {
    at: When,
    vessels: Vec<Label>,
    #[serde(flatten)]
    readings: Readings,
    #[serde(skip_serializing_if = "Option::is_none")]
    values: Option<BTreeMap<Label, f64>>,
    lab: Option<Text>,
    by: Option<Label>,
}

/// A taste.
#[derive(Debug, Serialize)]
struct TastingView {
    at: When,
    vessels: Vec<Label>,
    score: Option<f64>,
    marks: Vec<Label>,
    text: Option<Text>,
    by: Option<Label>,
}

/// A fining trial.
#[derive(Debug, Serialize)]
struct FiningView {
    at: When,
    trial: Label,
    material: Label,
    chosen_g_l: Option<f64>,
    vessels: Vec<Label>,
    by: Option<Label>,
}

/// A trial at the bench; with `chosen` the glass that was blended.
#[derive(Debug, Serialize)]
struct TrialView {
    at: When,
    trial: Label,
    chosen: Option<String>,
    vessels: Vec<Label>,
    by: Option<Label>,
}

/// What was said of an item of the checklist.
#[derive(Debug, Serialize)]
struct CheckView {
    at: When,
    lot: Label,
    item: Label,
    met: Option<bool>,
    waived: bool,
    text: Option<Text>,
    by: Option<Label>,
}

/// Care of the wood before the wine came.
#[derive(Debug, Serialize)]
struct CareView {
    at: When,
    care: Care,
    vessels: Vec<Label>,
    by: Option<Label>,
}

/// Somebody who entered something of it.
#[derive(Debug, Serialize)]
struct PersonView {
    by: Label,
    facts: u32,
}

/// What was used at the line.
#[derive(Debug, PartialEq, Eq, Serialize)]
struct LineView {
    material: Label,
    batch: Option<Label>,
    lot_code: Label,
}

impl PastView {
    fn of(tracer: &Tracer, id: RunId, code: Option<&str>) -> PastView {
        let state = &tracer.state;
        let run = state.runs.get(id);
        let past = tracer.past_of_run(id, code);
        let stretches: Vec<_> =
            run.stretches.iter().filter(|its| code.is_none_or(|code| its.lot_code.as_str() == code)).collect();
        let mut wine = Wine::default();
        for stretch in &stretches {
            wine.mix(&stretch.wine);
        }
        let mut lot_codes: Vec<Label> = stretches.iter().map(|stretch| stretch.lot_code.clone()).collect();
        lot_codes.dedup();
        let mut view = PastView {
            run: run.label.clone(),
            lot_codes,
            bottled: stretches.first().map(|stretch| When(stretch.at)),
            bottle_ul: run.bottle,
            bottles: stretches.iter().map(|stretch| u64::from(stretch.bottles)).sum(),
            volume_ul: wine.volume(),
            composition: composition(state, &wine),
            origins: OriginView::all(state, &wine),
            vessels: past.fills.iter().map(|fill| FillView::of(tracer, *fill)).collect(),
            treatments: Vec::new(),
            tests: Vec::new(),
            tastings: Vec::new(),
            fining_trials: Vec::new(),
            trials: Vec::new(),
            checks: Vec::new(),
            care: Vec::new(),
            people: past.people.iter().map(|&(by, facts)| PersonView { by: by.clone(), facts }).collect(),
            line: LineView::all(run, code),
            received: past.back.receipts.iter().map(|receipt| ReceiptView::of(state, receipt)).collect(),
            flows: past.back.streams.iter().map(|stream| FlowView::of(state, stream)).collect(),
        };
        past.done.iter().for_each(|done| view.take_in(tracer, done));
        view
    }

    fn take_in(&mut self, tracer: &Tracer, done: &Done) {
        let (at, by) = (When(done.at), tracer.who(done).cloned());
        let vessels = done.fills().map(|fill| tracer.state.vessels.get(fill.vessel).label.clone()).collect();
        match &done.to {
            DoneTo::Treated { material, batch, amount } => {
                let (material, batch) = (tracer.called(*material).clone(), batch.map(|it| tracer.called(it).clone()));
                self.treatments.push(TreatmentView { at, material, batch, amount_ug: *amount, vessels, by });
            }
            DoneTo::Tested(test) => {
                let (readings, values, lab) = (test.readings, test.values.clone(), test.lab.clone());
                self.tests.push(TestView { at, vessels, readings, values, lab, by });
            }
            DoneTo::Tasted(taste) => {
                let Tasted { score, marks, text, .. } = taste.as_ref().clone();
                self.tastings.push(TastingView { at, vessels, score, marks: marks.unwrap_or_default(), text, by });
            }
            DoneTo::Tried(tried) => {
                let FiningTried { trial, material, chosen_g_l, .. } = tried.as_ref().clone();
                self.fining_trials.push(FiningView { at, trial, material, chosen_g_l, vessels, by });
            }
            DoneTo::SetInTrial(trial) => {
                self.trials.push(TrialView { at, trial: trial.as_ref().clone(), chosen: None, vessels, by });
            }
            DoneTo::Chosen(chosen) => {
                let code = chosen.code.as_ref().map_or_else(|| "ratio".to_owned(), ToString::to_string);
                self.trials.push(TrialView { at, trial: chosen.trial.clone(), chosen: Some(code), vessels, by });
            }
            DoneTo::Checked(check) => {
                let Check { lot, item, met, text } = check.as_ref().clone();
                self.checks.push(CheckView { at, lot, item, met, waived: met.is_none(), text, by });
            }
            DoneTo::Cared(care) => self.care.push(CareView { at, care: *care, vessels, by }),
        }
    }
}

impl OriginView {
    fn all(state: &State, wine: &Wine) -> Vec<OriginView> {
        let whole = wine.volume().as_litres();
        let parts = wine.parts().iter().filter_map(|part| Some((&state.origins.get(part.origin?).0, part.volume)));
        let view = |(origin, volume): (&OriginDeclared, Volume)| OriginView {
            origin: origin.origin.clone(),
            block: origin.block.clone(),
            variety: origin.variety.clone(),
            vintage: origin.vintage,
            appellation: origin.appellation.clone(),
            volume_ul: volume,
            share: volume.as_litres() / whole,
        };
        parts.map(view).collect()
    }
}

impl FillView {
    fn of(tracer: &Tracer, fill: Fill) -> FillView {
        let vessel = tracer.state.vessels.get(fill.vessel);
        FillView {
            vessel: vessel.label.clone(),
            fill: fill.number,
            kind: vessel.vessel_type,
            cooper: vessel.wood.cooper.clone(),
            forest: vessel.wood.forest.clone(),
            lot: tracer.last_name(fill).map(|lot| tracer.state.lots.get(lot).label.clone()),
        }
    }
}

impl LineView {
    /// What was used at the line, each with the lot code that it went under, once.
    fn all(run: &Run, code: Option<&str>) -> Vec<LineView> {
        let mut views: Vec<LineView> = Vec::new();
        for stretch in run.stretches.iter().filter(|its| code.is_none_or(|code| its.lot_code.as_str() == code)) {
            let lot_code = || stretch.lot_code.clone();
            let closure = stretch.closure.iter().map(|its| (its.clone(), None));
            let materials = stretch.materials.iter().map(|its| (its.material.clone(), its.batch.clone()));
            for (material, batch) in closure.chain(materials) {
                let view = LineView { material, batch, lot_code: lot_code() };
                if !views.contains(&view) {
                    views.push(view);
                }
            }
        }
        views
    }
}

/// A run that wine reached, with what is left of the lot codes on those bottles, where that lies, and who may have got the
/// rest.
#[derive(Debug, Serialize)]
pub struct ReachedView {
    run: Label,
    lot_codes: Vec<Label>,
    bottles: u64,
    volume_ul: Volume,
    of_bottles: u64,
    left: u64,
    places: Vec<Label>,
    code_assumed: u64,
    to: Vec<Text>,
}

impl ReachedView {
    /// The runs that wine reached.
    #[must_use]
    pub fn all(tracer: &Tracer, reached: &[Reached]) -> Vec<ReachedView> {
        reached.iter().map(|reached| ReachedView::of(tracer, reached)).collect()
    }

    fn of(tracer: &Tracer, reached: &Reached) -> ReachedView {
        let run = tracer.state.runs.get(reached.run);
        let (bottles, volume_ul) = tracer.bottles_of(reached);
        let mut lot_codes: Vec<Label> = Vec::new();
        for &stretch in &reached.stretches {
            let code = &run.stretches[stretch].lot_code;
            if !lot_codes.contains(code) {
                lot_codes.push(code.clone());
            }
        }
        let recalled = run.recalled(&lot_codes);
        ReachedView {
            run: run.label.clone(),
            lot_codes,
            bottles,
            volume_ul,
            of_bottles: run.bottles(),
            left: recalled.left,
            places: recalled.places,
            code_assumed: run.assumed,
            to: recalled.to,
        }
    }

    /// The columns of a table of runs that were reached.
    #[must_use]
    pub fn columns() -> Vec<Column<ReachedView>> {
        vec![
            Column::both("run", "run", |it: &ReachedView| (&it.run).into()),
            Column::both("lot_codes", "code", |it| joined(&it.lot_codes)),
            Column::both("bottles", "bottles", |it: &ReachedView| it.bottles.into()).summed(),
            Column::both("volume_ul", "litres", |it: &ReachedView| it.volume_ul.into()).summed(),
            Column::program("of_bottles", |it| it.of_bottles.into()),
            Column::both("left", "left", |it| it.left.into()),
            Column::both("places", "in", |it: &ReachedView| joined(&it.places)).sparse(),
            Column::program("code_assumed", |it| it.code_assumed.into()),
            Column::both("to", "went to", |it: &ReachedView| {
                let to: Vec<&str> = it.to.iter().map(Text::as_str).collect();
                if to.is_empty() { Cell::Nothing } else { Cell::Text(to.join(", ")) }
            })
            .sparse(),
        ]
    }
}

/// Where a material or a block came to.
#[derive(Debug, Serialize)]
struct ForwardView {
    #[serde(skip_serializing_if = "Option::is_none")]
    material: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    block: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    treatments: Vec<TreatmentView>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    received: Vec<ReceiptView>,
    runs: Vec<ReachedView>,
}

/// Traces a material, a batch of one or a block to every bottle.
pub fn forward(tracer: &Tracer, bottles: &Bottles<'_>, on: Moment, page: &mut Page<'_>) -> Outcome {
    let view = match *bottles {
        Bottles::Forward(From::Material(label)) => ForwardView {
            material: Some(label.to_owned()),
            block: None,
            treatments: treatments(tracer, label),
            received: Vec::new(),
            runs: ReachedView::all(tracer, &tracer.bottles_with(label)),
        },
        Bottles::Forward(From::Block(label)) => {
            let (sinces, receipts): (Vec<Since>, Vec<_>) = tracer.grown_in(label).into_iter().unzip();
            ForwardView {
                material: None,
                block: Some(label.to_owned()),
                treatments: Vec::new(),
                received: receipts.into_iter().map(|receipt| ReceiptView::of(&tracer.state, receipt)).collect(),
                runs: ReachedView::all(tracer, &tracer.bottled_of(&sinces)),
            }
        }
        Bottles::Forward(From::Vessel(_) | From::Lot(_)) | Bottles::Back(..) => return Ok(()),
    };
    page.report(&view, &ReachedView::columns(), &view.runs, |page| page.document(&bottles.page(tracer, on)))
}

fn treatments(tracer: &Tracer, label: &str) -> Vec<TreatmentView> {
    let view = |(since, done): (Since, &Done)| {
        let DoneTo::Treated { material, batch, amount } = done.to else { return None };
        Some(TreatmentView {
            at: When(done.at),
            material: tracer.called(material).clone(),
            amount_ug: amount,
            batch: batch.map(|batch| tracer.called(batch).clone()),
            vessels: vec![tracer.state.vessels.get(since.fill.vessel).label.clone()],
            by: tracer.who(done).cloned(),
        })
    };
    tracer.treated_with(label).into_iter().filter_map(view).collect()
}
