//! Which line of a table is its head, and which column is which field.

use super::fields::{Either, Field, Holds, Table};
use super::guard::{begins_a_sum, is_nothing};
use super::heading::{Heading, Names, is_units, readings};
use super::tastes::is_score;
use super::{Answers, Column, Proposal, Question};
use crate::cellar::core::label::Label;
use crate::reckon::acid_unit::AcidUnit;
use crate::reckon::material::plain;
use crate::spreadsheet::{Cell, Grid, Line};
use crate::units::{all_of, by_count};

/// A head is looked for among so many lines from the first.
pub(super) const LOOKED_AT: usize = 40;
/// A line is a head by so many of its cells, or by the one that names a line where it has no other.
pub(super) const LEAST: usize = 2;
/// Heads that give way to one that says more: the year of a barrel stands beside the vintage of its wine.
const WEAK: [&str; 16] = [
    "year", "annee", "an", "ano", "anno", "jahr", "no", "n", "nr", "number", "label", "id", "code", "barcode", "tag",
    "codice",
];

/// The head of a table and the lines under it.
#[derive(Debug)]
pub struct Head<'g> {
    /// The fields that a table may have.
    pub table: &'static Table,
    /// Which column each field of the table is, in the order of the table's fields.
    columns: Vec<Option<usize>>,
    /// What each column is called.
    headings: Vec<Heading>,
    /// The columns of what only this house has its wines tested for.
    pub house: Vec<(Label, usize)>,
    names: Names,
    /// What stands in a field of every line that says nothing there.
    constants: Vec<(String, Cell)>,
    /// The lines under the head.
    pub lines: Vec<&'g Line>,
}

