//! Trace and recall: from a run or its lot code back to all that its wine met, from it forward to where its bottles went,
//! and from a material to every bottle, each on one page.

use serde::Serialize;

use super::cell::{Cell, When};
use super::column::Column;
use super::complaint::{Complaint, Outcome};
use super::composition::{OriginShare, composition};
use super::page::Page;
use super::run::{RunCard, joined, size};
use super::suggestion::not_found;
use super::trace::{FlowView, ReceiptView};
use crate::cellar::bottling::run::Run;
use crate::cellar::label::{Label, Text, harmless};
use crate::cellar::lineage::{Done, DoneTo, Fill, Reached, Since, Tracer};
use crate::cellar::moment::Moment;
use crate::cellar::origin::OriginDeclared;
use crate::cellar::state::{RunId, State};
use crate::cellar::tasting::Tasted;
use crate::cellar::testing::{Analyte, Readings};
use crate::cellar::vessel::VesselType;
use crate::cellar::wine::Wine;
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
            let code = harmless(code);
            let sentence = format!("No bottle has the lot code '{code}'. See all codes with `barrelwalk list runs`.");
            Err(Complaint::Refused(sentence))
        }
        (_, runs) => {
            let labels: Vec<String> = runs.iter().map(|&run| harmless(state.runs.get(run).label.as_str())).collect();
            let sentence = format!("That lot code stands on bottles of {}. Name one with it.", labels.join(" and "));
            Err(Complaint::Refused(sentence))
        }
    }
}

/// Traces a run: back to all that its wine met, or forward to where its bottles went.
pub fn run(tracer: &Tracer, id: RunId, code: Option<&str>, forward: bool, on: Moment, page: &mut Page<'_>) -> Outcome {
    if forward {
        // Where bottles went is known by the run, not by the code.
        return RunCard::of(&tracer.state, tracer.state.runs.get(id), on).write(page);
    }
    PastView::of(tracer, id, code).write(page)
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
                let (readings, lab) = (test.readings, test.lab.clone());
                self.tests.push(TestView { at, vessels, readings, lab, by });
            }
            DoneTo::Tasted(taste) => {
                let Tasted { score, marks, text, .. } = taste.as_ref().clone();
                self.tastings.push(TastingView { at, vessels, score, marks: marks.unwrap_or_default(), text, by });
            }
            _ => {}
        }
    }

    /// Gives the page out; as a spreadsheet, the flows.
    fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &FlowView::columns(), &self.flows, |page| {
            let codes: Vec<String> = self.lot_codes.iter().map(|code| harmless(code.as_str())).collect();
            let date = self.bottled.map_or_else(String::new, |when| format!(", bottled {}", when.0.show_date()));
            let (run, bottles, bottle) = (harmless(self.run.as_str()), self.bottles, size(self.bottle_ul));
            page.line(&format!("Run {run}, lot code {}{date}: {bottles} bottles of {bottle}", codes.join(", ")))?;
            page.section("grew in", &OriginView::COLUMNS, &self.origins)?;
            page.section("lay in", &Gathered::VESSELS, &self.vessels_gathered())?;
            page.section("was given", &Gathered::TREATMENTS, &self.treatments_gathered())?;
            page.section("was tested", &Finding::COLUMNS, &self.findings())?;
            page.section("was tasted", &TastingView::columns(), last(&self.tastings, LAST_TASTES))?;
            page.section("at the line", &LineView::COLUMNS, &self.line)?;
            page.section("who entered it", &PersonView::COLUMNS, &self.people)?;
            page.line("\nEvery flow, test and taste singly: --format json.")
        })
    }

    /// The vessels that its wine lay in, by lot and kind.
    fn vessels_gathered(&self) -> Vec<Gathered> {
        let mut gathered: Vec<Gathered> = Vec::new();
        for fill in &self.vessels {
            let what = kind_word(fill.kind);
            let is_same = |group: &Gathered| group.what == what && group.lot == fill.lot;
            let at = gathered.iter().position(is_same).unwrap_or_else(|| {
                gathered.push(Gathered { what: what.to_owned(), lot: fill.lot.clone(), ..Gathered::default() });
                gathered.len() - 1
            });
            let group = &mut gathered[at];
            group.times += 1;
            group.names.push(fill.vessel.clone());
        }
        gathered
    }

    /// What was added, by material and batch.
    fn treatments_gathered(&self) -> Vec<Gathered> {
        let mut gathered: Vec<Gathered> = Vec::new();
        for treatment in &self.treatments {
            let (what, batch) = (treatment.material.to_string(), treatment.batch.clone());
            let is_same = |group: &Gathered| group.what == what && group.batch == batch;
            let at = gathered.iter().position(is_same).unwrap_or_else(|| {
                gathered.push(Gathered { what, batch, first: Some(treatment.at.0), ..Gathered::default() });
                gathered.len() - 1
            });
            let group = &mut gathered[at];
            group.times += 1;
            group.amount += treatment.amount_ug;
            group.last = Some(treatment.at.0);
            if let Some(by) = treatment.by.as_ref().filter(|by| !group.names.contains(by)) {
                group.names.push(by.clone());
            }
        }
        gathered
    }

    /// What was found last of each thing that was tested.
    fn findings(&self) -> Vec<Finding> {
        let finding = |analyte: Analyte| {
            let found: Vec<(&TestView, f64)> =
                self.tests.iter().filter_map(|test| Some((test, test.readings.of(analyte)?))).collect();
            let (test, value) = found.last()?;
            Some(Finding {
                analyte,
                value: *value,
                tests: found.len(),
                last: test.at,
                vessels: test.vessels.clone(),
                by: test.by.clone(),
            })
        };
        Analyte::ALL.into_iter().filter_map(finding).collect()
    }
}

