//! What a sheet says, apart from how it is printed.

use crate::units::in_heading;

use super::code::Code;
use crate::cellar::core::label::{harmless, harmless_lines};
use crate::told::hazard::Caution;

/// A sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Document {
    /// What it is, for example `Round of Long room`.
    pub title: String,
    /// What holds for the whole sheet: the day, the totals, how to use it.
    pub lead: Vec<String>,
    /// What can hurt somebody at this work.
    pub cautions: Vec<String>,
    /// What follows.
    pub blocks: Vec<Block>,
}

impl Document {
    /// What a sheet says of a caution: nothing where there is nothing to heed.
    #[must_use]
    pub fn cautions(caution: &Caution) -> Vec<String> {
        (!caution.is_empty()).then(|| caution.words()).into_iter().collect()
    }

    /// The same sheet with nothing in it that moves a cursor, hides itself or reorders a line.
    #[must_use]
    pub fn harmless(&self) -> Document {
        let all = |words: &Vec<String>| words.iter().map(|words| harmless_lines(words)).collect();
        Document {
            title: harmless(&self.title),
            lead: all(&self.lead),
            cautions: all(&self.cautions),
            blocks: self.blocks.iter().map(Block::harmless).collect(),
        }
    }
}

impl Block {
    fn harmless(&self) -> Block {
        let all = |words: &[String]| words.iter().map(|words| harmless(words)).collect();
        match self {
            Block::Heading(words) => Block::Heading(harmless(words)),
            Block::Words(words) => Block::Words(harmless_lines(words)),
            Block::Table(table) => Block::Table(Table {
                columns: table
                    .columns
                    .iter()
                    .map(|column| Column { heading: harmless(&column.heading), kind: column.kind })
                    .collect(),
                lines: table
                    .lines
                    .iter()
                    .map(|line| match line {
                        Line::Cells(words) => Line::Cells(all(words)),
                        Line::Band(words) => Line::Band(harmless(words)),
                        Line::Total(words) => Line::Total(all(words)),
                    })
                    .collect(),
            }),
            // A code is the label itself: a scanner that reads it must find the vessel.
            Block::Cards(cards) => Block::Cards(
                cards
                    .iter()
                    .map(|card| Card { title: harmless(&card.title), lines: all(&card.lines), code: card.code.clone() })
                    .collect(),
            ),
            Block::Stacks(stacks) => Block::Stacks(Stacks {
                row: harmless(&stacks.row),
                stacks: stacks.stacks.iter().map(|stack| stack.iter().map(|tier| all(tier)).collect()).collect(),
            }),
            Block::NewPage => Block::NewPage,
        }
    }
}

/// A part of a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Block {
    /// A heading.
    Heading(String),
    /// Words.
    Words(String),
    /// A table.
    Table(Table),
    /// Cards to be cut out.
    Cards(Vec<Card>),
    /// Rows of stacks as they stand.
    Stacks(Stacks),
    /// The next part begins on a page of its own.
    NewPage,
}

/// A table, some columns of which may wait for a pencil.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// The columns.
    pub columns: Vec<Column>,
    /// The lines, a cell for each column that is not to be written in.
    pub lines: Vec<Line>,
}

/// A column of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// What stands over it.
    pub heading: String,
    /// What stands in it.
    pub kind: Kind,
}

/// What stands in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Words.
    Words,
    /// Numbers: set to the right.
    Numbers,
    /// A box to tick.
    Box,
    /// Room to write so many characters in.
    Room(u8),
}

impl Kind {
    /// Whether it is filled in by hand.
    #[must_use]
    pub const fn is_by_hand(self) -> bool {
        matches!(self, Kind::Box | Kind::Room(_))
    }
}

/// A line of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line {
    /// Its cells, of the columns that are not filled in by hand.
    Cells(Vec<String>),
    /// A band across the table: a row of the room, another vessel to top from.
    Band(String),
    /// The sums.
    Total(Vec<String>),
}

impl Table {
    /// An empty table.
    #[must_use]
    pub fn with(columns: &[(&str, Kind)]) -> Table {
        let column = |&(heading, kind): &(&str, Kind)| Column { heading: in_heading(heading), kind };
        Table { columns: columns.iter().map(column).collect(), lines: Vec::new() }
    }

    /// A line as wide as the table: what is written by hand is empty.
    #[must_use]
    pub fn whole_line(&self, cells: &[String]) -> Vec<String> {
        let mut cells = cells.iter();
        let cell = |column: &Column| if column.kind.is_by_hand() { None } else { cells.next() };
        self.columns.iter().map(cell).map(|cell| cell.cloned().unwrap_or_default()).collect()
    }
}

/// A card of a vessel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Card {
    /// Its label, large.
    pub title: String,
    /// Lines below it.
    pub lines: Vec<String>,
    /// What a scanner reads.
    pub code: Code,
}

/// Rows of stacks, seen from the aisle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stacks {
    /// The row's label.
    pub row: String,
    /// The stacks, from the first; of each the tiers, from the top; of each the barrels, side by side; a free place is empty.
    pub stacks: Vec<Vec<Vec<String>>>,
}
