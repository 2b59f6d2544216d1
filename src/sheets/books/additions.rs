//! The page "what was added to this wine": each material with its sum over the wine's life beside the published figures, the sulfur
//! dioxide that was given beside what was tested, then the additions by day and material, ready for whoever asks.

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, RunId, State, VesselId};
use crate::cellar::core::wine::Wine;
use crate::cellar::jobs::finish::fining::given::colour_of;
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::tests::added::Additions;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::views::books::lineage::{Done, DoneTo, Fill, Tracer};
use crate::reckon::fining::kind_of;
use crate::reckon::material::{Class, FOR_INFORMATION, WATER_FIGURE, WATER_SECTION};
use crate::reckon::organic::total_figures;
use crate::sheets::core::document::{Block, Document, Kind, Line, Table};
use crate::units::{Mass, Volume, counted, figure, litres, percent, poured, said_dose, three_figures, weighed};

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
    /// The last total sulfur dioxide that was tested, and when it was drawn.
    total: Option<(f64, Moment)>,
    /// The last sugar that was tested, g/L.
    sugar: Option<f64>,
    /// Whether all of it grew organic.
    is_organic: bool,
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
                    total: state.last_found(id, Analyte::TotalSo2).map(|found| (found.value, found.drawn)),
                    sugar: state.last_found(id, Analyte::Sugar).map(|found| found.value),
                    is_organic: state.is_organic(&vessel.wine),
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
                    total: lot.tests.last_of(Analyte::TotalSo2).map(|(value, test)| (value, test.drawn)),
                    sugar: lot.tests.last_of(Analyte::Sugar).map(|(value, _)| value),
                    is_organic: state.are_organic(&vessels),
                    done: tracer.additions_of(&fills),
                }
            }
            AddedTo::Run(id) => {
                let past = tracer.past_of_run(id, None);
                let findings = past.findings();
                let last = |analyte| findings.iter().find(|it| it.analyte == analyte);
                let total = last(Analyte::TotalSo2).map(|it| (it.value, it.by.at));
                let sugar = last(Analyte::Sugar).map(|it| it.value);
                let is_addition = |done: &&Done| matches!(done.to, DoneTo::Treated { .. });
                Meant {
                    title: format!("What was added to the wine of run {}", state.runs.get(id).label),
                    additions: state.additions_in(std::iter::once(&past.wine)),
                    colour: colour_mostly(state, &past.wine),
                    total,
                    sugar,
                    is_organic: state.is_organic(&past.wine),
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
    let Additions { wine, water, sums, .. } = &meant.additions;
    let mut lead = vec![format!("{} of wine. As the book stood on {}.", litres(*wine + *water), on.show_date())];
    if let Some(share) = meant.additions.water_share().filter(|_| !water.is_zero()) {
        lead.push(format!(
            "Water of all additions together: {}, {} of the wine; the figure of {WATER_SECTION} is {}.",
            litres(*water),
            percent(2, share),
            percent(0, WATER_FIGURE)
        ));
    }
    let mut blocks = Vec::new();
    if sums.is_empty() {
        lead.push("Nothing was added to it by the book.".to_owned());
    } else {
        lead.push("What settled out or was racked off still counts as added.".to_owned());
        lead.push(FOR_INFORMATION.to_owned());
        blocks.extend([Block::Heading("In all".to_owned()), Block::Table(in_all(&meant.additions))]);
        if sums.iter().any(|sum| sum.class == Class::SulfurDioxide) || meant.total.is_some() {
            blocks.push(Block::Table(sulfur(tracer, &meant)));
        }
        let figures = beside_figures(tracer, &meant);
        if !figures.lines.is_empty() {
            blocks.extend([Block::Heading("Beside the published figures".to_owned()), Block::Table(figures)]);
        }
        blocks.extend([Block::Heading("By day and material".to_owned()), Block::Table(each(tracer, &meant.done))]);
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

/// What was added of one material on one day by one hand, into however many vessels.
struct OnDay<'a> {
    first: &'a Done,
    material: &'a Label,
    batch: Option<&'a Label>,
    by: Option<&'a Label>,
    /// Each vessel with what went into it, and the wine that it held.
    each: Vec<(&'a Label, Mass, Volume, Volume)>,
}

impl OnDay<'_> {
    fn is_of(&self, other: &OnDay<'_>) -> bool {
        self.first.at.date() == other.first.at.date()
            && (self.material, self.batch, self.by) == (other.material, other.batch, other.by)
    }

    /// What went in of all, and of how much wine.
    fn sums(&self) -> (Mass, Volume, Volume) {
        let (amounts, solutions) = (self.each.iter().map(|it| it.1), self.each.iter().map(|it| it.2));
        (amounts.sum(), solutions.sum(), self.each.iter().map(|it| it.3).sum())
    }

    /// How much of it is in the wine.
    fn dose(&self) -> String {
        let (amount, solution, wine) = self.sums();
        match wine.as_litres() {
            litres if litres <= 0.0 => String::new(),
            litres if amount.is_zero() => {
                format!("{} mL/hL", figure(three_figures(solution.as_litres() / litres * 1e5)))
            }
            litres => said_dose(amount.as_grams() / litres),
        }
    }

    /// Its vessels, where there are several: with one amount where it is the same in all.
    fn opened(&self) -> Option<String> {
        let said = |amount: Mass, solution: Volume| if amount.is_zero() { poured(solution) } else { weighed(amount) };
        let (first, rest) = self.each.split_first().filter(|(_, rest)| !rest.is_empty())?;
        let labels = || self.each.iter().map(|it| it.0.to_string()).collect::<Vec<_>>().join(", ");
        if rest.iter().all(|it| (it.1, it.2) == (first.1, first.2)) {
            return Some(format!("{} into each of {}", said(first.1, first.2), labels()));
        }
        let each = self.each.iter().map(|it| format!("{} {}", it.0, said(it.1, it.2)));
        Some(each.collect::<Vec<_>>().join(", "))
    }
}

/// Additions by day, material, batch and hand, in the order of the first of each.
fn by_day<'a>(tracer: &'a Tracer, done: &[&'a Done]) -> Vec<OnDay<'a>> {
    let mut days: Vec<OnDay<'a>> = Vec::new();
    for &done in done {
        let DoneTo::Treated { material, batch, amount, solution, wine } = done.to else { continue };
        let into = |fill: Fill| (&tracer.state.vessels.get(fill.vessel).label, amount, solution, wine);
        let day = OnDay {
            first: done,
            material: tracer.called(material),
            batch: batch.map(|batch| tracer.called(batch)),
            by: tracer.who(done),
            each: done.fills().map(into).collect(),
        };
        match days.iter_mut().find(|it| it.is_of(&day)) {
            Some(known) => known.each.extend(day.each),
            None => days.push(day),
        }
    }
    days
}

/// A line a day and material; below one of several vessels a band that names them.
fn each(tracer: &Tracer, done: &[&Done]) -> Table {
    let days = by_day(tracer, done);
    let has_batches = days.iter().any(|day| day.batch.is_some());
    let columns = [
        ("on", Kind::Words),
        ("material", Kind::Words),
        ("batch", Kind::Words),
        ("into", Kind::Words),
        ("in all", Kind::Numbers),
        ("dose", Kind::Numbers),
        ("by", Kind::Words),
    ];
    // Where no batch is known its column only takes room.
    let is_told = |at: usize| has_batches || columns[at].0 != "batch";
    let told: Vec<_> = (0..columns.len()).filter(|&at| is_told(at)).map(|at| columns[at]).collect();
    let mut table = Table::with(&told);
    let words = |label: Option<&Label>| label.map_or_else(String::new, Label::to_string);
    for day in days {
        let (amount, solution, _) = day.sums();
        let into = match day.each.as_slice() {
            [(label, ..)] => label.to_string(),
            several => counted(several.len(), "vessel"),
        };
        let cells = [
            day.first.at.show_date(),
            day.material.to_string(),
            words(day.batch),
            into,
            if amount.is_zero() { poured(solution) } else { weighed(amount) },
            day.dose(),
            words(day.by),
        ];
        let cells = cells.into_iter().enumerate().filter(|(at, _)| is_told(*at)).map(|(_, cell)| cell);
        table.lines.push(Line::Cells(cells.collect()));
        table.lines.extend(day.opened().map(Line::Band));
    }
    table
}

/// Sulfur dioxide: what was given, what the last test found, and the figures, one beside the other.
fn sulfur(tracer: &Tracer, meant: &Meant<'_>) -> Table {
    let mut table = Table::with(&[("sulfur dioxide", Kind::Words), ("mg/L", Kind::Numbers), ("", Kind::Words)]);
    let additions = &meant.additions;
    let whole = |mg_l: f64| figure(mg_l.round());
    let mut line = |what: &str, mg_l: String, beside: String| {
        table.lines.push(Line::Cells(vec![what.to_owned(), mg_l, beside]));
    };
    line("given over its life", whole(additions.g_l(additions.sulfur_dioxide) * 1e3), String::new());
    match meant.total {
        Some((total, at)) => line("last total tested", whole(total), format!("on {}", at.show_date())),
        None => line("last total tested", "not tested".to_owned(), String::new()),
    }
    for &rules in tracer.state.practice.sides() {
        let kind = kind_of(colour_of(meant.colour));
        for limit in total_figures(rules.into(), kind, meant.sugar, meant.is_organic) {
            line("figure of the total", figure(limit.most), limit.section.to_owned());
        }
    }
    table
}
