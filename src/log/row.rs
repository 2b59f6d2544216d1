//! A row of the table as the line that it holds.

use rusqlite::Row;
use rusqlite::types::{Type, ValueRef};

use super::chain::Link;
use super::trouble::Unlike;
use crate::cellar::core::fact::{Device, FactId, FactKey, Line, LineText};
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;

/// The columns of a scan.
pub const SCAN_COLUMNS: &str = "facts.device, facts.n, facts.instant, facts.offset_minutes, facts.kind, facts.body, facts.position, \
     facts.version";

/// The columns of a scan that asks who entered each fact; the first ones are those of a scan.
pub const AUTHORED_COLUMNS: &str = "facts.device, facts.n, facts.instant, facts.offset_minutes, facts.kind, facts.body, facts.position, \
     facts.version, facts.author";

/// The columns of a whole line; the first ones are those of a scan.
pub const LINE_COLUMNS: &str = "facts.device, facts.n, facts.instant, facts.offset_minutes, facts.kind, facts.body, \
     facts.position, facts.version, devices.name, facts.written_instant, facts.written_offset, facts.author, facts.job, \
     facts.note, facts.link, facts.late";

/// The same without looking up the device's name.
pub const CHAINED_COLUMNS: &str = "facts.device, facts.n, facts.instant, facts.offset_minutes, facts.kind, facts.body, \
     facts.position, facts.version, NULL, facts.written_instant, facts.written_offset, facts.author, facts.job, \
     facts.note, facts.link, facts.late";

/// Where those columns stand. The facts come first and each finds its device: the other way about they would have to be
/// sorted.
pub const LINE_TABLES: &str = "facts CROSS JOIN devices USING (device)";

/// A whole fact as the file holds it.
#[derive(Debug, PartialEq)]
pub struct StoredLine {
    /// Its place in the order of arrival.
    pub position: i64,
    /// The line.
    pub line: Line,
    /// Its link as it stands in the file.
    pub link: Link,
    /// The device's name that stands in a late fact.
    pub late: Option<String>,
}

impl StoredLine {
    /// Where the fact stands in the order of facts.
    pub fn key(&self) -> FactKey {
        FactKey { instant: self.line.at.instant(), id: self.line.id.clone() }
    }

    /// Reads the columns of [`LINE_COLUMNS`]. Every value must be exactly one that could have been stored: what reads
    /// as another value would let a damaged column pass as a whole one.
    pub fn read(row: &Row<'_>) -> rusqlite::Result<StoredLine> {
        let text = |column: usize| row.get_ref(column)?.as_str().map_err(|_| wrong(column, Type::Text, "not a text"));
        let optional = |column: usize| match row.get_ref(column)? {
            ValueRef::Null => Ok(None),
            _ => text(column).map(Some),
        };
        let device = Device::new(text(8)?).map_err(|error| wrong(8, Type::Text, &error.to_string()))?;
        let n: i64 = row.get(1)?;
        let line = Line {
            id: FactId { device, n: u64::try_from(n).map_err(|_| wrong(1, Type::Integer, "below nothing"))? },
            at: moment(row, 2, 3)?,
            written: moment(row, 9, 10)?,
            by: label(text(11)?, 11)?,
            version: row.get(7)?,
            kind: text(4)?.into(),
            body: text(5)?.to_owned(),
            job: optional(12)?.map(|text| label(text, 12)).transpose()?,
            note: optional(13)?
                .map(|text| Text::new(text).map_err(|error| wrong(13, Type::Text, &error.to_string())))
                .transpose()?,
        };
        fit(&line).map_err(|problem| wrong(5, Type::Text, &problem))?;
        let seal = row.get_ref(14)?.as_blob().ok().and_then(Link::from_bytes);
        Ok(StoredLine {
            position: row.get(6)?,
            line,
            link: seal.ok_or_else(|| wrong(14, Type::Blob, "not 32 bytes"))?,
            late: optional(15)?.map(str::to_owned),
        })
    }
}

/// What stands in the columns of [`CHAINED_COLUMNS`], and in those of [`LINE_COLUMNS`], as far as the chain is over it. None where a
/// value is none that could have been stored. It costs a fraction of a [`StoredLine`], and what has the right link needs no other check.
pub fn chained_text<'row>(row: &'row Row<'_>, device: &'row Device) -> Option<LineText<'row>> {
    let number = |column| row.get_ref(column).ok()?.as_i64().ok();
    let text = |column| row.get_ref(column).ok()?.as_str().ok();
    let moment = |instant, offset| {
        let minutes = i16::try_from(number(offset)?).ok()?;
        let moment = Moment::new(number(instant)?, minutes);
        (moment.offset_minutes() == minutes && in_range(moment)).then_some(moment)
    };
    let optional = |column| match row.get_ref(column) {
        Ok(ValueRef::Null) => Some(None),
        _ => text(column).map(Some),
    };
    Some(LineText {
        device: device.as_str(),
        n: u64::try_from(number(1)?).ok()?,
        at: moment(2, 3)?,
        written: moment(9, 10)?,
        by: text(11)?,
        version: u32::try_from(number(7)?).ok()?,
        kind: text(4)?,
        job: optional(12)?,
        note: optional(13)?,
        // Blanks round it are not part of what is exported.
        body: text(5).filter(|body| body.starts_with('{') && body.ends_with('}'))?,
    })
}

fn wrong(column: usize, kind: Type, problem: &str) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(column, kind, Unlike(problem.to_owned()).into())
}

fn label(text: &str, column: usize) -> rusqlite::Result<Label> {
    Label::read(text).map_err(|error| wrong(column, Type::Text, &error.to_string()))
}

fn moment(row: &Row<'_>, instant: usize, offset: usize) -> rusqlite::Result<Moment> {
    let minutes: i16 = row.get(offset)?;
    let moment = Moment::new(row.get(instant)?, minutes);
    // An offset out of range is brought back into it by the moment itself.
    if moment.offset_minutes() == minutes && in_range(moment) {
        Ok(moment)
    } else {
        Err(wrong(instant, Type::Integer, "no moment"))
    }
}

/// 1899-12-31 and 3000-01-02 UTC: every moment from 1900 to 2999 on any wall lies between them.
const INSTANTS: std::ops::Range<i64> = -2_209_075_200_000_000..32_503_766_400_000_000;

fn in_range(moment: Moment) -> bool {
    INSTANTS.contains(&moment.instant())
}

/// Whether the log can keep a line so that it is read and exported exactly as it came. Checked before it is stored and
/// again when the chain is verified.
pub fn fit(line: &Line) -> Result<(), String> {
    let plain = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_';
    if line.kind.is_empty() || line.kind.len() > 40 || !line.kind.bytes().all(plain) {
        return Err("the name of its kind is not 1 to 40 lower-case letters, digits and underlines".to_owned());
    }
    if line.id.n == 0 || i64::try_from(line.id.n).is_err() {
        return Err("its number is out of range".to_owned());
    }
    if !in_range(line.at) || !in_range(line.written) {
        return Err("its time is not within the years 1900 to 2999".to_owned());
    }
    if line.body.len() > crate::cellar::core::fact::LINE_BYTES {
        return Err(format!("its fields take more than {} bytes", crate::cellar::core::fact::LINE_BYTES));
    }
    // The exported line is made by cutting the braces off, and is one line: a body must be nothing but one object.
    let whole = line.body.len() >= 2 && line.body.starts_with('{') && line.body.ends_with('}');
    if !whole || line.body.bytes().any(|byte| byte < 0x20) {
        return Err("its fields are not one JSON object on one line".to_owned());
    }
    Ok(())
}
