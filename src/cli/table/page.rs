//! What a command gives out: the same thing as a table, as a spreadsheet or as JSON.

use std::io::{self, Write};

use super::cell::Cell;
use super::column::Column;
use super::outgoing::Manner;
use super::text_table;
use crate::cellar::core::label::{harmless, harmless_json};
use crate::cli::arguments::Format;
use crate::cli::core::complaint::Outcome;
use crate::sheets::core::document::Document;
use crate::sheets::core::plain;
use crate::told::hazard::Caution;

/// How wide sentences run where there is no screen.
pub(in crate::cli) const WORDS_COLUMNS: usize = 78;

/// How wide a printable page is, in characters, where no screen says otherwise.
pub const PAGE_COLUMNS: usize = 96;

/// Where a command writes, in which form, and how wide the screen is, if it is one.
pub struct Page<'a> {
    /// Where to.
    pub out: &'a mut dyn Write,
    /// In which form.
    pub format: Format,
    /// The columns of the screen.
    pub width: Option<usize>,
}

impl Page<'_> {
    /// Whether people read it.
    #[must_use]
    pub fn is_for_people(&self) -> bool {
        self.format == Format::Table
    }

    /// A list of things. `none` is what people are told of an empty one.
    pub fn list<T>(&mut self, columns: &[Column<T>], rows: &[T], none: &str) -> Outcome {
        match self.format {
            Format::Json => self.json_array(columns, rows),
            Format::Csv => self.spreadsheet(columns, rows),
            Format::Table if rows.is_empty() => self.line(none),
            Format::Table => self.table(columns, rows),
        }
    }

    /// One thing: JSON holds it whole, a spreadsheet the rows within it that matter, and people read what `for_people`
    /// writes.
    pub fn report<T, R>(
        &mut self,
        (columns, thing): (&[Column<T>], &T),
        (row_columns, rows): (&[Column<R>], &[R]),
        for_people: impl FnOnce(&mut Self) -> Outcome,
    ) -> Outcome {
        match self.format {
            Format::Json => {
                self.json(&Cell::thing(columns, thing))?;
                self.line("")
            }
            Format::Csv => self.spreadsheet(row_columns, rows),
            Format::Table => for_people(self),
        }
    }

    /// One thing, of which a spreadsheet has a row, and people read a value a line and below it what `further` writes.
    pub fn card<T>(&mut self, columns: &[Column<T>], thing: &T, further: impl FnOnce(&mut Self) -> Outcome) -> Outcome {
        self.report((columns, thing), (columns, std::slice::from_ref(thing)), |page| {
            page.pairs_of(columns, thing)?;
            further(page)
        })
    }

    /// One thing for people, a value a line.
    pub fn pairs_of<T>(&mut self, columns: &[Column<T>], thing: &T) -> Outcome {
        let pairs: Vec<(String, String)> = columns
            .iter()
            .filter(|column| !column.nested)
            .filter_map(|column| {
                let name = column.name?;
                Some((column.on_card.map_or_else(|| spoken(name), str::to_owned), (column.cell)(thing)))
            })
            .filter(|(_, cell)| !cell.is_absent())
            .map(|(name, cell)| (name, cell.on_card()))
            .collect();
        self.text(&text_table::pairs(&pairs, self.width))
    }

    /// A table for people, under a title where there is more than one on the page.
    pub fn section<T>(&mut self, title: &str, columns: &[Column<T>], rows: &[T]) -> Outcome {
        if rows.is_empty() {
            return Ok(());
        }
        self.text(&format!("\n{title}\n"))?;
        self.table(columns, rows)
    }

    /// A table for people.
    pub fn table<T>(&mut self, columns: &[Column<T>], rows: &[T]) -> Outcome {
        self.text(&text_table::table(columns, rows, self.width))
    }

    /// Sentences, each from a line of its own on.
    pub fn sentences(&mut self, sentences: &[String]) -> Outcome {
        let width = self.width.unwrap_or(WORDS_COLUMNS);
        for sentence in sentences {
            text_table::wrapped(&harmless(sentence), width).iter().try_for_each(|line| self.line(line))?;
        }
        Ok(())
    }

    /// A printable page, as plain text.
    pub fn document(&mut self, document: &Document) -> Outcome {
        self.text(&plain::text(document, self.width.unwrap_or(PAGE_COLUMNS)))
    }

    /// What can hurt somebody at the work, where anything can: before what is to be done.
    pub fn caution(&mut self, caution: &Caution) -> Outcome {
        if caution.is_empty() { Ok(()) } else { self.sentences(&[caution.words()]) }
    }

    /// A line; the edge makes what is left of it harmless.
    pub fn line(&mut self, line: &str) -> Outcome {
        Ok(writeln!(self.out, "{line}")?)
    }

    fn text(&mut self, text: &str) -> Outcome {
        Ok(self.out.write_all(text.as_bytes())?)
    }

    /// What is unseen is an escape in it, so that nothing is lost.
    fn json(&mut self, cell: &Cell) -> Outcome {
        self.text(&harmless_json(&serde_json::to_string(cell).map_err(io::Error::from)?))
    }

    /// An object a line, so that a long list can be looked through by line as well.
    fn json_array<T>(&mut self, columns: &[Column<T>], rows: &[T]) -> Outcome {
        let mut before = "[\n";
        for row in rows {
            self.text(before)?;
            self.json(&Cell::thing(columns, row))?;
            before = ",\n";
        }
        self.text(if rows.is_empty() { "[]\n" } else { "\n]\n" })
    }

    fn spreadsheet<T>(&mut self, columns: &[Column<T>], rows: &[T]) -> Outcome {
        Ok(Manner::customary().write(self.out, columns, rows)?)
    }
}

/// Words for people below what was given out.
pub(in crate::cli) fn below(page: &mut Page<'_>, words: &str) -> Outcome {
    page.line("")?;
    text_table::wrapped(words, WORDS_COLUMNS).iter().try_for_each(|line| page.line(line))
}

/// The name of a field as a person says it: without a unit that stands at the value, and with one that does not as it is
/// written.
fn spoken(name: &str) -> String {
    let name = name.strip_suffix("_ul").or(name.strip_suffix("_ug")).unwrap_or(name);
    let (name, unit) = [("_mmol_l", " mmol/L"), ("_mg_l", " mg/L"), ("_g_l", " g/L"), ("_pct", " %"), ("_c", " °C")]
        .into_iter()
        .find_map(|(suffix, unit)| Some((name.strip_suffix(suffix)?, unit)))
        .unwrap_or((name, ""));
    let words: Vec<&str> = name
        .split('_')
        .map(|word| match word {
            "so2" => "SO2",
            "ph" => "pH",
            "ta" => "TA",
            "pk" => "pK",
            word => word,
        })
        .collect();
    words.join(" ") + unit
}
