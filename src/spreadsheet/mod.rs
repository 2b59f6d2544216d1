//! Reading the spreadsheets that people have: bytes in, a grid of cells out. It knows no wine.
//!
//! What a file does not say of itself (how its letters are coded, what parts its cells, which sign is the decimal one, in which
//! order a date stands) is found from all of it at once, never cell by cell, and is kept beside the grid so that it can be shown.
//!
//! ```text
//!     encoding    bytes → text
//!     delimiter   which sign parts the cells of a text
//!     cells       text → rows, each with the number of its line
//!     workbook    the sheets of XLSX and ODS → rows, within caps of our own
//!     number      which sign is the decimal one in a column
//!     date        in which order the dates of a column stand
//! ```

pub mod cells;
pub mod date;
pub mod delimiter;
pub mod encoding;
pub mod number;
pub mod workbook;

use std::borrow::Cow;

use chrono::NaiveDateTime;
use thiserror::Error;

use self::delimiter::Delimiter;
use self::encoding::Encoding;

/// A file may be so large, bytes. A cellar of ten thousand barrels is a hundredth of it.
pub const MOST_BYTES: u64 = 32 << 20;
/// A table may have so many rows …
pub const MOST_LINES: usize = 200_000;
/// … so many columns …
pub const MOST_COLUMNS: usize = 256;
/// … so many filled cells …
pub const MOST_CELLS: usize = 2_000_000;
/// … and a cell so many letters.
pub const MOST_LETTERS: usize = 10_000;

/// What stands in a cell.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Cell {
    /// Nothing.
    #[default]
    Empty,
    /// Words, or a number or a date as it was written; without the blanks around it.
    Text(String),
    /// A number that a workbook keeps as one.
    Number(f64),
    /// A date, with its time of day, that a workbook keeps as one.
    Date(NaiveDateTime),
    /// What a workbook could not work out, in words: `a formula without a value`.
    Fault(&'static str),
}

/// A row of a table.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The number of the line or row on which it begins, from 1, as an editor or a spreadsheet counts them.
    pub number: u64,
    /// What stands in it.
    pub cells: Vec<Cell>,
}

/// Where a table was read from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Source {
    /// A text.
    Text {
        /// How its letters are coded.
        encoding: Encoding,
        /// What parts its cells.
        delimiter: Delimiter,
    },
    /// A sheet of a workbook.
    Sheet {
        /// Its name.
        name: String,
        /// The other sheets that are shown and hold something.
        others: Vec<String>,
    },
}

/// A table as it stands in a file. Lines without a filled cell are left away.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid {
    /// Where it was read from.
    pub source: Source,
    /// Its lines.
    pub lines: Vec<Line>,
}

/// What is said of a file beforehand.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wanted {
    /// What parts the cells of a text.
    pub delimiter: Option<Delimiter>,
    /// How the letters of a text are coded.
    pub encoding: Option<Encoding>,
    /// Which sheet of a workbook.
    pub sheet: Option<String>,
}

/// Why a file is no table.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Unreadable {
    /// It is larger than any cellar's.
    #[error("It is larger than {} MB. Give the one table that is meant a file of its own.", MOST_BYTES >> 20)]
    TooLarge,
    /// Its table is larger than any cellar's.
    #[error("Its table has {0}. Give the part that is meant a file of its own.")]
    TooMuch(String),
    /// It holds what no text holds.
    #[error("It is no text and no workbook that can be read. Save it as CSV, XLSX or ODS.")]
    NoTable,
    /// It is a workbook of a kind that is not read.
    #[error("It is a workbook of an older kind. Save it as XLSX, ODS or CSV.")]
    OldWorkbook,
    /// It is a workbook with a password.
    #[error("It is locked with a password. Save it without one.")]
    Locked,
    /// The workbook is damaged.
    #[error("The workbook is damaged: {0}. Open it where it was made and save it anew.")]
    Damaged(String),
    /// There is no such sheet.
    #[error("It has no sheet '{wanted}'. It has {}.", there.join(", "))]
    NoSheet {
        /// What was asked for.
        wanted: String,
        /// What there is.
        there: Vec<String>,
    },
    /// A quotation mark is not closed.
    #[error("Line {line}: a quotation mark opens a cell there, and none closes it. Close it or take it out.")]
    Unclosed {
        /// The number of the line on which it stands.
        line: u64,
    },
}

impl Cell {
    /// A cell of a text.
    #[must_use]
    pub fn of(text: &str) -> Cell {
        let text = text.trim_matches(|sign: char| sign.is_whitespace() || sign == '\u{feff}');
        if text.is_empty() { Cell::Empty } else { Cell::Text(text.to_owned()) }
    }

