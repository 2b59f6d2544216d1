//! Where the bottles of a trace are: by lot code what is left, in which bins, and out to whom.

use super::{impression, part};
use crate::cellar::core::day::Day;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::jobs::bottles::bottling::recalled::assumed_in_words;
use crate::cellar::jobs::bottles::bottling::run::Run;
use crate::cellar::views::books::lineage::{Reached, Tracer};
use crate::sheets::core::document::{Block, Kind, Line, Table};

/// Where the bottles of some lot codes of a run are.
pub fn of_run(run: &Run, codes: &[Label], on: Moment) -> Vec<Block> {
    let mut table = standing(&[]);
    for stands in run.by_code() {
        if stands.lot_code.as_ref().is_none_or(|code| codes.contains(code)) {
            let code = stands.lot_code.as_ref().map_or_else(|| "not known".to_owned(), ToString::to_string);
            let numbers = [stands.filled, stands.left(), stands.lying, stands.loose, stands.out];
            table.lines.push(Line::Cells([code].into_iter().chain(numbers.map(|it| it.to_string())).collect()));
        }
    }
    let mut blocks = part("Where its bottles are", table);
    blocks.extend(bins_and_out(&[(run, codes.to_vec())], on));
    blocks
}

/// Every lot code that wine reached, and where its bottles are.
pub fn of_reached(tracer: &Tracer, reached: &[Reached], on: Moment) -> Vec<Block> {
    if reached.is_empty() {
        return vec![Block::Words("None of it is in bottles.".to_owned())];
    }
    let mut table = standing(&[("run", Kind::Words), ("bottles", Kind::Numbers), ("litres", Kind::Numbers)]);
    let mut runs: Vec<(&Run, Vec<Label>)> = Vec::new();
    for its in tracer.by_code(reached) {
        let run = tracer.state.runs.get(its.run);
        let numbers = [its.stands.filled, its.stands.left(), its.stands.lying, its.stands.loose, its.stands.out];
        let litres = its.volume.in_column(1);
        let cells = [its.code.to_string(), run.label.to_string(), its.bottles.to_string(), litres];
        table.lines.push(Line::Cells(cells.into_iter().chain(numbers.map(|it| it.to_string())).collect()));
        match runs.iter_mut().find(|(known, _)| known.label == run.label) {
            Some((_, codes)) => codes.push(its.code),
            None => runs.push((run, vec![its.code])),
        }
    }
    let mut blocks = part("Is in bottles with these lot codes", table);
    blocks.extend(bins_and_out(&runs, on));
    blocks
}

fn standing(between: &[(&str, Kind)]) -> Table {
    let mut columns = vec![("lot code", Kind::Words)];
    columns.extend(between);
    columns.extend(["filled", "left", "in bins", "not laid away", "out"].map(|heading| (heading, Kind::Numbers)));
    Table::with(&columns)
}

fn bins_and_out(runs: &[(&Run, Vec<Label>)], on: Moment) -> Vec<Block> {
    let mut blocks = part("In the bins", bins(runs, on));
    blocks.extend(part("Out", out(runs)));
    let assumed: u64 = runs.iter().map(|(run, _)| run.assumed).sum();
    if assumed > 0 {
        blocks.push(Block::Words(assumed_in_words(assumed)));
    }
    blocks
}

fn bins(runs: &[(&Run, Vec<Label>)], on: Moment) -> Table {
    let mut table = Table::with(&[
        ("place", Kind::Words),
        ("lot code", Kind::Words),
        ("bottles", Kind::Numbers),
        ("may go", Kind::Words),
    ]);
    let today = Day::of(on.date());
    for (run, codes) in runs {
        for (place, stock) in run.laid() {
            if stock.there > 0 && is_meant(codes, stock.lot_code.as_ref()) {
                let release = stock.release.map_or_else(String::new, |day| format!(", from {}", day.show()));
                table.lines.push(Line::Cells(vec![
                    place.to_string(),
                    code_told(stock.lot_code.as_ref()),
                    stock.there.to_string(),
                    format!("{}{release}", stock.readiness(today).words()),
                ]));
            }
        }
    }
    table
}

/// What went out of one lot code for one reason to one receiver.
struct Gone {
    why: Text,
    to: Option<Text>,
    code: Option<Label>,
    bottles: u64,
    first: Moment,
    last: Moment,
}

fn gone(runs: &[(&Run, Vec<Label>)]) -> Vec<Gone> {
    let mut gathered: Vec<Gone> = Vec::new();
    for (run, codes) in runs {
        for out in run.out.iter() {
            for (code, bottles) in out.by_code.iter().filter(|(code, _)| is_meant(codes, code.as_ref())) {
                let is_same = |its: &&mut Gone| (&its.why, &its.to, &its.code) == (&out.why, &out.to, code);
                if let Some(known) = gathered.iter_mut().find(is_same) {
                    known.bottles += bottles;
                    known.last = out.at;
                    continue;
                }
                let (why, to, code) = (out.why.clone(), out.to.clone(), code.clone());
                gathered.push(Gone { why, to, code, bottles: *bottles, first: out.at, last: out.at });
            }
        }
    }
    gathered
}

fn out(runs: &[(&Run, Vec<Label>)]) -> Table {
    let mut table = Table::with(&[
        ("why", Kind::Words),
        ("to", Kind::Words),
        ("lot code", Kind::Words),
        ("bottles", Kind::Numbers),
        ("first", Kind::Words),
        ("last", Kind::Words),
    ]);
    for gone in gone(runs) {
        table.lines.push(Line::Cells(vec![
            gone.why.to_string(),
            gone.to.as_ref().map_or_else(String::new, ToString::to_string),
            code_told(gone.code.as_ref()),
            gone.bottles.to_string(),
            gone.first.show_date(),
            gone.last.show_date(),
        ]));
    }
    table
}

/// Bottles of which no code is known may be of any.
fn is_meant(codes: &[Label], code: Option<&Label>) -> bool {
    code.is_none_or(|code| codes.contains(code))
}

fn code_told(code: Option<&Label>) -> String {
    code.map_or_else(|| "not known".to_owned(), ToString::to_string)
}

/// Tastes of bottles of some lot codes.
pub fn tasted(run: &Run, codes: &[Label]) -> Table {
    let mut table = Table::with(&[
        ("on", Kind::Words),
        ("lot code", Kind::Words),
        ("months in bottle", Kind::Numbers),
        ("score", Kind::Numbers),
        ("marks and words", Kind::Words),
    ]);
    for tasted in run.tastes.iter().filter(|tasted| is_meant(codes, tasted.lot_code.as_ref())) {
        table.lines.push(Line::Cells(vec![
            tasted.taste.at.show_date(),
            code_told(tasted.lot_code.as_ref()),
            tasted.months().to_string(),
            tasted.taste.score.map_or_else(String::new, |score| score.to_string()),
            impression(&tasted.taste.marks, tasted.taste.text.as_ref()),
        ]));
    }
    table
}
