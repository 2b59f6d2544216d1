//! Which line of a table is its head, and which column is which field.

use std::collections::HashMap;

use super::fields::{Field, Table};
use super::{Answers, Column, Proposal, Question};
use crate::reckon::material::plain;
use crate::spreadsheet::{Cell, Grid, Line};

/// A head is looked for among so many lines from the first.
const LOOKED_AT: usize = 40;
/// A line is a head by so many of its cells, or by the one that names a line where it has no other.
const LEAST: usize = 2;
/// What a line of sums begins with.
const TOTALS: [&str; 18] = [
    "total",
    "totals",
    "sum",
    "average",
    "mean",
    "count",
    "subtotal",
    "totaux",
    "somme",
    "moyenne",
    "suma",
    "promedio",
    "totale",
    "somma",
    "media",
    "summe",
    "gesamt",
    "mittelwert",
];
/// Words for a number in a head, and small words between others: they say nothing.
const SMALL: [&str; 19] = [
    "n", "no", "nr", "num", "number", "numero", "nummer", "id", "ref", "of", "the", "de", "d", "du", "des", "del",
    "di", "la", "le",
];
/// Heads that give way to one that says more: the year of a barrel stands beside the vintage of its wine.
const WEAK: [&str; 16] = [
    "year", "annee", "an", "ano", "anno", "jahr", "no", "n", "nr", "number", "label", "id", "code", "barcode", "tag",
    "codice",
];
/// Units that stand alone in a second line of the head.
const UNITS: [&str; 22] = [
    "l", "litre", "litres", "liter", "liters", "litros", "litri", "hl", "gal", "gallons", "ml", "months", "mois",
    "meses", "mesi", "monate", "year", "gl", "mgl", "mg", "vol", "c",
];

/// The head of a table and the lines under it.
#[derive(Debug)]
pub struct Head<'g> {
    /// The fields that a table may have.
    pub table: &'static Table,
    /// Which column each field of the table is, in the order of the table's fields.
    columns: Vec<Option<usize>>,
    /// What each column is called, and the unit that its head names.
    titles: Vec<(String, Option<String>)>,
    /// What stands in a field of every line that says nothing there.
    constants: Vec<(String, Cell)>,
    /// The lines under the head.
    pub lines: Vec<&'g Line>,
}

impl<'g> Head<'g> {
    /// Finds it; none where that has to be asked.
    pub fn find(table: &'static Table, grid: &'g Grid, answers: &Answers, proposal: &mut Proposal) -> Option<Head<'g>> {
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
            None => match best(table, &names, &grid.lines) {
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
        let mut titles: Vec<(String, Option<String>)> = (0..grid.width())
            .map(|column| match head.map(|line| line.cell(column)) {
                Some(cell) if !cell.is_empty() => title(&cell.words()),
                _ => (String::new(), None),
            })
            .collect();
        // Of a head of two lines the second holds units or the rest of the words.
        if let Some(second) = grid.lines.get(begin).filter(|_| head.is_some()).filter(|line| is_units(line)) {
            begin += 1;
            for (column, (_, unit)) in titles.iter_mut().enumerate() {
                let cell = second.cell(column);
                if unit.is_none() && !cell.is_empty() {
                    *unit = Some(bare_unit(&cell.words()));
                }
            }
        }
        let columns = assigned(table, &names, &titles, answers, proposal);
        let lines = grid.lines[begin..].iter().collect();
        let constants = answers.constants.iter().map(|(field, value)| (field.clone(), Cell::of(value))).collect();
        let mut head = Head { table, columns, titles, constants, lines };
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
        self.titles.get(self.column(field)?)?.1.as_deref()
    }