/// How many of the last tastes the page for people tells.
const LAST_TASTES: usize = 6;
/// How many labels a line of the page for people tells.
const MOST_NAMES: usize = 12;

fn last<T>(things: &[T], most: usize) -> &[T] {
    &things[things.len().saturating_sub(most)..]
}

const fn kind_word(kind: VesselType) -> &'static str {
    match kind {
        VesselType::Barrel => "barrels",
        VesselType::Tank => "tanks",
        VesselType::Keg => "kegs",
    }
}

/// Things of one kind in a line for people.
#[derive(Default)]
struct Gathered {
    what: String,
    lot: Option<Label>,
    batch: Option<Label>,
    times: usize,
    amount: Mass,
    first: Option<Moment>,
    last: Option<Moment>,
    names: Vec<Label>,
}

impl Gathered {
    const VESSELS: [Column<Gathered>; 4] = [
        Column::people("number", |it: &Gathered| it.times.into()),
        Column::people("what", |it| (&it.what).into()),
        Column::people("lot", |it: &Gathered| it.lot.as_ref().into()).sparse(),
        Column::people("which", Gathered::named),
    ];

    const TREATMENTS: [Column<Gathered>; 7] = [
        Column::people("material", |it: &Gathered| (&it.what).into()),
        Column::people("batch", |it: &Gathered| it.batch.as_ref().into()).sparse(),
        Column::people("grams", |it| Cell::Mass(it.amount)),
        Column::people("times", |it| it.times.into()),
        Column::people("first", |it| it.first.map_or(Cell::Nothing, Cell::When)),
        Column::people("last", |it| it.last.map_or(Cell::Nothing, Cell::When)),
        Column::people("by", Gathered::named),
    ];

    /// The first labels, and how many there are beside them.
    fn named(&self) -> Cell {
        match self.names.len().checked_sub(MOST_NAMES) {
            None | Some(0) => joined(&self.names),
            Some(more) => {
                let first: Vec<&str> = self.names.iter().take(MOST_NAMES).map(Label::as_str).collect();
                Cell::Text(format!("{} and {more} more", first.join(", ")))
            }
        }
    }
}

/// What was found last of one thing.
struct Finding {
    analyte: Analyte,
    value: f64,
    tests: usize,
    last: When,
    vessels: Vec<Label>,
    by: Option<Label>,
}

impl Finding {
    const COLUMNS: [Column<Finding>; 6] = [
        Column::people("of", |it: &Finding| it.analyte.name().into()),
        Column::people("last", |it| Cell::Text(format!("{} {}", it.value, it.analyte.unit()).trim_end().to_owned())),
        Column::people("on", |it| it.last.into()),
        Column::people("in", |it| joined(&it.vessels)),
        Column::people("times", |it| it.tests.into()),
        Column::people("by", |it| it.by.as_ref().into()),
    ];
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