impl<'g> Head<'g> {
    /// Finds it; none where that has to be asked.
    pub fn find(
        table: &'static Table,
        house: &[Label],
        grid: &'g Grid,
        answers: &Answers,
        proposal: &mut Proposal,
    ) -> Option<Head<'g>> {
        let names = Names::of(table);
        let at = match answers.head {
            Some(0) => None,
            Some(number) => {
                let at = grid.lines.iter().position(|line| line.number == number);
                if at.is_none() {
                    proposal.ask(Question::Head);
                    return None;
                }
                at
            }
            None => match best(table, &names, &answers.columns, &grid.lines) {
                Some(at) => Some(at),
                None if answers.columns.is_empty() => {
                    proposal.ask(Question::Head);
                    return None;
                }
                None => None,
            },
        };
        let head = at.map(|at| &grid.lines[at]);
        proposal.head = head.map(|line| line.number);
        let mut begin = at.map_or(0, |at| at + 1);
        let mut headings: Vec<Heading> = (0..grid.width())
            .map(|column| match head.map(|line| line.cell(column)) {
                Some(cell) if !cell.is_empty() => names.heading(&cell.words()),
                _ => Heading::default(),
            })
            .collect();
        // Of a head of two lines the second holds units or the rest of the words.
        if let Some(second) = grid.lines.get(begin).filter(|_| head.is_some()).filter(|line| holds_units(line)) {
            begin += 1;
            for (column, heading) in headings.iter_mut().enumerate() {
                let cell = second.cell(column);
                if heading.beside.is_none() && !cell.is_empty() {
                    heading.beside = Some(cell.words().into_owned());
                }
            }
        }
        let lines: Vec<&Line> = grid.lines[begin..].iter().collect();
        let mut fields: Vec<Option<&'static Field>> =
            headings.iter().map(|heading| names.field(&heading.name)).collect();
        for (column, heading) in headings.iter().enumerate() {
            if let Some(either) = either(table, heading) {
                fields[column] = by_cells(table, either, (column, heading), &lines, answers, proposal);
            }
        }
        let columns = assigned(table, (&headings, &fields, house), answers, proposal);
        let house = of_house(house, &headings, &columns, answers);
        let constants = answers.constants.iter().map(|(field, value)| (field.clone(), Cell::of(value))).collect();
        let mut head = Head { table, columns, headings, house, names, constants, lines };
        head.tell(proposal);
        head.leave_out(proposal);
        Some(head)
    }

    /// The column of a field.
    #[must_use]
    pub fn column(&self, field: &str) -> Option<usize> {
        let at = self.table.fields.iter().position(|known| known.name == field)?;
        self.columns.get(at).copied().flatten()
    }

    /// What stands in a line's cell of a field, or is said for every line; an empty cell where neither says anything.
    #[must_use]
    pub fn cell<'l>(&'l self, line: &'l Line, field: &str) -> &'l Cell {
        let its = self.column(field).map_or(&Cell::Empty, |column| line.cell(column));
        let constant = || self.constants.iter().find(|(name, _)| name == field).map_or(&Cell::Empty, |(_, cell)| cell);
        if its.is_empty() { constant() } else { its }
    }

    /// Whether something says it: a column, or a word for every line.
    #[must_use]
    pub fn has(&self, field: &str) -> bool {
        self.column(field).is_some() || self.constants.iter().any(|(name, _)| name == field)
    }

    /// What a field's column is called in the file.
    #[must_use]
    pub fn title(&self, field: &str) -> String {
        self.column(field).map_or_else(|| field.to_owned(), |column| self.title_at(column))
    }

    /// The unit that the head of a field's column names.
    #[must_use]
    pub fn unit(&self, field: &str) -> Option<&str> {
        self.headings.get(self.column(field)?)?.beside.as_deref()
    }

    /// As which acid a column is given, where its head says it.
    #[must_use]
    pub fn acid(&self, column: usize) -> Option<AcidUnit> {
        let Heading { whole, beside, .. } = self.headings.get(column)?;
        beside.as_deref().and_then(AcidUnit::said).or_else(|| AcidUnit::said(whole))
    }

    /// What the columns are called.
    #[must_use]
    pub fn titles(&self) -> Vec<String> {
        self.headings.iter().map(|heading| heading.name.clone()).filter(|name| !name.is_empty()).collect()
    }

    /// The same of a column.
    #[must_use]
    pub fn unit_at(&self, column: usize) -> Option<&str> {
        self.headings.get(column)?.beside.as_deref()
    }

    /// The fields that the table has, each with its column.
    pub fn fields(&self) -> impl Iterator<Item = (&'static Field, usize)> + '_ {
        self.table.fields.iter().zip(&self.columns).filter_map(|(field, column)| Some((field, (*column)?)))
    }

    /// What a column is called in the file, or its number.
    #[must_use]
    pub fn title_at(&self, column: usize) -> String {
        match self.headings.get(column) {
            Some(Heading { name, .. }) if !name.is_empty() => name.clone(),
            _ => format!("{}", column + 1),
        }
    }

    /// Tells how each column was understood.
    fn tell(&self, proposal: &mut Proposal) {
        let field_at = |column: usize| {
            let field = self.fields().find(|(_, at)| *at == column).map(|(field, _)| field.name.to_owned());
            field.or_else(|| Some(self.house.iter().find(|(_, at)| *at == column)?.0.to_string()))
        };
        let is_filled = |column: usize| self.lines.iter().any(|line| !line.cell(column).is_empty());
        let columns =
            (0..self.headings.len()).filter(|&column| !self.headings[column].name.is_empty() || is_filled(column));
        proposal.columns = columns
            .map(|column| Column { number: column + 1, title: self.title_at(column), field: field_at(column) })
            .collect();
        // Of those about which it is asked one is taken in.
        let is_which = |question: &&Question| matches!(question, Question::Columns { .. } | Question::Either { .. });
        let which = proposal.questions.iter().filter(is_which);
        let asked: Vec<usize> = which.flat_map(|question| proposal.columns_asked_about(question)).collect();
        let strange: Vec<String> = proposal
            .columns
            .iter()
            .filter(|column| column.field.is_none() && !asked.contains(&column.number))
            .map(|column| format!("'{}'", column.title))
            .collect();
        if !strange.is_empty() {
            let columns = by_count(strange.len(), "column", "columns");
            proposal.warn(format!("Not taken in: the {columns} {}.", all_of(&strange)));
        }
    }

    /// Whether a figure or a date stands in a line where the table has such.
    fn holds_a_figure(&self, line: &Line) -> bool {
        let mut of_figures = self.fields().filter(|(field, _)| field.holds != Holds::Words);
        of_figures.any(|(_, column)| match line.cell(column) {
            Cell::Text(text) => {
                text.trim_start_matches(['-', '−', '+']).starts_with(|sign: char| sign.is_ascii_digit())
            }
            Cell::Number(_) | Cell::Date(_) => true,
            Cell::Empty | Cell::Fault(_) => false,
        })
    }

    /// Leaves out sums, notes and heads that are written again on another page; each is told.
    fn leave_out(&mut self, proposal: &mut Proposal) {
        let naming: Vec<usize> = self.columns.iter().take(self.table.names).copied().flatten().collect();
        let Some(&first) = naming.first() else { return };
        let is_note = |line: &Line| line.filled() == 1 && naming.iter().all(|&column| line.cell(column).is_empty());
        let is_title = |line: &Line| {
            let same = |(column, heading): (usize, &Heading)| {
                !heading.name.is_empty() && self.names.heading(&line.cell(column).words()).name == heading.name
            };
            // A head has no figures below its heads of figures: a vessel may be called as its column is.
            !self.holds_a_figure(line)
                && self.headings.iter().enumerate().filter(|heading| same(*heading)).count() >= LEAST
        };
        let is_total = |line: &Line| {
            line.cells.iter().find(|cell| !cell.is_empty()).is_some_and(|first| begins_a_sum(&first.words()))
        };
        let note_behind = |line: &Line| {
            line.filled() == 1 && self.fields().count() > 1 && {
                let words = line.cell(first).words();
                words.split_whitespace().count() > 3
            }
        };
        let is_left = |line: &&Line| is_note(line) || is_title(line) || is_total(line) || note_behind(line);
        let (out, kept): (Vec<&Line>, Vec<&Line>) = self.lines.iter().copied().partition(is_left);
        let left: Vec<u64> = out.iter().map(|line| line.number).collect();
        self.lines = kept;
        proposal.warn_of(&format!("Left out as no {}:", self.table.name), &left);
    }
}

