//! ODS (OASIS `OpenDocument` 1.3, part 3): one part holds all sheets, with a cell or a row that comes again written once.

use std::collections::HashSet;

use super::super::{Cell, MOST_COLUMNS, MOST_LETTERS, Unreadable};
use super::format;
use super::package::Package;
use super::sheet::{Area, Sheet};
use super::stream::{Mark, Stream};
use super::{Choice, Extent};

/// The part by which such a file is known; it says what is locked.
pub const MANIFEST: &str = "META-INF/manifest.xml";
/// A workbook may have so many looks of sheets.
const MOST_LOOKS: usize = 4_096;

/// Reads the sheet that is chosen.
pub fn read(package: &mut Package<'_>, choice: &mut Choice<'_>) -> Result<(), Unreadable> {
    if is_locked(&mut package.needed(MANIFEST)?)? {
        return Err(Unreadable::Locked);
    }
    let mut stream = package.whole("content.xml")?;
    let mut hidden = HashSet::new();
    let mut is_spreadsheet = false;
    if !stream.child(0)? {
        return Err(stream.broken());
    }
    while stream.child(1)? {
        match stream.name() {
            "office:automatic-styles" => hidden = hidden_looks(&mut stream)?,
            "office:body" => {
                while stream.child(2)? {
                    if stream.name() == "office:spreadsheet" {
                        is_spreadsheet = true;
                        tables(&mut stream, &hidden, choice)?;
                    }
                }
            }
            _ => {}
        }
    }
    stream.finish()?;
    if is_spreadsheet { Ok(()) } else { Err(Unreadable::NoTable) }
}

fn is_locked(stream: &mut Stream<'_, '_>) -> Result<bool, Unreadable> {
    loop {
        match stream.advance()? {
            Mark::Open if stream.local() == "encryption-data" => return Ok(true),
            Mark::End => return Ok(false),
            _ => {}
        }
    }
}

/// The looks of sheets that are not shown.
fn hidden_looks(stream: &mut Stream<'_, '_>) -> Result<HashSet<String>, Unreadable> {
    let mut hidden = HashSet::new();
    while stream.child(2)? {
        if stream.attribute("style:family")?.is_none_or(|family| family != "table") {
            continue;
        }
        let name = stream.attribute("style:name")?.unwrap_or_default().into_owned();
        while stream.child(3)? {
            if stream.attribute("table:display")?.is_some_and(|display| display == "false") {
                hidden.insert(name.clone());
            }
        }
        if hidden.len() > MOST_LOOKS {
            return Err(Unreadable::TooMuch(format!("more than {MOST_LOOKS} hidden sheets")));
        }
    }
    Ok(hidden)
}

fn tables(stream: &mut Stream<'_, '_>, hidden: &HashSet<String>, choice: &mut Choice<'_>) -> Result<(), Unreadable> {
    let depth = stream.depth();
    while stream.child(depth)? {
        if stream.name() != "table:table" {
            continue;
        }
        let name = stream.attribute("table:name")?.unwrap_or_default().into_owned();
        let is_shown = stream.attribute("table:style-name")?.is_none_or(|look| !hidden.contains(&*look));
        let Some(extent) = choice.of(&name, is_shown) else { continue };
        let depth = stream.depth();
        let mut table = Table { sheet: Sheet::default(), row: 0, extent };
        table.rows(stream)?;
        if stream.depth() >= depth {
            stream.close(depth)?;
        }
        choice.take(name, is_shown, extent, table.sheet)?;
    }
    Ok(())
}

/// A sheet that is read.
struct Table {
    sheet: Sheet,
    /// How many rows it had by now.
    row: u64,
    extent: Extent,
}

/// A cell as often as it comes in its row.
struct Run {
    column: usize,
    times: usize,
    cell: Cell,
    /// Over how many rows and columns it is merged.
    rows: u64,
    columns: usize,
}

impl Table {
    fn is_done(&self) -> bool {
        self.extent == Extent::FirstCell && !self.sheet.is_empty()
    }

    /// The rows right within the tag that is open, and those of their groups.
    fn rows(&mut self, stream: &mut Stream<'_, '_>) -> Result<(), Unreadable> {
        let depth = stream.depth();
        while !self.is_done() && stream.child(depth)? {
            match stream.name() {
                "table:table-row" => self.read_row(stream)?,
                "table:table-row-group" | "table:table-header-rows" | "table:table-rows" => self.rows(stream)?,
                _ => {}
            }
        }
        Ok(())
    }

    fn read_row(&mut self, stream: &mut Stream<'_, '_>) -> Result<(), Unreadable> {
        let times = stream.count("table:number-rows-repeated")?.unwrap_or(1);
        let (depth, mut column, mut runs) = (stream.depth(), 0_usize, Vec::new());
        while stream.child(depth)? {
            let count = |name| Ok(usize::try_from(stream.count(name)?.unwrap_or(1)).unwrap_or(usize::MAX));
            let (times, columns) = (count("table:number-columns-repeated")?, count("table:number-columns-spanned")?);
            let rows = stream.count("table:number-rows-spanned")?.unwrap_or(1);
            // What lies under a merged cell is not seen.
            let cell = if stream.name() == "table:table-cell" { cell(stream)? } else { Cell::Empty };
            let is_merged = (rows > 1 || columns > 1) && column < MOST_COLUMNS;
            if !cell.is_empty() && column.saturating_add(times) > MOST_COLUMNS {
                let row = self.row + 1;
                return Err(Unreadable::TooMuch(format!("more than {MOST_COLUMNS} columns (row {row})")));
            }
            if !cell.is_empty() || is_merged {
                let times = times.min(MOST_COLUMNS);
                runs.push(Run { column, times, cell, rows, columns });
            }
            column = column.saturating_add(times);
        }
        if runs.is_empty() {
            self.row = self.row.saturating_add(times);
            return Ok(());
        }
        for _ in 0..times {
            self.row = self.row.saturating_add(1);
            for run in &runs {
                self.fill(run)?;
            }
            if self.is_done() {
                break;
            }
        }
        Ok(())
    }