    /// Whether nothing stands in it.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        matches!(self, Cell::Empty)
    }

    /// It as words: a number as it is written without a unit, a date as ISO 8601 has it.
    #[must_use]
    pub fn words(&self) -> Cow<'_, str> {
        match self {
            Cell::Empty => Cow::Borrowed(""),
            Cell::Text(text) => Cow::Borrowed(text),
            Cell::Number(number) => Cow::Owned(number.to_string()),
            Cell::Date(date) if date.time() == chrono::NaiveTime::MIN => Cow::Owned(date.date().to_string()),
            Cell::Date(date) => Cow::Owned(date.format("%Y-%m-%d %H:%M").to_string()),
            Cell::Fault(fault) => Cow::Borrowed(fault),
        }
    }
}

impl Line {
    /// A cell; an empty one beyond its end.
    #[must_use]
    pub fn cell(&self, column: usize) -> &Cell {
        self.cells.get(column).unwrap_or(&Cell::Empty)
    }

    /// Takes away the empty cells at its end.
    fn trim(&mut self) {
        let filled = self.cells.iter().rposition(|cell| !cell.is_empty()).map_or(0, |last| last + 1);
        self.cells.truncate(filled);
    }

    /// How many of its cells are filled.
    #[must_use]
    pub fn filled(&self) -> usize {
        self.cells.iter().filter(|cell| !cell.is_empty()).count()
    }
}

impl Grid {
    /// Reads a file's bytes, by what they are and not by the file's name.
    pub fn read(bytes: &[u8], wanted: &Wanted) -> Result<Grid, Unreadable> {
        if bytes.len() as u64 > MOST_BYTES {
            return Err(Unreadable::TooLarge);
        }
        if workbook::is_one(bytes) {
            return workbook::read(bytes, wanted.sheet.as_deref());
        }
        if workbook::is_an_older_one(bytes) {
            return Err(workbook::why_not(bytes));
        }
        let (text, encoding) = encoding::decode(bytes, wanted.encoding).ok_or(Unreadable::NoTable)?;
        Grid::of_text(&text, encoding, wanted.delimiter)
    }

    fn of_text(text: &str, encoding: Encoding, delimiter: Option<Delimiter>) -> Result<Grid, Unreadable> {
        let (named, text) = delimiter::named(text);
        let delimiter = delimiter.or(named).unwrap_or_else(|| delimiter::vote(text));
        let first_line = if named.is_some() { 2 } else { 1 };
        let mut lines = Vec::new();
        let mut cells = 0;
        for row in cells::Rows::of(text, delimiter.sign(), first_line) {
            let row = row.map_err(|torn| match torn {
                cells::Torn::Unclosed { line } => Unreadable::Unclosed { line },
                cells::Torn::TooWide { line } => {
                    Unreadable::TooMuch(format!("more than {MOST_COLUMNS} columns (row {line})"))
                }
            })?;
            let mut row = Line { number: row.line, cells: row.cells.iter().map(|text| Cell::of(text)).collect() };
            row.trim();
            row.cells.shrink_to_fit();
            if row.cells.is_empty() {
                continue;
            }
            cells += row.cells.len();
            // Looked at on the way: a hostile file would fill the memory before its end.
            if cells > MOST_CELLS {
                return Err(Unreadable::TooMuch(format!("more than {MOST_CELLS} cells")));
            }
            if lines.len() == MOST_LINES {
                return Err(Unreadable::TooMuch(format!("more than {MOST_LINES} rows")));
            }
            lines.push(row);
        }
        Grid { source: Source::Text { encoding, delimiter }, lines }.within_caps()
    }

    /// The same without its empty lines and the empty cells at their ends, if it is no larger than any cellar's.
    pub(in crate::spreadsheet) fn within_caps(mut self) -> Result<Grid, Unreadable> {
        let too_much = |what: String| Err(Unreadable::TooMuch(what));
        for line in &mut self.lines {
            line.trim();
            if line.cells.len() > MOST_COLUMNS {
                return too_much(format!("more than {MOST_COLUMNS} columns (row {})", line.number));
            }
            let longest = |cell: &Cell| matches!(cell, Cell::Text(text) if text.chars().count() > MOST_LETTERS);
            if line.cells.iter().any(longest) {
                return too_much(format!("a cell of more than {MOST_LETTERS} letters (row {})", line.number));
            }
        }
        self.lines.retain(|line| !line.cells.is_empty());
        if self.lines.len() > MOST_LINES {
            return too_much(format!("more than {MOST_LINES} rows"));
        }
        if self.lines.iter().map(Line::filled).sum::<usize>() > MOST_CELLS {
            return too_much(format!("more than {MOST_CELLS} filled cells"));
        }
        Ok(self)
    }

    /// How many columns its widest line has.
    #[must_use]
    pub fn width(&self) -> usize {
        self.lines.iter().map(|line| line.cells.len()).max().unwrap_or(0)
    }
}
