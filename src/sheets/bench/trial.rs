//! The sheets of a trial: the pouring page, which only whoever pours may see, and a score sheet for each taster, which tells
//! nothing of the key; and the trial once it is revealed. All carry the key's digest, so that the sheets prove later that nobody
//! changed it.

use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::code::Code;
use crate::cellar::jobs::bench::trial::outlook::RatioReading;
use crate::cellar::jobs::bench::trial::reading::TrialReading;
use crate::reckon::mixture::PourError;
use crate::reckon::panel::table::Given;
use crate::sheets::core::document::{Block, Document, Kind, Line, Table};
use crate::told::hazard::{Caution, Hazard};
use crate::units::{Shares, Volume, VolumeUnit, figure_to, millilitres, whole_litres};

/// The page for whoever pours: what is in which glass, in steps that a cylinder can read.
pub fn pouring(state: &State, trial: &Trial, step: Volume) -> Result<Document, PourError> {
    let key = trial.pouring();
    let pours = key.pours(step)?;
    let vessels: Vec<String> =
        trial.components().iter().map(|component| state.vessels.get(component.vessel).label.to_string()).collect();
    let mut columns = vec![("poured", Kind::Box), ("code", Kind::Words), ("times", Kind::Numbers)];
    columns.extend(vessels.iter().map(|vessel| (vessel.as_str(), Kind::Numbers)));
    columns.push(("the same as", Kind::Words));
    let mut table = Table::with(&columns);
    let drawn = |volume: Volume| {
        if volume.is_zero() { String::new() } else { volume.in_column_of(VolumeUnit::Millilitre, 1) }
    };
    for pour in &pours {
        let mut cells = vec![pour.glass.code.to_string(), pour.times.to_string()];
        cells.extend(pour.amounts.iter().map(|&amount| drawn(amount)));
        cells.push(pour.glass.repeat_of.as_ref().map(Code::to_string).unwrap_or_default());
        table.lines.push(Line::Cells(cells));
    }
    let mut total = vec!["to draw".to_owned(), String::new()];
    total.extend(key.samples(&pours)?.into_iter().map(|draw| drawn(draw.to_draw)));
    total.push(String::new());
    table.lines.push(Line::Total(total));
    let lead = vec![
        "FOR WHOEVER POURS ONLY. This page tells what is in the glasses: keep it from everybody who tastes.".to_owned(),
        format!(
            "mL of each wine in a glass of {}; each glass as many times as it says.",
            millilitres(trial.glass_volume())
        ),
        sealed(trial),
    ];
    Ok(Document {
        title: format!("Pouring: {}", trial.label),
        lead,
        cautions: Vec::new(),
        blocks: vec![Block::Table(table)],
    })
}

/// A sheet for each taster: codes in the order of tasting, flight by flight, with room for score and words.
#[must_use]
pub fn scores(trial: &Trial) -> Document {
    let mut blocks = Vec::new();
    for taster in trial.tasters() {
        if !blocks.is_empty() {
            blocks.push(Block::NewPage);
        }
        blocks.push(Block::Heading(format!("{}: {}", trial.label, taster.name)));
        blocks.push(Block::Words(
            "Score from 0 to 20, half points too. Taste in the order of the sheet, in silence.".to_owned(),
        ));
        let mut table = Table::with(&[("code", Kind::Words), ("score", Kind::Room(8)), ("words", Kind::Room(40))]);
        for (flight, number) in taster.flights.iter().zip(1..) {
            table.lines.push(Line::Band(format!("flight {number}")));
            table.lines.extend(flight.iter().map(|code| Line::Cells(vec![code.to_string()])));
        }
        blocks.push(Block::Table(table));
    }
    let lead = vec![format!("Set on {}.", trial.set.show_date()), sealed(trial)];
    Document {
        title: format!("Tasting: {}", trial.label),
        lead,
        cautions: Document::cautions(&Caution::of(&[Hazard::Tasting])),
        blocks,
    }
}

