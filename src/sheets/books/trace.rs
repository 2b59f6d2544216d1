//! The page of a trace: back from a run or a lot code to all that its wine met, or forward from a vessel, a lot, a material or
//! a block to every bottle, where it lies and who got it.
//!
//! **One page of a trace**: `sheets/books/trace.rs` makes it, of what `lineage/gathered.rs` gathers; the command prints it as plain text
//! and the screen shows the same lines.

mod whereabouts;

use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RunId, State, VesselId};
use crate::cellar::core::wine::Wine;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bottles::bottling::run::Run;
use crate::cellar::jobs::bottles::bottling::size;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::views::books::lineage::{
    BulkOut, Done, DoneTo, Fill, Flowed, Past, Receipt, Since, Starting, Stream, Times, Tracer, flowed,
};
use crate::sheets::core::document::{Block, Document, Kind, Line, Table};
use crate::units::{Mass, figure, litres, percent};

/// How many labels are told of one kind; there may be hundreds of barrels.
const MOST_NAMES: usize = 60;
/// How many of the last tastes are told.
const LAST_TASTES: usize = 8;

/// All that the wine of a run met, or that of its bottles with one lot code.
#[must_use]
pub fn back(tracer: &Tracer, id: RunId, code: Option<&str>, on: Moment) -> Document {
    let run = tracer.state.runs.get(id);
    let past = tracer.past_of_run(id, code);
    let codes = past.codes();
    let mut blocks = whereabouts::of_run(run, &codes, on);
    blocks.extend(part("Grew in", grew_in(&tracer.state, &past.wine)));
    blocks.extend(lay_in(tracer, &past));
    blocks.extend(part("Moved", moved(&past.flowed())));
    blocks.extend(part("Was given", given(tracer, &past)));
    blocks.extend(part("Fining trials", finings(tracer, &past)));
    blocks.extend(part("Trials and blends", trials(tracer, &past)));
    blocks.extend(part("The wood it came into was", cared(&past)));
    blocks.extend(part("Checklist before bottling", checks(tracer, &past)));
    blocks.extend(part("Was tested, the last of each", tested(tracer, &past)));
    blocks.extend(part("Was tasted, the last ones", tasted(tracer, &past)));
    blocks.extend(part("Was tasted in bottle", whereabouts::tasted(run, &codes)));
    blocks.extend(part("At the line", line(&past)));
    let people: Vec<String> = past.people.iter().map(|(by, facts)| format!("{by} ({facts})")).collect();
    blocks.extend([Block::Heading("Who entered it, with how many facts".to_owned()), Block::Words(people.join(", "))]);
    let title = code.map_or_else(
        || format!("Trace of run {}", run.label),
        |code| format!("Trace of lot code {code}, run {}", run.label),
    );
    Document { title, lead: filled(run, &past, &codes, on), cautions: Vec::new(), blocks }
}

fn filled(run: &Run, past: &Past<'_>, codes: &[Label], on: Moment) -> Vec<String> {
    let when = match past.stretches.as_slice() {
        [first, .., last] if first.at.date() != last.at.date() => {
            format!("{} to {}", first.at.show_date(), last.at.show_date())
        }
        [first, ..] => first.at.show_date(),
        [] => "never".to_owned(),
    };
    vec![
        format!(
            "Bottled {when}: {} bottles of {}, {}; lot code {}.",
            past.bottles(),
            size(run.bottle),
            litres(past.wine.volume()),
            named(codes)
        ),
        format!("As the book stood on {}.", on.show_date()),
    ]
}

/// Forward to every bottle.
#[must_use]
pub fn forward(tracer: &Tracer, from: Starting<'_>, on: Moment) -> Document {
    let (title, mut lead) = match from {
        Starting::Vessel(fill) => {
            let label = &tracer.state.vessels.get(fill.vessel).label;
            (format!("Forward from vessel {label}"), fills_told(tracer, fill))
        }
        Starting::Lot(lot) => (format!("Forward from lot {}", tracer.state.lots.get(lot).label), Vec::new()),
        Starting::Material(label) => (format!("Forward from material {label}"), Vec::new()),
        Starting::Block(label) => (format!("Forward from block {label}"), Vec::new()),
    };
    let onward = tracer.onward(from);
    let mut blocks = whereabouts::of_reached(tracer, &onward.reached, on);
    blocks.extend(part("Left the house in bulk", bulk_out(&tracer.state, &onward.bulk_out)));
    blocks.extend(part("Was given to", given_to(tracer, &onward.treated)));
    blocks.extend(part("Came into the book", grown(tracer, &onward.grown)));
    blocks.extend(went_on(tracer, &onward.streams));
    lead.push(format!("As the book stood on {}.", on.show_date()));
    Document { title, lead, cautions: Vec::new(), blocks }
}

