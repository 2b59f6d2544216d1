//! Results of a laboratory: of a vessel, a lot or a sample, on a day.

use std::collections::BTreeMap;

use super::analytes::{below_words, bound, is_equivalents, is_no_number, kept, kept_by_house, may_be_below};
use super::dated::{ask_for_day, dated};
use super::head::Head;
use super::values::{Values, label, text};
use super::{Answers, Helps, Proposal, Proposed, Question, Remark};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text, harmless};
use crate::cellar::core::state::State;
use crate::cellar::jobs::tests::testing::{Analyte, Readings, Tested};
use crate::reckon::acid_unit::AcidUnit;
use crate::spreadsheet::{Cell, Line};

/// So many cells without a number are named; of more only the count is told.
const MOST_NAMED: usize = 12;

/// A sheet of a laboratory.
struct Report<'a> {
    head: &'a Head<'a>,
    values: &'a Values,
    state: &'a State,
    /// As which acid each acidity is given.
    acids: Vec<(Analyte, AcidUnit)>,
    /// What says that there is no number.
    left_out: Vec<String>,
    /// What says that there is less than can be told.
    below: Vec<String>,
    /// The same in the words that are kept beside the test of the line.
    noted: Vec<String>,
    line_word: &'static str,
}

/// What a test is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// A vessel.
    Vessel,
    /// A lot, in all vessels that hold it.
    Lot,
    /// A sample.
    Sample,
}

impl Of {
    /// In the order in which a sheet's columns are looked at.
    const ALL: [Of; 3] = [Of::Vessel, Of::Sample, Of::Lot];

    /// Its name, which is that of its column.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Of::Vessel => "vessel",
            Of::Lot => "lot",
            Of::Sample => "sample",
        }
    }

    /// Whether such a thing bears a label.
    #[must_use]
    pub fn is_there(self, state: &State, label: &Label) -> bool {
        match self {
            Of::Vessel => state.vessels.find(label.as_str()).is_some(),
            Of::Lot => state.lots.find(label.as_str()).is_some(),
            Of::Sample => state.samples.find(label.as_str()).is_some(),
        }
    }

    /// What bears a label; none where nothing does, and why not where more than one thing does.
    pub fn called(label: &Label, state: &State) -> Result<Option<Of>, String> {
        let found: Vec<Of> = Of::ALL.into_iter().filter(|of| of.is_there(state, label)).collect();
        match found.as_slice() {
            [] => Ok(None),
            [only] => Ok(Some(*only)),
            [one, other, ..] => Err(format!("'{label}' is the name of a {} and of a {}", one.word(), other.word())),
        }
    }

    /// A test of it.
    #[must_use]
    pub fn tested(self, label: Label, readings: Readings, values: Option<BTreeMap<Label, f64>>) -> Tested {
        let mut tested = Tested { vessel: None, sample: None, lot: None, readings, lab: None, values };
        match self {
            Of::Vessel => tested.vessel = Some(label),
            Of::Lot => tested.lot = Some(label),
            Of::Sample => tested.sample = Some(label),
        }
        tested
    }
}

/// Reads the sheet.
pub fn read(head: &Head<'_>, values: &Values, answers: &Answers, state: &State, proposal: &mut Proposal) {
    let acids = acids(head, answers.acid.or(state.practice.acid_unit), proposal);
    let results = Analyte::ALL.iter().filter(|analyte| head.has(analyte.field())).count() + head.house.len();
    if results == 0 {
        proposal.ask(Question::Column { field: "ph", there: head.titles() });
    }
    if ask_for_day(head, proposal) || !proposal.questions.is_empty() {
        return;
    }
    let mut report = Report {
        head,
        values,
        state,
        acids,
        left_out: Vec::new(),
        below: Vec::new(),
        noted: Vec::new(),
        line_word: proposal.line_word(),
    };
    let mut nothing: Vec<u64> = Vec::new();
    for line in &head.lines {
        let left_out = report.left_out.len();
        match report.tested(line) {
            Ok(Some(tested)) => proposal.facts.push(tested),
            Ok(None) if report.left_out.len() > left_out => {}
            Ok(None) => nothing.push(line.number),
            Err(why) => proposal.refuse(line.number, why),
        }
    }
    let kept = "Kept as that bound, with these words beside it";
    for (what, mut cells) in [("Left out, for it is no number", report.left_out), (kept, report.below)] {
        if let count @ 1.. = cells.len() {
            cells.truncate(MOST_NAMED);
            let more = if count > MOST_NAMED { format!(" and {} more", count - MOST_NAMED) } else { String::new() };
            proposal.warn(format!("{what}: {}{more}.", cells.join("; ")));
        }
    }
    proposal.warn_of("Nothing was found by", &nothing);
}