/// The line with the most heads that are known or were said; none where no line has enough.
fn best(table: &Table, names: &Names, said: &[(String, String)], lines: &[Line]) -> Option<usize> {
    let known = |line: &Line| {
        let texts = line.cells.iter().filter(|cell| matches!(cell, Cell::Text(_)));
        let titles = texts.map(|cell| names.heading(&cell.words()).name);
        let field = |title: String| match said.iter().find(|(_, column)| column.to_lowercase() == title.to_lowercase())
        {
            Some((field, _)) => Some(field.as_str()),
            None => Some(names.field(&title)?.name),
        };
        let mut fields: Vec<&str> = titles.filter_map(field).collect();
        fields.sort_unstable();
        fields.dedup();
        let names = table.naming().iter().any(|field| fields.contains(&field.name));
        let enough = fields.len() >= LEAST || (names && line.filled() == 1);
        if enough { fields.len() * 2 + usize::from(names) } else { 0 }
    };
    let scores = lines.iter().take(LOOKED_AT).map(known).enumerate();
    // Of equal ones the first.
    scores
        .filter(|(_, score)| *score > 0)
        .reduce(|best, next| if next.1 > best.1 { next } else { best })
        .map(|(at, _)| at)
}

/// The heads among which one stands that mean one field or another.
fn either(table: &'static Table, heading: &Heading) -> Option<&'static Either> {
    let name = plain(&heading.name);
    table.either.iter().find(|either| either.words.iter().any(|word| plain(word) == name))
}

/// The field that a column is by what stands below its head in all lines; none where some are numbers and some words, and nobody said which
/// it is: that is asked.
fn by_cells(
    table: &'static Table,
    either: &'static Either,
    (column, heading): (usize, &Heading),
    lines: &[&Line],
    answers: &Answers,
    proposal: &mut Proposal,
) -> Option<&'static Field> {
    let (mut numbers, mut words) = (0, 0);
    for line in lines {
        match line.cell(column) {
            Cell::Empty => {}
            Cell::Number(_) => numbers += 1,
            Cell::Text(text) if is_nothing(text) => {}
            Cell::Text(text) if is_score(text) => numbers += 1,
            Cell::Text(_) | Cell::Date(_) | Cell::Fault(_) => words += 1,
        }
    }
    let field = |name: &str| table.fields.iter().find(|field| field.name == name);
    match (numbers, words) {
        (_, 0) => field(either.of_numbers),
        (0, _) => field(either.of_words),
        _ => {
            let is_its = |(_, said): &(String, String)| {
                *said == (column + 1).to_string()
                    || [&heading.name, &heading.whole].iter().any(|name| name.to_lowercase() == said.to_lowercase())
            };
            if !answers.columns.iter().any(is_its) {
                proposal.ask(Question::Either {
                    column: heading.name.clone(),
                    number: column + 1,
                    of_numbers: either.of_numbers,
                    of_words: either.of_words,
                });
            }
            None
        }
    }
}

