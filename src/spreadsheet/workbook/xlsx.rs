//! XLSX (ECMA-376): the cells of a sheet with what they refer to, the texts and the forms that all sheets share.

use std::collections::HashMap;

use super::super::{Cell, MOST_CELLS, Unreadable};
use super::format::{self, Format};
use super::package::Package;
use super::sheet::{Area, MOST_TEXT, Sheet};
use super::stream::Stream;
use super::{Choice, Extent};

/// The part by which such a file is known.
pub const CONTENTS: &str = "[Content_Types].xml";
/// A file may name so many sheets, or so many parts that it refers to.
const MOST_NAMED: usize = 4_096;
/// A workbook may have so many forms of cells.
const MOST_FORMS: usize = 1 << 17;
/// The last row and the column behind the last that a sheet of any program has.
const LAST_ROW: u64 = 1_048_576;
const COLUMNS: usize = 16_384;

/// Reads the sheet that is chosen.
pub fn read(package: &mut Package<'_>, choice: &mut Choice<'_>) -> Result<(), Unreadable> {
    let mut related = relations(package, "")?;
    let main = related.remove("officeDocument").map_or_else(|| "xl/workbook.xml".to_owned(), |main| main.target);
    if main.to_lowercase().ends_with(".bin") {
        return Err(Unreadable::OldWorkbook);
    }
    let mut related = relations(package, &main)?;
    let mut book = Book::default();
    let named = book.read_contents(&mut package.needed(&main)?)?;
    // Some name the texts and have none; where a cell then refers to one, it is refused.
    if let Some(strings) = related.remove("sharedStrings").filter(|part| package.has(&part.target)) {
        book.read_texts(&mut package.whole(&strings.target)?)?;
    }
    if let Some(styles) = related.remove("styles") {
        book.read_forms(&mut package.whole(&styles.target)?)?;
    }
    for Named { name, is_shown, relation } in named {
        let Some(part) = related.get(&relation).filter(|part| part.kind == "worksheet") else { continue };
        let Some(extent) = choice.of(&name, is_shown) else { continue };
        let sheet = match extent {
            Extent::Whole => book.sheet(&mut package.whole(&part.target)?, extent)?,
            // Of a sheet that is not meant it is only said that it is there.
            Extent::FirstCell => {
                match package.needed(&part.target).and_then(|mut part| book.sheet(&mut part, extent)) {
                    Ok(sheet) => sheet,
                    Err(_) => continue,
                }
            }
        };
        choice.take(name, is_shown, extent, sheet)?;
    }
    Ok(())
}

/// A part that another refers to.
struct Related {
    kind: String,
    target: String,
}

/// What a part refers to, by the name of the relation and, of those that are one of a kind, by that.
fn relations(package: &mut Package<'_>, part: &str) -> Result<HashMap<String, Related>, Unreadable> {
    let part = part.trim_start_matches('/');
    let (folder, file) = part.rsplit_once('/').unwrap_or(("", part));
    let mut related = HashMap::new();
    let path = if folder.is_empty() { format!("_rels/{file}.rels") } else { format!("{folder}/_rels/{file}.rels") };
    let Some(mut stream) = package.part(&path)? else { return Ok(related) };
    if !stream.child(0)? {
        return Ok(related);
    }
    while stream.child(1)? {
        let kind = stream.attribute("Type")?.unwrap_or_default();
        let kind = kind.rsplit('/').next().unwrap_or_default().to_owned();
        let Some(target) = stream.attribute("Target")?.map(|target| within(folder, &target)) else { continue };
        if let Some(id) = stream.attribute("Id")? {
            related.insert(id.into_owned(), Related { kind: kind.clone(), target: target.clone() });
        }
        if matches!(kind.as_str(), "officeDocument" | "sharedStrings" | "styles") {
            related.insert(kind.clone(), Related { kind, target });
        }
        if related.len() > MOST_NAMED {
            return Err(Unreadable::TooMuch(format!("more than {MOST_NAMED} parts")));
        }
    }
    stream.finish()?;
    Ok(related)
}