    /// The fields that the table has, each with its column.
    pub fn fields(&self) -> impl Iterator<Item = (&'static Field, usize)> + '_ {
        self.table.fields.iter().zip(&self.columns).filter_map(|(field, column)| Some((field, (*column)?)))
    }

    fn title_at(&self, column: usize) -> String {
        match self.titles.get(column) {
            Some((title, _)) if !title.is_empty() => title.clone(),
            _ => format!("{}", column + 1),
        }
    }

    /// Tells how each column was understood.
    fn tell(&self, proposal: &mut Proposal) {
        let field_at = |column: usize| self.fields().find(|(_, at)| *at == column).map(|(field, _)| field.name);
        let is_filled = |column: usize| self.lines.iter().any(|line| !line.cell(column).is_empty());
        let columns = (0..self.titles.len()).filter(|&column| !self.titles[column].0.is_empty() || is_filled(column));
        proposal.columns =
            columns.map(|column| Column { title: self.title_at(column), field: field_at(column) }).collect();
        let strange: Vec<String> = proposal
            .columns
            .iter()
            .filter(|column| column.field.is_none())
            .map(|column| format!("'{}'", column.title))
            .collect();
        if !strange.is_empty() {
            proposal.warnings.push(format!("Not taken in: the column {}.", strange.join(", ")));
        }
    }

    /// Leaves out sums, notes and heads that are written again on another page; each is told.
    fn leave_out(&mut self, proposal: &mut Proposal) {
        let Some(first) = self.columns.first().copied().flatten() else { return };
        let is_note = |line: &Line| line.cell(first).is_empty() && line.filled() == 1;
        let is_title = |line: &Line| {
            let same = |(column, (title, _)): (usize, &(String, Option<String>))| {
                !title.is_empty() && title_of(line.cell(column)) == *title
            };
            self.titles.iter().enumerate().filter(|title| same(*title)).count() >= LEAST
        };
        let is_total = |line: &Line| {
            let word = line.cells.iter().find(|cell| !cell.is_empty()).map(|cell| cell.words().into_owned());
            word.is_some_and(|word| {
                let begins = word.split(|sign: char| !sign.is_alphanumeric()).find(|part| !part.is_empty());
                begins.is_some_and(|word| TOTALS.contains(&plain(word).as_str()))
            })
        };
        let note_behind = |line: &Line| {
            line.filled() == 1 && self.fields().count() > 1 && {
                let words = line.cell(first).words();
                words.split_whitespace().count() > 3
            }
        };
        let is_left = |line: &&Line| is_note(line) || is_title(line) || is_total(line) || note_behind(line);
        let (out, kept): (Vec<&Line>, Vec<&Line>) = self.lines.iter().copied().partition(is_left);
        let left: Vec<String> = out.iter().map(|line| line.number.to_string()).collect();
        self.lines = kept;
        if !left.is_empty() {
            let words = if left.len() == 1 { "the line" } else { "the lines" };
            proposal.warnings.push(format!("Left out as no {}: {words} {}.", self.table.name, left.join(", ")));
        }
    }
}

/// The line with the most heads that are known; none where no line has enough.
fn best(table: &Table, names: &Names, lines: &[Line]) -> Option<usize> {
    let known = |line: &Line| {
        let titles = line.cells.iter().filter(|cell| matches!(cell, Cell::Text(_))).map(title_of);
        let mut fields: Vec<&str> = titles.filter_map(|title| Some(names.field(&title)?.name)).collect();
        fields.sort_unstable();
        fields.dedup();
        let names = fields.contains(&table.fields[0].name);
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

/// Which column each field is.
fn assigned(
    table: &'static Table,
    names: &Names,
    titles: &[(String, Option<String>)],
    answers: &Answers,
    proposal: &mut Proposal,
) -> Vec<Option<usize>> {
    let said = |name: &str| {
        let (_, column) = answers.columns.iter().find(|(field, _)| field == name)?;
        let by_title = titles.iter().position(|(title, _)| title.to_lowercase() == column.to_lowercase());
        by_title.or_else(|| {
            let number = column.parse::<usize>().ok()?.checked_sub(1)?;
            (number < titles.len()).then_some(number)
        })
    };
    let there = || table.fields.iter().map(|field| field.name);
    for (name, _) in answers.columns.iter().chain(&answers.constants) {
        if !there().any(|field| field == name) {
            proposal.ask(Question::NoField { name: name.clone(), there: there().collect() });
        }
    }
    let taken: Vec<usize> = table.fields.iter().filter_map(|field| said(field.name)).collect();
    let column = |(at, field_of): (usize, &'static Field)| {
        let is_said = answers.columns.iter().any(|(name, _)| name == field_of.name);
        let found: Vec<usize> = match said(field_of.name) {
            Some(column) => vec![column],
            None if is_said => Vec::new(),
            None => {
                let fits = |column: &usize| {
                    !taken.contains(column)
                        && names.field(&titles[*column].0).is_some_and(|field| field.name == field_of.name)
                };
                (0..titles.len()).filter(fits).collect()
            }
        };
        match clearest(&found, titles).as_slice() {
            [] if at == 0 || is_said => {
                let there = titles.iter().map(|(title, _)| title.clone()).filter(|title| !title.is_empty()).collect();
                proposal.ask(Question::Column { field: field_of.name, there });
                None
            }
            [] => None,
            [column] => Some(*column),
            several => {
                let columns = several.iter().map(|&column| titles[column].0.clone()).collect();
                proposal.ask(Question::Columns { field: field_of.name, columns });
                None
            }
        }
    };
    table.fields.iter().enumerate().map(column).collect()
}

/// Of several columns the one whose head says more than that of the others, if there is one.
fn clearest(found: &[usize], titles: &[(String, Option<String>)]) -> Vec<usize> {
    let is_clear = |column: &&usize| !WEAK.contains(&plain(&titles[**column].0).as_str());
    match found.iter().filter(is_clear).collect::<Vec<_>>().as_slice() {
        [only] => vec![**only],
        _ => found.to_vec(),
    }
}

/// What the fields of a table are called, plainly.
struct Names {
    by_word: HashMap<String, &'static Field>,
}

impl Names {
    fn of(table: &'static Table) -> Names {
        let words =
            |field: &'static Field| field.words.iter().chain([&field.name]).map(move |word| (plain(word), field));
        Names { by_word: table.fields.iter().flat_map(words).collect() }
    }

    /// The field that a head names; small words in it say nothing.
    fn field(&self, title: &str) -> Option<&'static Field> {
        // `Nº` ends with a letter to a computer.
        let words = title.split(|sign: char| !sign.is_alphanumeric() || matches!(sign, 'º' | 'ª')).map(plain);
        let bare: String = words.filter(|word| !SMALL.contains(&word.as_str())).collect();
        [plain(title), bare].iter().find_map(|title| self.by_word.get(title).copied())
    }
}

fn title_of(cell: &Cell) -> String {
    title(&cell.words()).0
}

/// A head's words, and the unit that stands in brackets behind them, or after a comma.
fn title(text: &str) -> (String, Option<String>) {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if let Some((words, rest)) = text.split_once(['(', '[']) {
        let unit = rest.trim_end_matches([')', ']']);
        let is_unit = UNITS.contains(&plain(unit).as_str());
        if !words.trim().is_empty() {
            return (words.trim().to_owned(), is_unit.then(|| bare_unit(unit)));
        }
    }
    match text.rsplit_once([',', ' ']) {
        Some((words, unit)) if !words.trim().is_empty() && is_a_unit(unit.trim()) => {
            (words.trim_end_matches([',', ' ']).to_owned(), Some(bare_unit(unit)))
        }
        _ => (text, None),
    }
}

/// Whether a word behind a head is a unit and no part of its words.
fn is_a_unit(word: &str) -> bool {
    matches!(word, "L" | "l" | "hL" | "hl" | "mL" | "ml" | "gal" | "g/L" | "g/l" | "mg/L" | "mg/l" | "%")
}

fn bare_unit(unit: &str) -> String {
    unit.trim_matches(|sign: char| matches!(sign, '(' | ')' | '[' | ']') || sign.is_whitespace()).to_owned()
}

/// Whether a line under the head holds units only.
fn is_units(line: &Line) -> bool {
    let is_unit = |cell: &Cell| UNITS.contains(&plain(&cell.words()).as_str());
    line.filled() > 0 && line.cells.iter().filter(|cell| !cell.is_empty()).all(is_unit)
}