/// As which acid each acidity is given: as its head says, else as it was answered or the house has it, else it is asked.
fn acids(head: &Head<'_>, answer: Option<AcidUnit>, proposal: &mut Proposal) -> Vec<(Analyte, AcidUnit)> {
    let mut acids = Vec::new();
    for analyte in Analyte::ALL {
        let Some((own, column)) = analyte.own_acid().zip(head.column(analyte.field())) else { continue };
        let unit = head.unit_at(column).and_then(super::heading::unit_in);
        let by_equivalents = unit.as_deref().is_some_and(is_equivalents);
        let said = head.acid(column).or_else(|| analyte.given_as(Some(answer?)));
        // What is given in grams is in no milliequivalents, whatever the house reads.
        let said = said.filter(|acid| *acid != AcidUnit::Meq || unit.is_none() || by_equivalents);
        let is_filled = head.lines.iter().any(|line| !line.cell(column).is_empty());
        match said {
            Some(acid) => acids.push((analyte, acid)),
            None if is_filled && !by_equivalents => {
                proposal.ask(Question::Acid { column: head.title_at(column), own: own.name() });
            }
            None => {}
        }
    }
    acids
}

impl Report<'_> {
    /// The test of a line; none where it holds no number.
    fn tested(&mut self, line: &Line) -> Result<Option<Proposed>, Remark> {
        self.noted.clear();
        let readings = self.readings(line)?;
        let values = self.of_house(line)?;
        if readings.are_none() && values.is_none() {
            return Ok(None);
        }
        let (of, label) = self.named(line)?;
        let tested = Tested { lab: text(self.head, line, "lab")?, ..of.tested(label, readings, values) };
        let fact = dated(self.head, self.values, line, What::Tested(Box::new(tested)))?;
        if self.noted.is_empty() {
            return Ok(Some(fact));
        }
        let beside = fact.note.iter().map(Text::as_str).chain(self.noted.iter().map(String::as_str));
        let note = Text::new(&beside.collect::<Vec<_>>().join("; ")).map_err(|error| error.to_string())?;
        Ok(Some(Proposed { note: Some(note), ..fact }))
    }

    /// What a line is of: the narrowest thing that it names. What a laboratory calls a sample may be the barrel itself, or the lot.
    fn named(&self, line: &Line) -> Result<(Of, Label), Remark> {
        for of in Of::ALL {
            let Some(named) = label(self.head, line, of.word())? else { continue };
            if of != Of::Sample && of.is_there(self.state, &named) {
                return Ok((of, named));
            }
            let which = |sentence| Remark { sentence, helps: Some(Helps::WhatItNames) };
            let nothing = || {
                let helps = (of == Of::Sample).then_some(Helps::NotTheSample);
                Remark { sentence: format!("no vessel, lot or sample is called '{named}'"), helps }
            };
            let called = Of::called(&named, self.state).map_err(which)?.ok_or_else(nothing)?;
            return Ok((called, named));
        }
        Err("it names no vessel, lot or sample".into())
    }

    fn readings(&mut self, line: &Line) -> Result<Readings, String> {
        let mut readings = Readings::default();
        for analyte in Analyte::ALL {
            let field = analyte.field();
            let column = self.head.column(field);
            if let Some((number, beside)) = self.number(line, (field, analyte.name(), may_be_below(analyte)), column)? {
                let acid = AcidUnit::said(&beside);
                let acid = acid.or_else(|| self.acids.iter().find(|(of, _)| *of == analyte).map(|(_, acid)| *acid));
                readings.set(analyte, kept(analyte, number, &beside, acid)?);
            }
        }
        Ok(readings)
    }

    fn of_house(&mut self, line: &Line) -> Result<Option<BTreeMap<Label, f64>>, String> {
        let mut values = BTreeMap::new();
        let head = self.head;
        for (analyte, column) in &head.house {
            if let Some((number, beside)) = self.number(line, ("", analyte.as_str(), true), Some(*column))? {
                let unit = self.state.house_analyte(analyte).map_or("", |house| house.unit.as_str());
                let kept = kept_by_house(unit, number, &beside).map_err(|why| format!("{analyte}: {why}"))?;
                values.insert(analyte.clone(), kept);
            }
        }
        Ok((!values.is_empty()).then_some(values))
    }

    /// A number, with the unit that stands behind it or else in the head. What says that there is none is noted, and so is what says that there is
    /// less than can be told.
    fn number(
        &mut self,
        line: &Line,
        (field, name, may_be_below): (&str, &str, bool),
        column: Option<usize>,
    ) -> Result<Option<(f64, String)>, String> {
        let cell = match column {
            Some(column) if !line.cell(column).is_empty() => line.cell(column),
            _ => self.head.cell(line, field),
        };
        let words = cell.words();
        let title = || column.map_or_else(|| field.to_owned(), |column| self.head.title_at(column));
        let told = || format!("'{}' of {} in {} {}", harmless(&words), title(), self.line_word, line.number);
        let below = bound(&words).filter(|_| may_be_below).map(Cell::of);
        if is_no_number(&words) || (below.is_none() && bound(&words).is_some()) {
            let told = told();
            self.left_out.push(told);
            return Ok(None);
        }
        let measured = self.values.measured(self.head, below.as_ref().unwrap_or(cell), column)?;
        let Some((number, beside)) = measured else { return Ok(None) };
        if below.is_some() {
            let told = told();
            self.below.push(told);
            self.noted.push(below_words(name, &words));
        }
        let of_head = || column.and_then(|column| self.head.unit_at(column)).unwrap_or_default().to_owned();
        Ok(Some((number, if beside.is_empty() { of_head() } else { beside })))
    }
}
