//! The sheet of oak judged: by each quality what is told, a line a kind, what cannot be told and what it would take. To order next year's wood.

use crate::cellar::core::moment::Moment;
use crate::cellar::views::wood::oak::{OakLine, OakOf};
use crate::reckon::oak::Level;
use crate::sheets::core::document::{Block, Document, Kind, Line, Table};
use crate::told::oak;
use crate::units::figure_to;

/// The sheet of all qualities.
#[must_use]
pub fn sheet(judged: &[OakOf], at: Moment) -> Document {
    let mut blocks = Vec::new();
    for of in judged {
        blocks.push(Block::Heading(oak::heading(of.factor).to_owned()));
        blocks.extend(parts(of));
    }
    blocks.extend(how());
    Document {
        title: "What the oak did".to_owned(),
        lead: vec![format!("{}. What barrels scored within their lots, to order next year's wood.", at.show_date())],
        cautions: Vec::new(),
        blocks,
    }
}

/// The page of one quality, for the screen.
#[must_use]
pub fn page(of: &OakOf) -> Document {
    let title = format!("What the oak did, {}", oak::heading(of.factor).to_lowercase());
    Document { title, lead: Vec::new(), cautions: Vec::new(), blocks: parts(of).into_iter().chain(how()).collect() }
}

/// What the columns mean.
fn how() -> impl Iterator<Item = Block> {
    std::iter::once(Block::Heading("How it is told".to_owned())).chain(oak::how().into_iter().map(Block::Words))
}

/// What is told of a quality: the words first, then its kinds, then what is not told.
fn parts(of: &OakOf) -> Vec<Block> {
    let mut blocks: Vec<Block> = oak::told(of).into_iter().map(Block::Words).collect();
    if of.scores.is_ok() {
        blocks.push(Block::Table(scores(of)));
    }
    let beside = wood(of);
    if !beside.lines.is_empty() {
        blocks.push(Block::Table(beside));
    }
    blocks.extend(oak::cannot_be_told(of).into_iter().chain(oak::takes(of)).map(Block::Words));
    blocks
}

/// How each kind scored.
fn scores(of: &OakOf) -> Table {
    let mut table = Table::with(&[
        (of.factor.word(), Kind::Words),
        ("barrels", Kind::Numbers),
        ("tastes", Kind::Numbers),
        ("all else equal", Kind::Numbers),
        ("as it came", Kind::Numbers),
        ("", Kind::Words),
    ]);
    for line in of.lines.iter().filter(|line| line.scored.is_some()) {
        let scored = line.scored.as_ref();
        let count = |of: fn(&Level) -> usize| scored.map(|it| of(it).to_string()).unwrap_or_default();
        table.lines.push(Line::Cells(vec![
            line.level.clone(),
            count(|it| it.barrels),
            count(|it| it.times),
            oak::by(2, scored.and_then(|it| it.all_else_equal.as_ref())),
            oak::by(2, scored.and_then(|it| it.as_it_came.as_ref())),
            oak::standing(line.standing).to_owned(),
        ]));
    }
    table
}

/// How the wine kept, what evaporated, what leaked, what it cost; columns of which nothing is known are left out.
fn wood(of: &OakOf) -> Table {
    type Told = fn(&OakLine) -> String;
    let columns: [(&str, Told); 5] = [
        ("evaporates L a year", oak::evaporation),
        ("leaks of 100 a year", |line| oak::leaks(&line.leaks)),
        ("volatile acidity mg/L a month", |line| oak::by(0, line.acid_rise.map(oak::milligrams).as_ref())),
        ("free SO2 fall mg/L a month", |line| oak::by(1, line.sulfur_fall.as_ref())),
        ("price", |line| line.price.map_or_else(String::new, |price| figure_to(0, price))),
    ];
    let is_known = |(_, told): &&(&str, Told)| of.lines.iter().any(|line| !told(line).is_empty());
    let columns: Vec<&(&str, Told)> = columns.iter().filter(is_known).collect();
    let headings: Vec<(&str, Kind)> = std::iter::once((of.factor.word(), Kind::Words))
        .chain(columns.iter().map(|(heading, _)| (*heading, Kind::Numbers)))
        .collect();
    let mut table = Table::with(&headings);
    for line in &of.lines {
        let told: Vec<String> = columns.iter().map(|(_, told)| told(line)).collect();
        if told.iter().any(|told| !told.is_empty()) {
            table.lines.push(Line::Cells(std::iter::once(line.level.clone()).chain(told).collect()));
        }
    }
    table
}
