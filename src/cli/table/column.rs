//! The columns of a thing: one list says what the table and the spreadsheet show.

use super::cell::Cell;

/// How a value is found in a thing.
pub type Find<T> = fn(&T) -> Cell;

/// One column.
pub struct Column<T> {
    /// The field's name in spreadsheet and JSON; none where the column is for people only.
    pub name: Option<&'static str>,
    /// The heading in the table; none where the column is for programs only.
    pub heading: Option<&'static str>,
    /// The value.
    pub cell: Find<T>,
    /// Whether a table tells the sum.
    pub summed: bool,
    /// Whether the column is left out of a table in which it says nothing.
    pub sparse: bool,
    /// Whether it is a list within the thing, which a card shows as a table of its own.
    pub nested: bool,
}

impl<T> Column<T> {
    const fn new(name: Option<&'static str>, heading: Option<&'static str>, cell: Find<T>) -> Self {
        Column { name, heading, cell, summed: false, sparse: false, nested: false }
    }

    /// A column for programs and people.
    pub const fn both(name: &'static str, heading: &'static str, cell: Find<T>) -> Self {
        Self::new(Some(name), Some(heading), cell)
    }

    /// A column for programs only.
    pub const fn program(name: &'static str, cell: Find<T>) -> Self {
        Self::new(Some(name), None, cell)
    }

    /// A column for people only.
    pub const fn people(heading: &'static str, cell: Find<T>) -> Self {
        Self::new(None, Some(heading), cell)
    }

    /// The same column with its sum below it.
    pub const fn summed(mut self) -> Self {
        self.summed = true;
        self
    }

    /// The same column, left out of a table in which it says nothing.
    pub const fn sparse(mut self) -> Self {
        self.sparse = true;
        self
    }

    /// The same column, a list within the thing.
    pub const fn nested(mut self) -> Self {
        self.nested = true;
        self
    }
}