/// Which column each field is.
fn assigned(
    table: &'static Table,
    (headings, fields, house): (&[Heading], &[Option<&'static Field>], &[Label]),
    answers: &Answers,
    proposal: &mut Proposal,
) -> Vec<Option<usize>> {
    let there = || table.fields.iter().map(|field| field.name);
    for (name, _) in answers.columns.iter().chain(&answers.constants) {
        if !there().any(|field| field == name) && !house.iter().any(|label| label.as_str() == name) {
            proposal.ask(Question::NoField { name: name.clone(), there: there().collect() });
        }
    }
    let taken: Vec<usize> = answers.columns.iter().filter_map(|(name, _)| said(headings, answers, name)).collect();
    let mut ask_which = |field: &'static str| {
        let there = headings.iter().map(|heading| heading.name.clone()).filter(|name| !name.is_empty()).collect();
        proposal.ask(Question::Column { field, there });
    };
    let is_none = |name: &str| answers.columns.iter().any(|(field, column)| field == name && column == "0");
    let mut column = |field_of: &'static Field| {
        let is_said = answers.columns.iter().any(|(name, _)| name == field_of.name);
        let found: Vec<usize> = match said(headings, answers, field_of.name) {
            Some(column) => vec![column],
            None if is_said => Vec::new(),
            None => {
                let fits = |column: &usize| {
                    !taken.contains(column) && fields[*column].is_some_and(|field| field.name == field_of.name)
                };
                (0..headings.len()).filter(fits).collect()
            }
        };
        match clearest(&found, headings).as_slice() {
            [] if is_said && is_none(field_of.name) => Ok(None),
            [] if is_said => {
                ask_which(field_of.name);
                Err(Vec::new())
            }
            [] => Ok(None),
            [column] => Ok(Some(*column)),
            several => Err(several.to_vec()),
        }
    };
    let found: Vec<_> = table.fields.iter().map(|field| (field.name, column(field))).collect();
    let nothing = |name: &str| !answers.constants.iter().any(|(constant, _)| constant == name);
    let naming = &found[..table.names.min(found.len())];
    if naming.iter().all(|(name, column)| matches!(column, Ok(None)) && nothing(name)) {
        ask_which(table.fields[0].name);
    }
    for (field, several) in found.iter().filter_map(|(field, column)| Some((*field, column.as_ref().err()?))) {
        let called = |whole: bool| {
            several.iter().map(move |&column| if whole { &headings[column].whole } else { &headings[column].name })
        };
        let mut names: Vec<String> = called(false).cloned().collect();
        names.sort_unstable();
        names.dedup();
        let columns: Vec<String> = called(names.len() < several.len()).cloned().collect();
        if !columns.is_empty() {
            proposal.ask(Question::Columns { field, columns });
        }
    }
    found.into_iter().map(|(_, column)| column.ok().flatten()).collect()
}

/// Of several columns the one whose head says more than that of the others, if there is one.
fn clearest(found: &[usize], headings: &[Heading]) -> Vec<usize> {
    let is_clear = |column: &&usize| !WEAK.contains(&plain(&headings[**column].name).as_str());
    match found.iter().filter(is_clear).collect::<Vec<_>>().as_slice() {
        [only] => vec![**only],
        _ => found.to_vec(),
    }
}

/// The column that is said to be a field: by its head, or by its number.
fn said(headings: &[Heading], answers: &Answers, name: &str) -> Option<usize> {
    let (_, column) = answers.columns.iter().find(|(field, _)| field == name)?;
    let is_called = |title: &str| title.to_lowercase() == column.to_lowercase();
    let by_title = headings.iter().position(|heading| is_called(&heading.whole));
    by_title.or_else(|| headings.iter().position(|heading| is_called(&heading.name))).or_else(|| {
        let number = column.parse::<usize>().ok()?.checked_sub(1)?;
        (number < headings.len()).then_some(number)
    })
}

/// The columns of what only this house has its wines tested for, by its own names.
fn of_house(
    house: &[Label],
    headings: &[Heading],
    columns: &[Option<usize>],
    answers: &Answers,
) -> Vec<(Label, usize)> {
    let column = |label: &Label| {
        let name = plain(label.as_str());
        let is_its = |(column, heading): (usize, &Heading)| {
            !columns.contains(&Some(column)) && readings(&heading.whole).any(|(read, _)| plain(&read) == name)
        };
        said(headings, answers, label.as_str()).or_else(|| headings.iter().enumerate().position(is_its))
    };
    house.iter().filter_map(|label| Some((label.clone(), column(label)?))).collect()
}

/// Whether a line under the head holds units only.
fn holds_units(line: &Line) -> bool {
    let mut filled = line.cells.iter().filter(|cell| !cell.is_empty()).map(Cell::words);
    line.filled() > 0 && filled.all(|words| is_units(&words))
}
