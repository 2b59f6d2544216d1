//! Trace and recall: from a run or its lot code back to all that its wine met, from it forward to where its bottles went,
//! and from a material to every bottle, each on one page.

use super::past::{self, DoneSeen, treatment_columns};
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RunId, State};
use crate::cellar::jobs::bottles::bottling::recalled::Recalled;
use crate::cellar::jobs::bottles::bottling::run::Run;
use crate::cellar::views::books::lineage::{Done, Fill, Onward, Reached, Since, Starting, Tracer};
use crate::cli::arguments::{Thing, Traceable};
use crate::cli::books::trace::{bulk_columns, receipt_columns};
use crate::cli::bottles::run;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::suggestion::{called, not_found};
use crate::cli::reading;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::Seen;
use crate::sheets::books::trace;
use crate::sheets::core::document::Document;
use crate::told::meant::meant;
use crate::units::Volume;

/// The run of a label, or the run on whose bottles a lot code stands.
pub fn find_run(state: &State, label: Option<&str>, code: Option<&str>) -> Outcome<RunId> {
    let of_label = label.map(|label| called("run", &state.runs, label)).transpose()?;
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
            let hint = meant(code, all_codes(state)).unwrap_or_else(|| all.to_owned());
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
    Forward(Starting<'a>),
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
                Bottles::Forward(Starting::Vessel(find_fill(tracer, label, fill)?))
            }
            Traceable::Thing(Thing::Lot { label }) => {
                Bottles::Forward(Starting::Lot(reading::lot(&tracer.state, label)?))
            }
            Traceable::Material { label } => Bottles::Forward(Starting::Material(known_material(tracer, label)?)),
            Traceable::Block { label } => Bottles::Forward(Starting::Block(known_block(tracer, label)?)),
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
    let hint = meant(label, all.into_iter()).unwrap_or_else(|| " Check its spelling.".to_owned());
    let label = harmless(label);
    Err(Complaint::Refused(format!("No wine was treated and no bottle was filled with '{label}'.{hint}")))
}

fn known_block<'a>(tracer: &Tracer, label: &'a str) -> Outcome<&'a str> {
    let blocks = || tracer.state.origins.iter().map(|(_, origin)| &origin.0.block);
    if blocks().any(|known| known.as_str() == label) {
        return Ok(label);
    }
    let hint = meant(label, blocks()).unwrap_or_else(|| " Check its spelling.".to_owned());
    Err(Complaint::Refused(format!("No block of vines is called '{}'.{hint}", harmless(label))))
}

/// Traces what was found: the bottles of a run back to all that their wine met, or forward to where they went; a material,
/// a batch of one or a block to every bottle; else a vessel's or a lot's wine.
pub fn write(tracer: &Tracer, bottles: &Bottles<'_>, forward: bool, on: Moment, page: &mut Page<'_>) -> Outcome {
    match *bottles {
        // The card of the run tells of all its lot codes.
        Bottles::Back(run, _) if forward => run::told(&tracer.state, run, on).write(page),
        Bottles::Back(run, ref code) => past::write(tracer, run, code.as_deref(), on, page),
        Bottles::Forward(from @ (Starting::Material(_) | Starting::Block(_))) => onward(tracer, from, on, page),
        Bottles::Forward(from) => super::trace::write(tracer, from, forward, on, page),
    }
}

/// A run that wine reached, with what is left of the lot codes on those bottles, where that lies, and who may have got the
/// rest.
pub struct Reaching<'a> {
    run: &'a Run,
    codes: Vec<Label>,
    bottles: u64,
    volume: Volume,
    recalled: Recalled,
}

impl<'a> Reaching<'a> {
    /// What wine reached of a run.
    pub fn of(tracer: &'a Tracer, reached: &Reached) -> Reaching<'a> {
        let run = tracer.state.runs.get(reached.run);
        let (bottles, volume) = tracer.bottles_of(reached);
        let codes = tracer.codes_reached(reached);
        let recalled = run.recalled(&codes);
        Reaching { run, codes, bottles, volume, recalled }
    }
}

/// The columns of runs that were reached.
pub fn reached_columns<'a>() -> Vec<Column<&'a Reaching<'a>>> {
    vec![
        Column::both("run", "run", |it: &&Reaching<'_>| (&it.run.label).into()),
        Column::both("lot_codes", "code", |it| Cell::list(&it.codes)),
        Column::both("bottles", "bottles", |it: &&Reaching<'_>| it.bottles.into()).summed(),
        Column::both("volume_ul", "litres", |it: &&Reaching<'_>| it.volume.into()).summed(),
        Column::program("of_bottles", |it| it.run.bottles().into()),
        Column::both("left", "left", |it| it.recalled.left.into()),
        Column::both("places", "in", |it: &&Reaching<'_>| Cell::list(&it.recalled.places)).sparse(),
        Column::program("code_assumed", |it| it.run.assumed.into()),
        Column::both("to", "went to", |it: &&Reaching<'_>| Cell::list(&it.recalled.to)).sparse(),
    ]
}

/// Where a material or a block came to.
struct Came<'a> {
    tracer: &'a Tracer,
    from: Starting<'a>,
    onward: Onward<'a>,
    reached: Vec<Reaching<'a>>,
}

type CameSeen<'a> = Seen<'a, Came<'a>>;

fn came_columns<'a>() -> Vec<Column<CameSeen<'a>>> {
    vec![
        Column::spread(|it: &CameSeen<'_>| {
            Cell::Thing(match it.from {
                Starting::Material(label) => vec![("material".into(), label.into())],
                Starting::Block(label) => vec![("block".into(), label.into())],
                Starting::Vessel(_) | Starting::Lot(_) => Vec::new(),
            })
        }),
        Column::spread(|it| some_of("treatments", it.treatments())),
        Column::spread(|it| some_of("received", it.within(&receipt_columns(), it.onward.grown.iter().copied()))),
        Column::spread(|it| some_of("bulk_out", it.within(&bulk_columns(), it.onward.bulk_out.iter().copied()))),
        Column::within("runs", |it| Cell::things(&reached_columns(), &it.reached)),
    ]
}

/// A list where there is something in it.
fn some_of(name: &'static str, list: Cell) -> Cell {
    if list.is_absent() { Cell::Nothing } else { Cell::Thing(vec![(name.into(), list)]) }
}

impl CameSeen<'_> {
    /// What a material was added to, a vessel each.
    fn treatments(&self) -> Cell {
        let each = |(since, done): &(Since, &Done)| {
            let mut columns = treatment_columns();
            columns.retain(|column| column.name != Some("vessels"));
            let Cell::Thing(mut its) = Cell::thing(&columns, &DoneSeen { tracer: self.tracer, done }) else {
                return Cell::Nothing;
            };
            let vessels = Cell::list([self.vessel_label(since.fill.vessel)]);
            its.insert(its.len().saturating_sub(1), ("vessels".into(), vessels));
            Cell::Thing(its)
        };
        Cell::List(self.onward.treated.iter().map(each).collect())
    }
}

fn onward(tracer: &Tracer, from: Starting<'_>, on: Moment, page: &mut Page<'_>) -> Outcome {
    let onward = tracer.onward(from);
    let reached = onward.reached.iter().map(|reached| Reaching::of(tracer, reached)).collect();
    let told = Seen { state: &tracer.state, on, thing: Came { tracer, from, onward, reached } };
    let rows: Vec<&Reaching<'_>> = told.reached.iter().collect();
    page.report((&came_columns(), &told), (&reached_columns(), &rows), |page| {
        page.document(&trace::forward(tracer, from, on))
    })
}
