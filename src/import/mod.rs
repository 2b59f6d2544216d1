//! Taking in the spreadsheets that a cellar keeps: which column is which, what the cells mean, and the facts that come of it.
//!
//! One road serves the dry run and the real one: a grid becomes a [`Proposal`], which tells how the file was read, what is asked, which
//! lines cannot be taken and which facts the others are. What cannot be told from the whole file and would change what is entered is a
//! [`Question`]; what would not is a warning. Nothing is decided cell by cell, and nothing is passed over without a word.
//!
//! ```text
//!     fields     what the columns of each kind of table are called, in five languages
//!     heading    what a head says beside the name: a unit, an acid
//!     guard      the apostrophe that says: words as they stand
//!     turned     a table that lies on its side
//!     head       which line is the head, and which column is which field
//!     values     what the cells of a column mean
//!     likely     which kind of table a file is
//!     answering  what is asked answered one by one
//!     mapping    what was said of a table, kept for the next of the same columns
//!     barrels    a list of barrels, with where they lie
//!     wine       what lies in which vessel
//!     dated      what these have in common: each line says a day
//!     tests      what a laboratory found; analytes: in which unit a number is kept
//!     tastes     what was tasted
//!     toppings   what was poured
//! ```
//!
//! **A spreadsheet** (`src/spreadsheet`, `src/import`) is read as a whole and then decided: coding, delimiter, head row, decimal sign and
//! the order of dates are told by all lines, never by one cell; what they cannot tell and would change what is entered is a `Question` with
//! the option that answers it. A kind of table is a list of fields with their words in five languages (`import/fields.rs`) and a function
//! that makes facts of its lines; what stands for every line comes by `--set`. The desk takes them as one act in which each fact is known
//! by its line (`desk/import.rs`), so that a dry run, a refusal and the real run are one road. What stands in the log already is known by
//! what it says, as often as it stands there. A line that says a day is a `WallTime` until the desk makes a moment of it: noon, and today
//! now. A head is taken apart from behind (`import/heading.rs`): the longest name that is known, and beside it a unit or an acid; a sheet
//! on its side is set upright first (`turned.rs`). Workbooks are read by our own stream over `zip` and `quick-xml`: the library for them
//! reserves what a file claims; it is kept as what a test compares with. The command and the page (`tui/floor/importing/`) go one road from
//! the file to the log (`intake`): the page reads and tries in a thread (`Search`), each answer is an edit of the same `Answers`
//! (`import/answering.rs`), and enter gives the desk all facts of the lines to decide once more (`Work::TakeIn`).

pub mod analytes;
mod answering;
pub mod barrels;
mod dated;
pub mod fields;
pub mod guard;
pub mod head;
pub mod heading;
pub mod likely;
pub mod mapping;
mod tastes;
pub mod tests;
mod toppings;
mod turned;
pub mod values;
pub mod wine;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use self::fields::Table;
use self::head::Head;
use self::values::Values;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::WallTime;
use crate::cellar::core::state::State;
use crate::cellar::jobs::floor::practice::LikeLitres;
use crate::reckon::acid_unit::AcidUnit;
use crate::spreadsheet::Grid;
use crate::spreadsheet::date::DateOrder;
use crate::spreadsheet::number::DecimalSign;
use crate::units::{one_of, plural};

/// So many lines are named of which the same is said; of more only the count is told.
const MOST_NAMED: usize = 12;

/// What a person said of a file beforehand, or answered.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Answers {
    /// The number of the line that is the head; 0 where there is none.
    pub head: Option<u64>,
    /// Which sign is the decimal one.
    pub decimal: Option<DecimalSign>,
    /// In which order dates stand.
    pub dates: Option<DateOrder>,
    /// Which column is which field: its name, and the column's head or number.
    pub columns: Vec<(String, String)>,
    /// What stands in a field of every line that says nothing there.
    pub constants: Vec<(String, String)>,
    /// Whether rooms and rows that are named and not there are laid out.
    pub lay_out: bool,
    /// As which acid an acidity is given whose head does not say it; the volatile one as sulfuric too, else as acetic.
    pub acid: Option<AcidUnit>,
}

