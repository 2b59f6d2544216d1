//! The cells of a spreadsheet that is kept as text (RFC 4180), each row with the number of the line on which it begins.
//!
//! Lines are counted here, by whatever sign they end with: where a row is wrong, the person looks for it by its line.

/// A row as it was written.
#[derive(Debug, PartialEq, Eq)]
pub struct Cells {
    /// The number of the line on which it begins, from 1.
    pub line: u64,
    /// What stands in it, without the blanks around.
    pub cells: Vec<String>,
    /// Whether a quotation mark stands within a cell that none encloses.
    pub strayed: bool,
}

/// Why a text is no table.
#[derive(Debug, PartialEq, Eq)]
pub enum Torn {
    /// A quotation mark that nothing closes.
    Unclosed {
        /// The number of the line on which the mark stands that opens the cell.
        line: u64,
    },
    /// A row of more cells than any table has.
    TooWide {
        /// The number of the line on which it begins.
        line: u64,
    },
}

/// More cells than this, empty ones too, no row has: a spreadsheet may write them to its last column.
const MOST_CELLS: usize = 20_000;

/// Splits a text into its rows. Empty lines are none.
pub fn rows(text: &str, delimiter: char) -> Result<Vec<Cells>, Torn> {
    Rows::of(text, delimiter, 1).collect()
}

/// The rows of a text, one after the other.
pub struct Rows<'text> {
    reader: Reader<'text>,
}

impl<'text> Rows<'text> {
    /// The rows of a text whose first line has some number.
    #[must_use]
    pub fn of(text: &'text str, delimiter: char, first_line: u64) -> Rows<'text> {
        Rows { reader: Reader { rest: text.chars().peekable(), line: first_line, delimiter, strayed: false } }
    }

    fn row(&mut self) -> Result<Cells, Torn> {
        let (line, mut cells) = (self.reader.line, Vec::new());
        self.reader.strayed = false;
        loop {
            let (cell, last) = self.reader.cell()?;
            cells.push(cell.trim().to_owned());
            if last {
                return Ok(Cells { line, cells, strayed: self.reader.strayed });
            }
            if cells.len() == MOST_CELLS {
                return Err(Torn::TooWide { line });
            }
        }
    }
}

impl Iterator for Rows<'_> {
    type Item = Result<Cells, Torn>;

    fn next(&mut self) -> Option<Result<Cells, Torn>> {
        while self.reader.rest.peek().is_some() {
            match self.row() {
                Ok(row) if row.cells.len() == 1 && row.cells[0].is_empty() => {}
                other => return Some(other),
            }
        }
        None
    }
}

struct Reader<'text> {
    rest: std::iter::Peekable<std::str::Chars<'text>>,
    /// The number of the line that is read.
    line: u64,
    delimiter: char,
    /// Whether a mark stood within a cell of this row that none encloses.
    strayed: bool,
}

impl Reader<'_> {
    /// The next cell, and whether it is the last of its row.
    fn cell(&mut self) -> Result<(String, bool), Torn> {
        let mut cell = String::new();
        let opened = self.line;
        let quoted = self.rest.next_if_eq(&'"').is_some();
        if quoted {
            self.quoted(&mut cell)?;
        }
        loop {
            match self.next() {
                None | Some('\n') => return Ok((cell, true)),
                Some(sign) if sign == self.delimiter => return Ok((cell, false)),
                // Behind the closing mark stands what belongs to no cell: the opening one was closed by another cell's.
                Some(sign) if quoted && !sign.is_whitespace() => return Err(Torn::Unclosed { line: opened }),
                Some(sign) => {
                    self.strayed |= sign == '"';
                    cell.push(sign);
                }
            }
        }
    }

    /// What stands between an opening mark and the one that closes it; a doubled mark is one of the text.
    fn quoted(&mut self, cell: &mut String) -> Result<(), Torn> {
        let opened = self.line;
        loop {
            match self.next() {
                None => return Err(Torn::Unclosed { line: opened }),
                Some('"') if self.rest.next_if_eq(&'"').is_none() => return Ok(()),
                Some(sign) => cell.push(sign),
            }
        }
    }

    /// The next sign; a line's end is one line feed, however it is written.
    fn next(&mut self) -> Option<char> {
        let sign = match self.rest.next()? {
            '\r' => {
                self.rest.next_if_eq(&'\n');
                '\n'
            }
            sign => sign,
        };
        self.line += u64::from(sign == '\n');
        Some(sign)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Vec<(u64, String)> {
        let rows = rows(text, ',').unwrap().into_iter();
        rows.map(|row| (row.line, row.cells.join("|"))).collect()
    }

    #[test]
    fn lines_are_counted_by_whatever_they_end_with() {
        let text = "a,b\n\n1,2\n\"3\n3\",4\n,\n5,6";
        let expected = [(1, "a|b"), (3, "1|2"), (4, "3\n3|4"), (6, "|"), (7, "5|6")];
        let expected = expected.map(|(line, cells)| (line, cells.to_owned()));
        for end in ["\n", "\r\n", "\r"] {
            assert_eq!(read(&text.replace('\n', end)), expected, "{end:?}");
            assert_eq!(read(&format!("{text}\n").replace('\n', end)), expected, "{end:?}");
        }
    }

    #[test]
    fn marks_enclose_a_cell() {
        assert_eq!(read("\"a,b\" ,\"c\"\"d\",\"\", e\"f \n"), [(1, "a,b|c\"d||e\"f".to_owned())]);
        assert_eq!(read(""), []);
        assert_eq!(read("a,"), [(1, "a|".to_owned())]);
    }

    #[test]
    fn a_mark_that_nothing_closes_is_named_where_it_stands() {
        let line = |text: &str| match rows(text, ',').unwrap_err() {
            Torn::Unclosed { line } | Torn::TooWide { line } => line,
        };
        assert_eq!(line("a,b\r\n1,\"2\r\n3,4\r\n5,6\r\n"), 2);
        // The next mark, two rows below, would close it.
        assert_eq!(line("a,b\n\n1,\"2\n3,4\n5,\"6\"\n"), 3);
        assert_eq!(line("\""), 1);
    }

    #[test]
    fn whole_tables_are_read_as_they_were_written() {
        let mut writer = csv::Writer::from_writer(Vec::new());
        let cells = [["a", "b\r\nc", "\"d\", e"], ["", "é;", "2,5"], ["x", "", ""]];
        for row in cells {
            writer.write_record(row).unwrap();
        }
        let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
        let read = rows(&text, ',').unwrap();
        let expected = cells.map(|row| row.map(|cell| cell.replace("\r\n", "\n")));
        assert_eq!(read.iter().map(|row| row.cells.clone()).collect::<Vec<_>>(), expected);
    }
}