/// The path of a part as seen from a folder.
fn within(folder: &str, target: &str) -> String {
    let target = target.replace('\\', "/");
    let mut path: Vec<&str> = if target.starts_with('/') { Vec::new() } else { folder.split('/').collect() };
    for step in target.split('/') {
        match step {
            "." | "" => {}
            ".." => {
                path.pop();
            }
            step => path.push(step),
        }
    }
    path.retain(|step| !step.is_empty());
    path.join("/")
}

/// A sheet as the workbook names it.
struct Named {
    name: String,
    is_shown: bool,
    relation: String,
}

/// What all sheets share.
#[derive(Default)]
struct Book {
    from_1904: bool,
    /// The values that formulas left are to be worked out anew when it is opened: it was written by what works nothing out.
    is_unreckoned: bool,
    /// All shared texts, and where each ends.
    texts: String,
    ends: Vec<usize>,
    formats: Vec<Format>,
}

fn is_set(text: Option<std::borrow::Cow<'_, str>>) -> bool {
    text.is_some_and(|text| matches!(text.trim(), "1" | "true"))
}

impl Book {
    fn read_contents(&mut self, stream: &mut Stream<'_, '_>) -> Result<Vec<Named>, Unreadable> {
        let mut named = Vec::new();
        if !stream.child(0)? || stream.local() != "workbook" {
            return Err(Unreadable::NoTable);
        }
        while stream.child(1)? {
            match stream.local() {
                "workbookPr" => self.from_1904 = is_set(stream.attribute("date1904")?),
                "calcPr" => self.is_unreckoned = is_set(stream.attribute("fullCalcOnLoad")?),
                "sheets" => {
                    while stream.child(2)? {
                        let name = stream.attribute("name")?.unwrap_or_default().into_owned();
                        let is_shown = stream.attribute("state")?.is_none_or(|state| state == "visible");
                        let relation = stream.attribute_anywhere("id")?.unwrap_or_default().into_owned();
                        named.push(Named { name, is_shown, relation });
                        if named.len() > MOST_NAMED {
                            return Err(Unreadable::TooMuch(format!("more than {MOST_NAMED} sheets")));
                        }
                    }
                }
                _ => {}
            }
        }
        stream.finish()?;
        Ok(named)
    }

    fn read_texts(&mut self, stream: &mut Stream<'_, '_>) -> Result<(), Unreadable> {
        if !stream.child(0)? {
            return Ok(());
        }
        let mut text = String::new();
        while stream.child(1)? {
            if stream.local() != "si" {
                continue;
            }
            text.clear();
            rich_text(stream, &mut text)?;
            self.texts.push_str(&text);
            self.ends.push(self.texts.len());
            if self.texts.len() > MOST_TEXT {
                return Err(Unreadable::TooMuch(format!("more than {} MB of letters", MOST_TEXT >> 20)));
            }
            if self.ends.len() > MOST_CELLS {
                return Err(Unreadable::TooMuch(format!("more than {MOST_CELLS} different texts")));
            }
        }
        stream.finish()
    }

    fn text(&self, at: usize) -> Option<&str> {
        let begin = at.checked_sub(1).map_or(Some(0), |before| self.ends.get(before).copied())?;
        self.texts.get(begin..*self.ends.get(at)?)
    }

    fn read_forms(&mut self, stream: &mut Stream<'_, '_>) -> Result<(), Unreadable> {
        let mut codes = HashMap::new();
        if !stream.child(0)? {
            return Ok(());
        }
        while stream.child(1)? {
            match stream.local() {
                "numFmts" => {
                    while stream.child(2)? {
                        let code = stream.attribute("formatCode")?.unwrap_or_default();
                        codes.insert(stream.count("numFmtId")?.unwrap_or(0), Format::of_code(&code));
                        within_forms(codes.len())?;
                    }
                }
                "cellXfs" => {
                    while stream.child(2)? {
                        let number = stream.count("numFmtId")?.unwrap_or(0);
                        self.formats.push(codes.get(&number).copied().unwrap_or(Format::of_number(number)));
                        within_forms(self.formats.len())?;
                    }
                }
                _ => {}
            }
        }
        stream.finish()
    }