/// What is asked before anything of a file is entered, with what answers it.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation, the fields are the things it names
pub enum Question {
    #[error("Which line names the columns? No line of the file is a head that is known here.")]
    Head,
    #[error("Which column is the {field}? None is called so.")]
    Column { field: &'static str, there: Vec<String> },
    #[error("Which column is the {field}: {}?", one_of(.columns))]
    Columns { field: &'static str, columns: Vec<String> },
    #[error(
        "Is the column '{column}' the {of_numbers} or the {of_words}? Some of its cells hold numbers, others words."
    )]
    Either { column: String, number: usize, of_numbers: &'static str, of_words: &'static str },
    #[error(
        "Is '{example}' in the column '{column}' with a decimal point or a decimal comma? Nothing in the file tells it."
    )]
    Decimal { column: String, example: String },
    #[error(
        "Does '{example}' in the column '{column}' begin with the day or with the month? Nothing in the file tells it."
    )]
    Dates { column: String, example: String },
    #[error("There is no field '{name}'.")]
    NoField { name: String, there: Vec<&'static str> },
    #[error("{asked} The file does not say it.")]
    Missing { field: &'static str, asked: &'static str, like: &'static str },
    #[error("Is '{column}' given as {own} or as sulfuric acid? The file does not say it.")]
    Acid { column: String, own: &'static str },
    #[error("Shall {what} be laid out? The file names places there, and the cellar has none.")]
    LayOut { what: String },
}

impl Question {
    /// The option that answers it at the desk.
    #[must_use]
    pub fn option(&self) -> String {
        match self {
            Question::Head => "--head 3 (the number of the line; 0 where the file has none)".to_owned(),
            Question::Column { field, there } => {
                let named = there.first().map_or("1", String::as_str);
                format!("--column '{field}={named}' (its head, or its number)")
            }
            Question::Columns { field, columns } => {
                format!("--column '{field}={}'", columns.first().map_or("1", String::as_str))
            }
            Question::Either { column, of_numbers, of_words, .. } => {
                format!("--column '{of_numbers}={column}' or --column '{of_words}={column}'")
            }
            Question::Decimal { .. } => "--decimal point or --decimal comma".to_owned(),
            Question::Dates { .. } => "--dates dmy or --dates mdy".to_owned(),
            Question::NoField { there, .. } => format!("one of {}", there.join(", ")),
            Question::Missing { field, like, .. } => format!("--set {field}={like} (for every line), or --column"),
            Question::Acid { own, .. } => format!("--acid {own} or --acid sulfuric (or in its head)"),
            Question::LayOut { .. } => "--lay-out".to_owned(),
        }
    }
}

/// What is said of a file or of a line of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// A sentence.
    pub sentence: String,
    /// What helps, where that is another thing at the desk than on the screen.
    pub helps: Option<Helps>,
}

/// What helps where a file says too little.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Helps {
    /// A day for every line that says none.
    Day,
    /// The day on which all of them were last topped.
    LastTopping,
    /// A word on what a column names: a vessel, a lot, a sample.
    WhatItNames,
    /// A column is not taken in, since it holds a laboratory's own numbers.
    NotTheSample,
    /// The house says that plain numbers are labels.
    LikeLitres(LikeLitres),
    /// Labels that may be meant, as a question.
    Meant(String),
}

impl From<String> for Remark {
    fn from(sentence: String) -> Remark {
        Remark { sentence, helps: None }
    }
}

impl From<&str> for Remark {
    fn from(sentence: &str) -> Remark {
        sentence.to_owned().into()
    }
}

/// A column as it was understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its number, from 1.
    pub number: usize,
    /// Its head; its number where it has none.
    pub title: String,
    /// What it is; none where it is not taken in.
    pub field: Option<String>,
}

/// A fact that a line of the file comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposed {
    /// The number of the line.
    pub line: u64,
    /// When it happened, where the line says it.
    pub at: Option<WallTime>,
    /// Who did it, where the line says it.
    pub by: Option<Label>,
    /// What.
    pub what: What,
    /// Words beside it.
    pub note: Option<Text>,
}

impl Proposed {
    /// A fact of which a line says neither when nor by whom.
    #[must_use]
    pub const fn of(line: u64, what: What) -> Proposed {
        Proposed { line, at: None, by: None, what, note: None }
    }
}

/// What a file would come to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Proposal {
    /// The number of the line that names the columns; none where no line does.
    pub head: Option<u64>,
    /// Which sign is the decimal one, where that matters.
    pub decimal: Option<DecimalSign>,
    /// In which order dates stand, where that matters.
    pub dates: Option<DateOrder>,
    /// Whether the table lies on its side: then what is called a line is a column of the file.
    pub turned: bool,
    /// The columns, from the left.
    pub columns: Vec<Column>,
    /// What is asked first.
    pub questions: Vec<Question>,
    /// What is left away, or looks odd, and changes nothing that is entered.
    pub warnings: Vec<Remark>,
    /// The lines that cannot be taken, each with why.
    pub refused: Vec<(u64, Remark)>,
    /// How many lines say what is known already.
    pub known: usize,
    /// The facts, in the order of the lines.
    pub facts: Vec<Proposed>,
}

