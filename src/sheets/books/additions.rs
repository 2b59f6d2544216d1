//! The page "what was added to this wine": each material with its sum over the wine's life beside the published figures, then every
//! addition by its day, ready for whoever asks.

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, RunId, State, VesselId};
use crate::cellar::core::wine::Wine;
use crate::cellar::jobs::finish::fining::given::colour_of;
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::tests::added::Additions;
use crate::cellar::views::books::lineage::{Done, DoneTo, Fill, Tracer};
use crate::reckon::material::{FOR_INFORMATION, WATER_FIGURE, WATER_SECTION};
use crate::sheets::core::document::{Block, Document, Kind, Line, Table};
use crate::units::{litres, said_dose};

/// Whose additions are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AddedTo {
    /// Of the wine that lies in a vessel.
    Vessel(VesselId),
    /// Of the wine of a lot, wherever it lies.
    Lot(LotId),
    /// Of the wine in the bottles of a run.
    Run(RunId),
}

/// The wine that is meant, and all that was done to it.
struct Meant<'a> {
    title: String,
    additions: Additions,
    colour: Option<Colour>,
    done: Vec<&'a Done>,
}

impl<'a> Meant<'a> {
    fn find(tracer: &'a Tracer, of: AddedTo) -> Meant<'a> {
        let state = &tracer.state;
        match of {
            AddedTo::Vessel(id) => {
                let vessel = state.vessels.get(id);
                Meant {
                    title: format!("What was added to the wine in {}", vessel.label),
                    additions: state.additions_to(&[id]),
                    colour: state.colour_in(vessel),
                    done: tracer.additions_of(&[tracer.fill_of(id)]),
                }
            }
            AddedTo::Lot(id) => {
                let lot = state.lots.get(id);
                let fills: Vec<Fill> = tracer.fills_now(id);
                let vessels: Vec<VesselId> = fills.iter().map(|fill| fill.vessel).collect();
                Meant {
                    title: format!("What was added to {}", lot.label),
                    additions: state.additions_to(&vessels),
                    colour: Some(lot.colour),
                    done: tracer.additions_of(&fills),
                }
            }
            AddedTo::Run(id) => {
                let past = tracer.past_of_run(id, None);
                let is_addition = |done: &&Done| matches!(done.to, DoneTo::Treated { .. });
                Meant {
                    title: format!("What was added to the wine of run {}", state.runs.get(id).label),
                    additions: state.additions_in(std::iter::once(&past.wine)),
                    colour: colour_mostly(state, &past.wine),
                    done: past.done.into_iter().filter(is_addition).collect(),
                }
            }
        }
    }
}

/// The colour of what most of a wine grew as.
fn colour_mostly(state: &State, wine: &Wine) -> Option<Colour> {
    let grown = wine.parts().iter().filter_map(|part| Some((part.volume, part.origin?)));
    grown.max_by_key(|(volume, _)| *volume).map(|(_, origin)| state.origins.get(origin).0.colour)
}

/// The page of some wine.
#[must_use]
pub fn sheet(tracer: &Tracer, of: AddedTo, on: Moment) -> Document {
    let meant = Meant::find(tracer, of);
    let Additions { wine, water, sums } = &meant.additions;
    let mut lead = vec![format!("{} of wine. As the book stood on {}.", litres(*wine + *water), on.show_date())];
    if let Some(share) = meant.additions.water_share().filter(|_| !water.is_zero()) {
        lead.push(format!(
            "Water of all additions together: {}, {:.2} % of the wine; the figure of {WATER_SECTION} is {} %.",
            litres(*water),
            share * 100.0,
            WATER_FIGURE * 100.0
        ));
    }
    let mut blocks = Vec::new();
    if sums.is_empty() {
        lead.push("Nothing was added to it by the book.".to_owned());
    } else {
        lead.push("What settled out or was racked off still counts as added.".to_owned());
        lead.push(FOR_INFORMATION.to_owned());
        blocks.extend([Block::Heading("In all".to_owned()), Block::Table(in_all(&meant.additions))]);
        let figures = beside_figures(tracer, &meant);
        if !figures.lines.is_empty() {
            blocks.extend([Block::Heading("Beside the published figures".to_owned()), Block::Table(figures)]);
        }
        blocks.extend([Block::Heading("Each addition".to_owned()), Block::Table(each(tracer, &meant.done))]);
    }
    Document { title: meant.title, lead, cautions: Vec::new(), blocks }
}

fn in_all(additions: &Additions) -> Table {
    let mut table = Table::with(&[
        ("material", Kind::Words),
        ("what for", Kind::Words),
        ("grams", Kind::Numbers),
        ("in the wine", Kind::Numbers),
    ]);
    for sum in &additions.sums {
        table.lines.push(Line::Cells(vec![
            sum.name.clone(),
            sum.class.words().to_owned(),
            sum.amount.in_column(2),
            said_dose(additions.g_l(sum.amount)),
        ]));
    }
    table
}

/// How each material stands to the figures of the house's rules; of several materials that count together it is told once.
fn beside_figures(tracer: &Tracer, meant: &Meant<'_>) -> Table {
    let mut table = Table::with(&[("how it stands", Kind::Words)]);
    let (colour, rules) = (colour_of(meant.colour), tracer.state.practice.rules);
    let mut told: Vec<String> = Vec::new();
    for known in meant.additions.sums.iter().filter_map(|sum| sum.known) {
        for held in meant.additions.held_against(known, colour, rules) {
            let words = held.words();
            if !told.contains(&words) {
                table.lines.push(Line::Cells(vec![words.clone()]));
                told.push(words);
            }
        }
    }
    table
}

fn each(tracer: &Tracer, done: &[&Done]) -> Table {
    let mut table = Table::with(&[
        ("on", Kind::Words),
        ("vessel", Kind::Words),
        ("material", Kind::Words),
        ("batch", Kind::Words),
        ("grams", Kind::Numbers),
        ("dose", Kind::Numbers),
        ("by", Kind::Words),
    ]);
    for done in done {
        let DoneTo::Treated { material, batch, amount, wine } = done.to else { continue };
        let vessels = done.fills().map(|fill| tracer.state.vessels.get(fill.vessel).label.to_string());
        let each_litre = if wine.is_zero() { String::new() } else { said_dose(amount.as_grams() / wine.as_litres()) };
        table.lines.push(Line::Cells(vec![
            done.at.show_date(),
            vessels.collect::<Vec<_>>().join(", "),
            tracer.called(material).to_string(),
            batch.map_or_else(String::new, |batch| tracer.called(batch).to_string()),
            amount.in_column(2),
            each_litre,
            tracer.who(done).map_or_else(String::new, Label::to_string),
        ]));
    }
    table
}
