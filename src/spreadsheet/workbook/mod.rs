//! The sheets of a workbook (XLSX, ODS) as rows, read as a stream within caps of our own.
//!
//! A workbook is a zip of XML, and what it says of its own size is not believed: a file of five kilobytes can claim a sheet of
//! half a terabyte. So nothing is reserved for what is only claimed, what is unpacked is counted as it comes, and no more is kept
//! than a cellar's table can have.
//!
//! ```text
//!     package    the zip: which parts there are, each unpacked against one count
//!     stream     a part's XML, tag by tag
//!     sheet      the cells of a sheet, counted, and its merged areas
//!     format     what a number is by the way it is shown: a date, a time, a share, a label
//!     xlsx, ods  the two kinds
//! ```

mod format;
mod ods;
mod package;
mod sheet;
mod stream;
#[cfg(test)]
mod tests;
mod xlsx;

use self::package::Package;
use self::sheet::Sheet;
use super::{Grid, Source, Unreadable};

/// A workbook may have so many sheets.
const MOST_SHEETS: usize = 1_024;

/// Whether bytes are a workbook of a kind that is read here.
#[must_use]
pub fn is_one(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04")
}

/// Whether bytes are a workbook of the older binary kind, or one that a password encloses.
#[must_use]
pub fn is_an_older_one(bytes: &[u8]) -> bool {
    bytes.starts_with(&[0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1])
}

/// Why such a one is not read.
#[must_use]
pub fn why_not(bytes: &[u8]) -> Unreadable {
    const LOCKED: &str = "EncryptedPackage";
    // Its directory has entries of 128 bytes, each of which begins with its name in UTF-16.
    let name: Vec<u8> = LOCKED.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let is_locked = bytes.chunks(128).any(|entry| entry.starts_with(&name));
    if is_locked { Unreadable::Locked } else { Unreadable::OldWorkbook }
}

/// Reads a sheet: the one that is named, else the first that is shown and holds something.
pub fn read(bytes: &[u8], sheet: Option<&str>) -> Result<Grid, Unreadable> {
    let mut package = Package::open(bytes)?;
    let mut choice = Choice { wanted: sheet, chosen: None, first_shown: None, others: Vec::new(), shown: Vec::new() };
    if package.has(ods::MANIFEST) {
        ods::read(&mut package, &mut choice)?;
    } else if package.has(xlsx::CONTENTS) {
        xlsx::read(&mut package, &mut choice)?;
    } else {
        return Err(Unreadable::NoTable);
    }
    choice.into_grid()
}

/// Which of a workbook's sheets is read, found as they come by.
struct Choice<'a> {
    wanted: Option<&'a str>,
    chosen: Option<(String, Sheet)>,
    /// The first that is shown, though it may hold nothing.
    first_shown: Option<String>,
    /// The others that are shown and hold something.
    others: Vec<String>,
    /// All that are shown.
    shown: Vec<String>,
}

impl Choice<'_> {
    /// How much of a sheet is to be read: all of it, or only until it is seen whether it holds something.
    fn of(&self, name: &str, is_shown: bool) -> Option<Extent> {
        let is_chosen = self.chosen.is_none()
            && self.wanted.map_or(is_shown, |wanted| wanted.trim().to_lowercase() == name.trim().to_lowercase());
        if is_chosen { Some(Extent::Whole) } else { is_shown.then_some(Extent::FirstCell) }
    }

    /// Takes what was read of it.
    fn take(&mut self, name: String, is_shown: bool, extent: Extent, sheet: Sheet) -> Result<(), Unreadable> {
        if self.shown.len() == MOST_SHEETS {
            return Err(Unreadable::TooMuch(format!("more than {MOST_SHEETS} sheets")));
        }
        if is_shown {
            self.first_shown.get_or_insert_with(|| name.clone());
            self.shown.push(name.clone());
        }
        match extent {
            Extent::Whole if self.wanted.is_some() || !sheet.is_empty() => self.chosen = Some((name, sheet)),
            Extent::FirstCell if !sheet.is_empty() => self.others.push(name),
            _ => {}
        }
        Ok(())
    }

    fn into_grid(self) -> Result<Grid, Unreadable> {
        let (name, sheet) = match (self.chosen, self.wanted) {
            (Some(chosen), _) => chosen,
            (None, Some(wanted)) => {
                return Err(Unreadable::NoSheet { wanted: wanted.to_owned(), there: self.shown });
            }
            (None, None) => match self.first_shown {
                Some(name) => (name, Sheet::default()),
                None => return Err(Unreadable::Damaged("it shows no sheet".to_owned())),
            },
        };
        sheet.into_grid(Source::Sheet { name, others: self.others })
    }
}

/// How much of a sheet is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Extent {
    /// All of it.
    Whole,
    /// Until a cell is found that is filled.
    FirstCell,
}