/// Which fill of a vessel is meant: wine of another fill is other wine. What lay in it before the book began is not told.
fn fills_told(tracer: &Tracer, fill: Fill) -> Vec<String> {
    let lot = |number: u32| {
        let lot = tracer.last_name(Fill { vessel: fill.vessel, number })?;
        Some(format!("{number} ({})", tracer.state.lots.get(lot).label))
    };
    let fills = tracer.state.vessels.get(fill.vessel).fills;
    let others: Vec<String> = (1..=fills).filter(|&number| number != fill.number).filter_map(lot).collect();
    let this = lot(fill.number).unwrap_or_else(|| fill.number.to_string());
    let mut told = vec![format!("The wine of its fill {this} of {fills}.")];
    if !others.is_empty() {
        told.push(format!("Other wine lay in it in fill {}.", others.join(", ")));
    }
    told
}

fn went_on(tracer: &Tracer, streams: &[Stream]) -> Vec<Block> {
    let mut blocks = part("Went on", moved(&flowed(streams)));
    let mut vessels: Vec<VesselId> = Vec::new();
    for stream in streams {
        if !vessels.contains(&stream.to.vessel) {
            vessels.push(stream.to.vessel);
        }
    }
    if !vessels.is_empty() {
        let labels: Vec<Label> = vessels.iter().map(|&id| tracer.state.vessels.get(id).label.clone()).collect();
        blocks.push(Block::Words(format!("Into {}", named(&labels))));
    }
    blocks
}

fn given_to(tracer: &Tracer, treated: &[(Since, &Done)]) -> Table {
    let mut table = Table::with(&[
        ("on", Kind::Words),
        ("vessel", Kind::Words),
        ("grams", Kind::Numbers),
        ("batch", Kind::Words),
        ("by", Kind::Words),
    ]);
    for (since, done) in treated {
        let DoneTo::Treated { batch, amount, .. } = done.to else { continue };
        table.lines.push(Line::Cells(vec![
            done.at.show_date(),
            tracer.state.vessels.get(since.fill.vessel).label.to_string(),
            grams(amount),
            batch.map_or_else(String::new, |batch| tracer.called(batch).to_string()),
            by(tracer, done),
        ]));
    }
    table
}

fn bulk_out(state: &State, left: &[&BulkOut]) -> Table {
    let mut table = Table::with(&[
        ("on", Kind::Words),
        ("from", Kind::Words),
        ("lot", Kind::Words),
        ("litres", Kind::Numbers),
        ("to", Kind::Words),
        ("why", Kind::Words),
    ]);
    for out in left {
        table.lines.push(Line::Cells(vec![
            out.at.show_date(),
            state.vessels.get(out.from.vessel).label.to_string(),
            out.lot.map_or_else(String::new, |lot| state.lots.get(lot).label.to_string()),
            out.volume.in_column(1),
            out.to.to_string(),
            out.why.as_ref().map_or_else(String::new, ToString::to_string),
        ]));
    }
    table
}

fn grown(tracer: &Tracer, grown: &[&Receipt]) -> Table {
    let mut table = Table::with(&[
        ("on", Kind::Words),
        ("origin", Kind::Words),
        ("into", Kind::Words),
        ("lot", Kind::Words),
        ("litres", Kind::Numbers),
    ]);
    for receipt in grown {
        table.lines.push(Line::Cells(vec![
            receipt.at.show_date(),
            tracer.state.origins.get(receipt.origin).0.origin.to_string(),
            tracer.state.vessels.get(receipt.into.vessel).label.to_string(),
            tracer.state.lots.get(receipt.lot).label.to_string(),
            receipt.volume.in_column(1),
        ]));
    }
    table
}

fn grew_in(state: &State, wine: &Wine) -> Table {
    let mut table = Table::with(&[
        ("block", Kind::Words),
        ("wine", Kind::Words),
        ("litres", Kind::Numbers),
        ("share", Kind::Numbers),
        ("appellation", Kind::Words),
    ]);
    for part in wine.parts() {
        let share = part.volume.as_litres() / wine.volume().as_litres() * 100.0;
        let litres = part.volume.in_column(1);
        let [block, wine, appellation] = part.origin.map_or_else(
            || ["treatments", "", ""].map(str::to_owned),
            |id| {
                let origin = &state.origins.get(id).0;
                let wine = format!("{} {}", origin.variety, origin.vintage);
                [origin.block.to_string(), wine, origin.appellation.to_string()]
            },
        );
        table.lines.push(Line::Cells(vec![block, wine, litres, percent(2, share / 100.0), appellation]));
    }
    table
}