    fn fill(&mut self, run: &Run) -> Result<(), Unreadable> {
        for column in run.column..run.column + run.times {
            self.sheet.put(self.row, column, run.cell.clone())?;
            if run.rows > 1 || run.columns > 1 {
                let bottom = self.row.saturating_add(run.rows.saturating_sub(1));
                let right = column.saturating_add(run.columns.saturating_sub(1));
                self.sheet.merge(Area { top: self.row, left: column, bottom, right })?;
            }
        }
        Ok(())
    }
}

/// What stands in a cell, by the kind of its value; what is shown of it counts only where that says nothing.
fn cell(stream: &mut Stream<'_, '_>) -> Result<Cell, Unreadable> {
    let own = |name| Ok(stream.attribute(name)?.map(std::borrow::Cow::into_owned));
    let kind = own("office:value-type")?.unwrap_or_default();
    let value = own(match kind.as_str() {
        "date" => "office:date-value",
        "time" => "office:time-value",
        "boolean" => "office:boolean-value",
        "string" => "office:string-value",
        _ => "office:value",
    })?;
    let is_formula = own("table:formula")?.is_some();
    let is_fault = own("calcext:value-type")?.is_some_and(|kind| kind == "error");
    let shown = paragraphs(stream)?;
    if is_fault || (is_formula && is_sign_of_fault(&shown)) {
        return Ok(format::fault(&shown));
    }
    Ok(match (kind.as_str(), value) {
        ("string", Some(text)) => format::words(&text),
        ("string", None) => format::words(&shown),
        ("float" | "currency", Some(number)) => number_cell(&number, shown.trim()),
        ("percentage", Some(number)) => match finite(&number) {
            Some(number) => format::percent(number),
            None => Cell::Fault("a number that cannot be read"),
        },
        ("date", Some(date)) => format::iso_date(&date),
        ("time", Some(time)) => format::iso_time(&time),
        ("boolean", Some(truth)) => format::truth(&truth),
        _ if is_formula && shown.trim().is_empty() => format::NO_VALUE,
        _ => format::words(&shown),
    })
}

fn finite(number: &str) -> Option<f64> {
    number.trim().parse().ok().filter(|number: &f64| number.is_finite())
}

/// A number; a label where it is shown with noughts before its figures.
fn number_cell(number: &str, shown: &str) -> Cell {
    let Some(number) = finite(number) else { return Cell::Fault("a number that cannot be read") };
    let is_label = shown.len() > 1 && shown.starts_with('0') && shown.bytes().all(|sign| sign.is_ascii_digit());
    if is_label && finite(shown) == Some(number) { Cell::Text(shown.to_owned()) } else { format::plain(number) }
}

/// Whether what is shown is the sign of a formula that failed: some programs keep a nought beside it.
fn is_sign_of_fault(shown: &str) -> bool {
    let shown = shown.trim();
    shown.starts_with("Err:") || shown == "#N/A" || (shown.starts_with('#') && shown.ends_with(['!', '?']))
}

/// The paragraphs of a cell, without the notes that are pinned to it.
fn paragraphs(stream: &mut Stream<'_, '_>) -> Result<String, Unreadable> {
    let (depth, mut text, mut is_first) = (stream.depth(), String::new(), true);
    while stream.child(depth)? {
        if stream.name() == "text:p" {
            if !is_first {
                text.push('\n');
            }
            is_first = false;
            paragraph(stream, &mut text)?;
        }
    }
    Ok(text)
}

/// A paragraph, in which blanks side by side are one, and more of them are counted.
fn paragraph(stream: &mut Stream<'_, '_>, into: &mut String) -> Result<(), Unreadable> {
    let depth = stream.depth();
    loop {
        let mark = stream.advance()?;
        // It is longer than any cell may be, and need not be longer for that to be seen.
        let is_enough = into.len() > MOST_LETTERS * 4;
        match mark {
            Mark::Text if is_enough => {}
            Mark::Text => {
                for letter in stream.text().chars() {
                    match letter {
                        ' ' | '\t' | '\n' | '\r' if into.ends_with(' ') => {}
                        ' ' | '\t' | '\n' | '\r' => into.push(' '),
                        letter => into.push(letter),
                    }
                }
            }
            Mark::Open => match stream.name() {
                "text:s" if !is_enough => {
                    let blanks = stream.count("text:c")?.unwrap_or(1).min(80);
                    (0..blanks).for_each(|_| into.push(' '));
                }
                "text:tab" => into.push('\t'),
                "text:line-break" => into.push('\n'),
                "office:annotation" | "text:note" | "text:ruby-text" => stream.close(stream.depth())?,
                _ => {}
            },
            Mark::Close if stream.depth() < depth => return Ok(()),
            Mark::Close => {}
            Mark::End => return Err(stream.broken()),
        }
    }
}