    fn sheet(&self, stream: &mut Stream<'_, '_>, extent: Extent) -> Result<Sheet, Unreadable> {
        let mut sheet = Sheet::default();
        if !stream.child(0)? || stream.local() != "worksheet" {
            return Err(stream.broken());
        }
        while stream.child(1)? {
            match stream.local() {
                "sheetData" => self.rows(stream, extent, &mut sheet)?,
                "mergeCells" => {
                    while stream.child(2)? {
                        let area = stream.attribute("ref")?.and_then(|area| area_of(&area));
                        sheet.merge(area.ok_or_else(|| stream.broken())?)?;
                    }
                }
                _ => {}
            }
            if extent == Extent::FirstCell && !sheet.is_empty() {
                return Ok(sheet);
            }
        }
        stream.finish()?;
        Ok(sheet)
    }

    fn rows(&self, stream: &mut Stream<'_, '_>, extent: Extent, sheet: &mut Sheet) -> Result<(), Unreadable> {
        let mut row = 0;
        while stream.child(2)? {
            row = stream.count("r")?.unwrap_or(row + 1);
            if !(1..=LAST_ROW).contains(&row) {
                return Err(stream.broken());
            }
            let mut next = 0;
            while stream.child(3)? {
                let place = match stream.attribute("r")? {
                    Some(place) => place_of(&place).ok_or_else(|| stream.broken())?,
                    None => (row, next),
                };
                next = place.1 + 1;
                let cell = self.cell(stream)?;
                sheet.put(place.0, place.1, cell)?;
                if extent == Extent::FirstCell && !sheet.is_empty() {
                    return Ok(());
                }
            }
        }
        Ok(())
    }

    fn cell(&self, stream: &mut Stream<'_, '_>) -> Result<Cell, Unreadable> {
        let kind = stream.attribute("t")?.unwrap_or_default().into_owned();
        let format = stream.count("s")?.and_then(|at| self.formats.get(usize::try_from(at).ok()?)).copied();
        let (mut value, mut is_formula) = (None, false);
        while stream.child(4)? {
            match stream.local() {
                "f" => is_formula = true,
                "v" => stream.own_text(value.get_or_insert_default())?,
                "is" => rich_text(stream, value.get_or_insert_default())?,
                _ => {}
            }
        }
        let Some(value) = value.filter(|value| !value.is_empty() || kind == "str") else {
            return Ok(if is_formula { format::NO_VALUE } else { Cell::Empty });
        };
        Ok(match kind.as_str() {
            "s" => {
                let text = value.trim().parse().ok().and_then(|at| self.text(at));
                format::words(&unescaped(text.ok_or_else(|| stream.broken())?))
            }
            "str" | "inlineStr" => format::words(&unescaped(&value)),
            "b" => format::truth(&value),
            "e" => format::fault(&value),
            "d" => format::iso_date(&value),
            _ => match value.trim().parse::<f64>() {
                Ok(0.0) if is_formula && self.is_unreckoned => format::NO_VALUE,
                number => format.unwrap_or_default().cell(number.unwrap_or(f64::NAN), self.from_1904),
            },
        })
    }
}

fn within_forms(count: usize) -> Result<(), Unreadable> {
    if count > MOST_FORMS {
        return Err(Unreadable::TooMuch(format!("more than {MOST_FORMS} forms of cells")));
    }
    Ok(())
}