fn lay_in(tracer: &Tracer, past: &Past<'_>) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Lay in, with the number of the fill".to_owned())];
    for group in past.laid_in(tracer) {
        let what = match group.kind {
            VesselType::Barrel => "Barrels",
            VesselType::Tank => "Tanks",
            VesselType::Keg => "Kegs",
        };
        let lot = group.lot.map_or_else(String::new, |lot| format!(" of {}", tracer.state.lots.get(lot).label));
        let fills: Vec<String> = group
            .fills
            .iter()
            .map(|fill| format!("{} ({})", tracer.state.vessels.get(fill.vessel).label, fill.number))
            .collect();
        blocks.push(Block::Words(format!("{what}{lot}, {}: {}.", fills.len(), first_of(&fills))));
    }
    blocks
}

fn moved(flowed: &[Flowed]) -> Table {
    let mut table = Table::with(&[
        ("why", Kind::Words),
        ("times", Kind::Numbers),
        ("litres", Kind::Numbers),
        ("first", Kind::Words),
        ("last", Kind::Words),
    ]);
    for flowed in flowed {
        let mut cells = vec![flowed.flow.word().replace('_', "-"), flowed.times.times.to_string()];
        cells.push(flowed.volume.in_column(1));
        cells.extend(dates(flowed.times));
        table.lines.push(Line::Cells(cells));
    }
    table
}

fn given(tracer: &Tracer, past: &Past<'_>) -> Table {
    let mut table = Table::with(&[
        ("material", Kind::Words),
        ("batch", Kind::Words),
        ("grams", Kind::Numbers),
        ("times", Kind::Numbers),
        ("first", Kind::Words),
        ("last", Kind::Words),
        ("by", Kind::Words),
    ]);
    for added in past.added() {
        let people: Vec<Label> = added.hands.iter().filter_map(|&hand| tracer.person(hand).cloned()).collect();
        let mut cells = vec![
            tracer.called(added.material).to_string(),
            added.batch.map_or_else(String::new, |batch| tracer.called(batch).to_string()),
            grams(added.amount),
            added.times.times.to_string(),
        ];
        cells.extend(dates(added.times));
        cells.push(named(&people));
        table.lines.push(Line::Cells(cells));
    }
    table
}

fn finings(tracer: &Tracer, past: &Past<'_>) -> Table {
    let mut table = Table::with(&[
        ("on", Kind::Words),
        ("trial", Kind::Words),
        ("wine of", Kind::Words),
        ("material", Kind::Words),
        ("glasses", Kind::Numbers),
        ("chosen g/L", Kind::Numbers),
        ("by", Kind::Words),
    ]);
    for done in past.fining_trials() {
        let DoneTo::Tried(tried) = &done.to else { continue };
        table.lines.push(Line::Cells(vec![
            done.at.show_date(),
            tried.trial.to_string(),
            tried.vessel.to_string(),
            tried.material.to_string(),
            tried.glasses.len().to_string(),
            tried.chosen_g_l.map_or_else(|| "none".to_owned(), |dose| dose.to_string()),
            by(tracer, done),
        ]));
    }
    table
}

fn trials(tracer: &Tracer, past: &Past<'_>) -> Table {
    let mut table = Table::with(&[
        ("on", Kind::Words),
        ("trial", Kind::Words),
        ("what", Kind::Words),
        ("tasters", Kind::Words),
        ("by", Kind::Words),
    ]);
    for done in &past.done {
        let (trial, what) = match &done.to {
            DoneTo::SetInTrial(trial) => (trial.as_ref(), "set, of this wine".to_owned()),
            DoneTo::Chosen(chosen) => {
                let what = chosen.code.as_ref().map_or_else(|| "a ratio".to_owned(), |code| format!("glass {code}"));
                (&chosen.trial, format!("{what} chosen into {}", chosen.into))
            }
            _ => continue,
        };
        let panel = tracer.state.trials.by_label(trial.as_str()).map(tasters).unwrap_or_default();
        let cells = vec![done.at.show_date(), trial.to_string(), what, panel, by(tracer, done)];
        table.lines.push(Line::Cells(cells));
    }
    table
}

fn tasters(trial: &Trial) -> String {
    named(&trial.tasters().iter().map(|taster| taster.name.clone()).collect::<Vec<_>>())
}

fn cared(past: &Past<'_>) -> Table {
    let mut table =
        Table::with(&[("what", Kind::Words), ("times", Kind::Numbers), ("first", Kind::Words), ("last", Kind::Words)]);
    for (care, times) in past.cared() {
        let mut cells = vec![care.word().to_owned(), times.times.to_string()];
        cells.extend(dates(times));
        table.lines.push(Line::Cells(cells));
    }
    table
}