    const COLUMNS: [Column<OriginView>; 7] = [
        Column::people("origin", |it: &OriginView| (&it.origin).into()),
        Column::people("block", |it| (&it.block).into()),
        Column::people("variety", |it| (&it.variety).into()),
        Column::people("vintage", |it| u32::from(it.vintage).into()),
        Column::people("appellation", |it| (&it.appellation).into()),
        Column::people("litres", |it| it.volume_ul.into()),
        Column::people("share", |it| Cell::Share(it.share)),
    ];
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

impl TastingView {
    fn columns() -> Vec<Column<TastingView>> {
        vec![
            Column::people("on", |it: &TastingView| it.at.into()),
            Column::people("vessel", |it| joined(&it.vessels)),
            Column::people("score", |it| it.score.into()),
            Column::people("marks", |it| joined(&it.marks)),
            Column::people("words", |it: &TastingView| it.text.as_ref().into()).sparse(),
            Column::people("by", |it| it.by.as_ref().into()),
        ]
    }
}

impl PersonView {
    const COLUMNS: [Column<PersonView>; 2] =
        [Column::people("by", |it: &PersonView| (&it.by).into()), Column::people("facts", |it| it.facts.into())];
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

    const COLUMNS: [Column<LineView>; 3] = [
        Column::people("material", |it: &LineView| (&it.material).into()),
        Column::people("batch", |it: &LineView| it.batch.as_ref().into()).sparse(),
        Column::people("lot code", |it| (&it.lot_code).into()),
    ];
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

/// Where a material came to.
#[derive(Debug, Serialize)]
struct MaterialView {
    material: String,
    treatments: Vec<TreatmentView>,
    runs: Vec<ReachedView>,
}

/// Traces a material, or a batch of one, to every bottle.
pub fn material(tracer: &Tracer, label: &str, page: &mut Page<'_>) -> Outcome {
    let treated = tracer.treated_with(label);
    let sinces: Vec<Since> = treated.iter().map(|(since, _)| *since).collect();
    let mut reached = tracer.bottled_of(&sinces);
    for used in tracer.bottled_with(label) {
        match reached.iter_mut().find(|known| known.run == used.run) {
            Some(known) => {
                let new = used.stretches.into_iter().filter(|its| !known.stretches.contains(its));
                let new: Vec<usize> = new.collect();
                known.stretches.extend(new);
            }
            None => reached.push(used),
        }
    }
    if treated.is_empty() && reached.is_empty() {
        let sentence =
            format!("No wine was treated and no bottle was filled with '{}'. Check its spelling.", harmless(label));
        return Err(Complaint::Refused(sentence));
    }
    let treatments = treated
        .iter()
        .filter_map(|(since, done)| {
            let DoneTo::Treated { material, batch, amount } = &done.to else { return None };
            let (material, batch) = (tracer.called(*material).clone(), batch.map(|it| tracer.called(it).clone()));
            let vessels = vec![tracer.state.vessels.get(since.fill.vessel).label.clone()];
            let by = tracer.who(done).cloned();
            Some(TreatmentView { at: When(done.at), material, batch, amount_ug: *amount, vessels, by })
        })
        .collect();
    let view = MaterialView { material: label.to_owned(), treatments, runs: ReachedView::all(tracer, &reached) };
    page.report(&view, &ReachedView::columns(), &view.runs, |page| {
        page.line(&format!("Material {}", harmless(label)))?;
        page.section("was given to", &TreatmentView::COLUMNS, &view.treatments)?;
        match view.runs.as_slice() {
            [] => page.line("\nNone of it is in bottles."),
            runs => page.section("is in bottles of", &ReachedView::columns(), runs),
        }
    })
}

impl TreatmentView {
    const COLUMNS: [Column<TreatmentView>; 5] = [
        Column::people("on", |it: &TreatmentView| it.at.into()),
        Column::people("vessel", |it| joined(&it.vessels)),
        Column::people("grams", |it| Cell::Mass(it.amount_ug)),
        Column::people("batch", |it| it.batch.as_ref().into()),
        Column::people("by", |it| it.by.as_ref().into()),
    ];
}