/// A text that may have parts with letters of their own; how it is spoken is none of it.
fn rich_text(stream: &mut Stream<'_, '_>, into: &mut String) -> Result<(), Unreadable> {
    let depth = stream.depth();
    while stream.child(depth)? {
        match stream.local() {
            "t" => stream.own_text(into)?,
            "r" => {
                while stream.child(depth + 1)? {
                    if stream.local() == "t" {
                        stream.own_text(into)?;
                    }
                }
            }
            _ => {}
        }
    }
    Ok(())
}

/// A text without the signs that stand in it as `_x000D_`.
fn unescaped(text: &str) -> String {
    let mut plain = String::new();
    let mut rest = text;
    while let Some(at) = rest.find("_x") {
        let code = rest.get(at + 2..at + 6).filter(|_| rest.as_bytes().get(at + 6) == Some(&b'_'));
        let code = code.filter(|code| code.bytes().all(|sign| sign.is_ascii_hexdigit()));
        let letter = code.and_then(|code| char::from_u32(u32::from_str_radix(code, 16).ok()?));
        let passed = if let Some(letter) = letter {
            plain.push_str(&rest[..at]);
            plain.push(letter);
            at + 7
        } else {
            plain.push_str(&rest[..at + 2]);
            at + 2
        };
        rest = &rest[passed..];
    }
    plain.push_str(rest);
    plain
}

/// The row, from 1, and the column, from 0, of a place as `AB12`.
fn place_of(text: &str) -> Option<(u64, usize)> {
    let text = text.trim();
    let letters = text.bytes().take_while(u8::is_ascii_alphabetic).count();
    let (letters, figures) = text.split_at(letters);
    if !(1..=3).contains(&letters.len()) || figures.len() > 7 || !figures.bytes().all(|sign| sign.is_ascii_digit()) {
        return None;
    }
    let column =
        letters.bytes().fold(0, |column, letter| column * 26 + usize::from(letter.to_ascii_uppercase() - b'A') + 1);
    let row = figures.parse().ok().filter(|row| (1..=LAST_ROW).contains(row))?;
    (column <= COLUMNS).then_some((row, column - 1))
}

/// An area as `A1:B2`, or of one place.
fn area_of(text: &str) -> Option<Area> {
    let (first, last) = text.split_once(':').unwrap_or((text, text));
    let (first, last) = (place_of(first)?, place_of(last)?);
    let (top, bottom) = (first.0.min(last.0), first.0.max(last.0));
    Some(Area { top, left: first.1.min(last.1), bottom, right: first.1.max(last.1) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_read_as_sheets_name_them() {
        assert_eq!(place_of("A1"), Some((1, 0)));
        assert_eq!(place_of("ab12"), Some((12, 27)));
        assert_eq!(place_of("XFD1048576"), Some((1_048_576, 16_383)));
        for text in ["XFE1", "A0", "A1048577", "A", "1", "AAAA1", "A-1", "A99999999", "", "é1"] {
            assert_eq!(place_of(text), None, "{text}");
        }
        assert_eq!(area_of("C4:A2"), Some(Area { top: 2, left: 0, bottom: 4, right: 2 }));
        assert_eq!(area_of("A1:"), None);
    }

    #[test]
    fn signs_that_no_xml_holds_stand_in_a_text_by_their_number() {
        assert_eq!(unescaped("a_x000D_\nb"), "a\r\nb");
        assert_eq!(unescaped("_x005F_x000D_"), "_x000D_");
        assert_eq!(unescaped("lot_x12_é_xé00D_ _x"), "lot_x12_é_xé00D_ _x");
    }

    #[test]
    fn a_part_is_found_from_where_it_is_named() {
        assert_eq!(within("xl", "worksheets/sheet1.xml"), "xl/worksheets/sheet1.xml");
        assert_eq!(within("xl", "/xl/worksheets/sheet1.xml"), "xl/worksheets/sheet1.xml");
        assert_eq!(within("xl/sub", "../styles.xml"), "xl/styles.xml");
        assert_eq!(within("", "xl/workbook.xml"), "xl/workbook.xml");
        assert_eq!(within("", "../../x"), "x");
    }
}