fn checks(tracer: &Tracer, past: &Past<'_>) -> Table {
    let mut table = Table::with(&[
        ("item", Kind::Words),
        ("said", Kind::Words),
        ("on", Kind::Words),
        ("by", Kind::Words),
        ("words", Kind::Words),
        ("lot", Kind::Words),
    ]);
    for done in past.checks() {
        let DoneTo::Checked(check) = &done.to else { continue };
        let said = match check.met {
            Some(true) => "met",
            Some(false) => "not met",
            None => "waived",
        };
        table.lines.push(Line::Cells(vec![
            check.item.to_string(),
            said.to_owned(),
            done.at.show_date(),
            by(tracer, done),
            check.text.as_ref().map_or_else(String::new, ToString::to_string),
            check.lot.to_string(),
        ]));
    }
    table
}

fn tested(tracer: &Tracer, past: &Past<'_>) -> Table {
    let mut table = Table::with(&[
        ("of", Kind::Words),
        ("last", Kind::Words),
        ("on", Kind::Words),
        ("tests", Kind::Numbers),
        ("by", Kind::Words),
        ("in", Kind::Words),
    ]);
    for finding in past.findings() {
        let read = tracer.state.read_as(finding.analyte);
        let value = read.with_unit(figure(read.value(finding.value)));
        table.lines.push(Line::Cells(vec![
            finding.analyte.name().to_owned(),
            value,
            finding.by.at.show_date(),
            finding.tests.to_string(),
            by(tracer, finding.by),
            done_in(tracer, finding.by),
        ]));
    }
    table
}

fn tasted(tracer: &Tracer, past: &Past<'_>) -> Table {
    let mut table = Table::with(&[
        ("on", Kind::Words),
        ("vessel", Kind::Words),
        ("score", Kind::Numbers),
        ("by", Kind::Words),
        ("marks and words", Kind::Words),
    ]);
    let tastes = past.done.iter().rev().filter_map(|done| match &done.to {
        DoneTo::Tasted(taste) => Some((done, taste)),
        _ => None,
    });
    for (done, taste) in tastes.take(LAST_TASTES) {
        table.lines.push(Line::Cells(vec![
            done.at.show_date(),
            done_in(tracer, done),
            taste.score.map_or_else(String::new, |score| score.to_string()),
            by(tracer, done),
            impression(taste.marks.as_deref().unwrap_or_default(), taste.text.as_ref()),
        ]));
    }
    table
}

fn line(past: &Past<'_>) -> Table {
    let mut table = Table::with(&[("material", Kind::Words), ("batch", Kind::Words), ("lot code", Kind::Words)]);
    for used in past.at_the_line() {
        let batch = used.batch.map_or_else(String::new, ToString::to_string);
        table.lines.push(Line::Cells(vec![used.material.to_string(), batch, used.lot_code.to_string()]));
    }
    table
}

/// A table under a heading; nothing where there is nothing in it.
fn part(heading: &str, table: Table) -> Vec<Block> {
    if table.lines.is_empty() { Vec::new() } else { vec![Block::Heading(heading.to_owned()), Block::Table(table)] }
}

fn dates(times: Times) -> [String; 2] {
    [times.first, times.last].map(Moment::show_date)
}

fn by(tracer: &Tracer, done: &Done) -> String {
    tracer.who(done).map_or_else(String::new, ToString::to_string)
}

/// The vessels that something was done to.
fn done_in(tracer: &Tracer, done: &Done) -> String {
    let labels: Vec<String> =
        done.fills().map(|fill| tracer.state.vessels.get(fill.vessel).label.to_string()).collect();
    match labels.as_slice() {
        [first, .., last] if labels.len() > 3 => format!("{first} to {last} ({})", labels.len()),
        labels => labels.join(", "),
    }
}

fn impression(marks: &[Label], text: Option<&Text>) -> String {
    let words = marks.iter().map(ToString::to_string).chain(text.map(ToString::to_string));
    words.collect::<Vec<_>>().join(", ")
}

fn named(labels: &[Label]) -> String {
    first_of(&labels.iter().map(ToString::to_string).collect::<Vec<_>>())
}

/// The first names, and how many there are beside them.
fn first_of(names: &[String]) -> String {
    match names.len().checked_sub(MOST_NAMES) {
        None | Some(0) => names.join(", "),
        Some(more) => format!("{} and {more} more", names[..MOST_NAMES].join(", ")),
    }
}

fn grams(amount: Mass) -> String {
    amount.in_column(2)
}