/// A revealed trial: what the codes were, how the glasses stood, what could be blended, and how the seal is checked. None while the
/// trial is not revealed.
#[must_use]
pub fn revealed(state: &State, trial: &Trial) -> Option<Document> {
    let (key, revealed) = trial.opened().zip(trial.revealed())?;
    let reading = key.reading(state);
    let outlook = key.outlook(state, &reading);
    let salt = key.salt().map_or_else(|| "none".to_owned(), ToString::to_string);
    let lead = vec![format!("Set on {}, revealed on {}.", trial.set.show_date(), revealed.show_date())];
    let words = |words: Vec<String>| words.into_iter().map(Block::Words);
    let mut blocks: Vec<Block> = words(reading.surface_words()).chain(words(outlook.blends)).collect();
    if !outlook.ratios.is_empty() {
        blocks.push(Block::Heading("What could be blended".to_owned()));
        blocks.push(Block::Table(ratios(&reading.components, &outlook.ratios)));
    }
    blocks.extend(words(outlook.changed));
    blocks.extend(words(reading.remarks.clone()));
    blocks.push(Block::Heading("The glasses, the best first; those that share a letter are not told apart".to_owned()));
    blocks.push(Block::Table(glasses(&reading)));
    blocks.extend(words(reading.panel_words()));
    let how_sure = reading.how_sure();
    if !how_sure.is_empty() {
        blocks.push(Block::Heading("How sure it is".to_owned()));
        blocks.extend(words(how_sure));
    }
    blocks.push(Block::Heading("The seal".to_owned()));
    blocks.extend(words(vec![
        sealed(trial),
        format!("Salt: {salt}"),
        format!(
            "To check: barrelwalk trial seal '{}' | sha256sum gives the same digest; the sheets that were printed before \
             the tasting carry it too.",
            trial.label
        ),
    ]));
    Some(Document { title: format!("Revealed: {}", trial.label), lead, cautions: Vec::new(), blocks })
}

/// The glasses by their places, a column a wine.
fn glasses(reading: &TrialReading) -> Table {
    let mut columns = vec![("place", Kind::Numbers), ("code", Kind::Words)];
    columns.extend(reading.components.iter().map(|name| (name.as_str(), Kind::Numbers)));
    let scored = reading.given == Given::Scores;
    columns.extend(scored.then_some(("mean score", Kind::Numbers)));
    columns.extend([
        ("rank sum", Kind::Numbers),
        ("tasters", Kind::Numbers),
        ("groups", Kind::Words),
        ("the same as", Kind::Words),
    ]);
    let mut table = Table::with(&columns);
    for glass in &reading.glasses {
        let standing = glass.standing.as_ref();
        let one = |value: Option<f64>| value.map_or_else(String::new, |value| figure_to(1, value));
        let mut cells = vec![glass.place.map_or_else(String::new, |it| it.to_string()), glass.code.to_string()];
        cells.extend(percents(&glass.shares));
        cells.extend(scored.then(|| one(standing.and_then(|it| it.mean_score))));
        cells.push(one(standing.filter(|it| it.ranked > 0).map(|it| it.rank_sum)));
        cells.push(standing.map_or(0, |it| it.ranked).to_string());
        cells.push(standing.map_or_else(String::new, |it| it.groups.clone()));
        cells.push(glass.repeat_of.as_ref().map(Code::to_string).unwrap_or_default());
        table.lines.push(Line::Cells(cells));
    }
    table
}

/// The ratios that could be blended.
fn ratios(components: &[String], ratios: &[RatioReading]) -> Table {
    let mut columns = vec![("ratio", Kind::Words), ("put first by", Kind::Words)];
    columns.extend(components.iter().map(|name| (name.as_str(), Kind::Numbers)));
    columns.extend([("expected", Kind::Words), ("below the best", Kind::Words), ("largest batch", Kind::Numbers)]);
    let mut table = Table::with(&columns);
    for ratio in ratios {
        let mut cells = vec![ratio.ratio.to_string(), ratio.first_of.join(", ")];
        cells.extend(percents(&ratio.shares));
        cells.push(
            ratio
                .expected
                .map_or_else(String::new, |it| format!("{} ± {}", figure_to(2, it.score), figure_to(2, it.error))),
        );
        let compared = ratio.compared.as_ref();
        cells.push(compared.map_or_else(String::new, |it| {
            format!("{} ± {}", figure_to(2, it.below.max(0.0)), figure_to(2, it.error))
        }));
        let batch = ratio.batch.as_ref().ok();
        cells.push(batch.map_or_else(|| "none".to_owned(), |batch| whole_litres(batch.volume)));
        table.lines.push(Line::Cells(cells));
    }
    table
}

/// Shares in percent to a tenth; what is not in a mixture is left empty.
fn percents(shares: &Shares) -> impl Iterator<Item = String> + '_ {
    let percent = |&part: &u32| if part == 0 { String::new() } else { figure_to(1, f64::from(part) / 10_000.0) };
    shares.millionths().iter().map(percent)
}

fn sealed(trial: &Trial) -> String {
    format!("Sealed: SHA-256 {}", trial.digest())
}
