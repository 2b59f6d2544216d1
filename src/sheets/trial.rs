//! The sheets of a trial: the pouring page, which only whoever pours may see, and a score sheet for each taster, which tells
//! nothing of the key. Both carry the key's digest, so that the sheets prove later that nobody changed it.

use super::document::{Block, Document, Kind, Line, Table};
use crate::cellar::state::State;
use crate::cellar::trial::Trial;
use crate::cellar::trial::code::Code;
use crate::reckon::mixture::PourError;
use crate::units::{Volume, VolumeUnit};

/// Pouring and tasting: what can hurt people, and what spoils the trial.
const TASTING_CAUTION: &str = "Spit, drink water, and do not drive after a tasting.";

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
    let millilitres = |volume: Volume| {
        if volume.is_zero() { String::new() } else { volume.show_number(VolumeUnit::Millilitre, 1) }
    };
    for pour in &pours {
        let mut cells = vec![pour.glass.code.to_string(), pour.times.to_string()];
        cells.extend(pour.amounts.iter().map(|&amount| millilitres(amount)));
        cells.push(pour.glass.repeat_of.as_ref().map(Code::to_string).unwrap_or_default());
        table.lines.push(Line::Cells(cells));
    }
    let mut total = vec!["to draw".to_owned(), String::new()];
    total.extend(key.samples(&pours)?.into_iter().map(|draw| millilitres(draw.to_draw)));
    total.push(String::new());
    table.lines.push(Line::Total(total));
    let lead = vec![
        "FOR WHOEVER POURS ONLY. This page tells what is in the glasses: keep it from everybody who tastes.".to_owned(),
        format!(
            "mL of each wine in a glass of {}; each glass as many times as it says.",
            trial.glass_volume().show(VolumeUnit::Millilitre, 0)
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
    Document { title: format!("Tasting: {}", trial.label), lead, cautions: vec![TASTING_CAUTION.to_owned()], blocks }
}

fn sealed(trial: &Trial) -> String {
    format!("Sealed: SHA-256 {}", trial.digest())
}