/// What a file of one kind would come to in a cellar.
#[must_use]
pub fn propose(table: &'static Table, grid: &Grid, answers: &Answers, state: &State) -> Proposal {
    let mut proposal = Proposal::default();
    let may_lie = table.house && answers.head.is_none();
    let upright = if may_lie { turned::upright(table, grid) } else { None };
    proposal.turned = upright.is_some();
    if let Some((_, left @ [_, ..])) = upright.as_ref().map(|(grid, left)| (grid, left.as_slice())) {
        proposal.warn(format!("Left out as no {}: {}.", table.name, named("line", left)));
    }
    let grid = upright.as_ref().map_or(grid, |(upright, _)| upright);
    let house = house_of(table, state);
    let Some(head) = Head::find(table, &house, grid, answers, &mut proposal) else { return proposal };
    let values = Values::of(&head, answers, &mut proposal);
    (table.read)(&head, &values, answers, state, &mut proposal);
    proposal.refused.sort_by_key(|(line, _)| *line);
    let registered = proposal.facts.iter().filter_map(|fact| match &fact.what {
        What::VesselRegistered(it) => Some(&it.vessel),
        _ => None,
    });
    if let Some(labels) = state.like_litres(registered) {
        proposal.warnings.push(Remark { sentence: String::new(), helps: Some(Helps::LikeLitres(labels)) });
    }
    proposal
}

/// What only this house has its wines tested for, where a table has columns for it.
#[must_use]
pub fn house_of(table: &Table, state: &State) -> Vec<Label> {
    let declared = state.house_analytes.iter().filter(|_| table.house);
    declared.map(|house| house.analyte.clone()).collect()
}

/// Lines by their numbers: `the line 3`, `the lines 3, 7`, `the lines 3 to 40, 52`; beyond a dozen runs the others are counted.
#[must_use]
pub fn named(what: &str, numbers: &[u64]) -> String {
    let runs: Vec<&[u64]> = numbers.chunk_by(|one, next| one + 1 == *next).collect();
    let parts = runs.iter().take(MOST_NAMED).flat_map(|run| match run {
        [first, _, .., last] => vec![format!("{first} to {last}")],
        few => few.iter().map(ToString::to_string).collect(),
    });
    let shown: Vec<String> = parts.collect();
    let more: usize = runs.iter().skip(MOST_NAMED).map(|run| run.len()).sum();
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let what = if numbers.len() > 1 { plural(what) } else { what.to_owned() };
    format!("the {what} {}{more}", shown.join(", "))
}

impl Proposal {
    /// What holds one thing of the table: a line of the file, or a column where it lies on its side.
    #[must_use]
    pub const fn line_word(&self) -> &'static str {
        if self.turned { "column" } else { "line" }
    }

    /// Names lines about which the same has to be said, if there are any: `Nothing was poured by the lines 3, 7.`
    fn warn_of(&mut self, what: &str, numbers: &[u64]) {
        if !numbers.is_empty() {
            self.warn(format!("{what} {}.", named(self.line_word(), numbers)));
        }
    }

    /// Says what is left away, or looks odd.
    fn warn(&mut self, what: impl Into<Remark>) {
        self.warnings.push(what.into());
    }

    /// Asks something, once.
    pub fn ask(&mut self, question: Question) {
        if !self.questions.contains(&question) {
            self.questions.push(question);
        }
    }

    /// Asks for what no column says, unless it is asked already which of several columns says it.
    pub fn ask_for(&mut self, head: &Head<'_>, field: &'static str, asked: &'static str, like: &'static str) -> bool {
        let is_asked = |question: &Question| matches!(question, Question::Columns { field: of, .. } | Question::Column { field: of, .. } if *of == field);
        let lacks = !head.has(field);
        if lacks && !self.questions.iter().any(is_asked) {
            self.ask(Question::Missing { field, asked, like });
        }
        lacks
    }

    /// Says why a line cannot be taken.
    pub fn refuse(&mut self, line: u64, why: impl Into<Remark>) {
        let Remark { sentence: why, helps } = why.into();
        self.refused.push((line, Remark { sentence: sentence(&why), helps }));
    }
}

/// Words as a sentence.
fn sentence(why: &str) -> String {
    let mut letters = why.chars();
    let first = letters.next().map_or_else(String::new, |first| first.to_uppercase().to_string());
    let end = if why.ends_with('.') { "" } else { "." };
    format!("{first}{}{end}", letters.as_str())
}
