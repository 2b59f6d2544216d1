//! What the cells of a column mean: the decimal sign and the order of dates are told by whole columns, then each cell is read.

use chrono::{Datelike, NaiveDate, NaiveTime};

use super::fields::Holds;
use super::guard::{is_nothing, unguarded};
use super::head::Head;
use super::{Answers, Proposal, Question};
use crate::cellar::core::label::{Label, Text, harmless};
use crate::spreadsheet::date::{DateOrder, Orders, read};
use crate::spreadsheet::number::{DecimalSign, Signs, number_of, plain};
use crate::spreadsheet::{Cell, Line};
use crate::units::{Volume, VolumeUnit};

/// How a table writes numbers and dates.
#[derive(Debug)]
pub struct Values {
    /// The decimal sign of each column of numbers.
    signs: Vec<(usize, DecimalSign)>,
    /// In which order the dates of each field's column stand.
    orders: Vec<(&'static str, DateOrder)>,
}

/// What says yes.
const YES: [&str; 9] = ["yes", "y", "true", "x", "oui", "si", "ja", "1", "toasted"];
/// What says no.
const NO: [&str; 8] = ["no", "n", "false", "non", "nein", "0", "untoasted", "not"];

impl Values {
    /// Finds it from all lines; what cannot be told and matters is asked.
    pub fn of(head: &Head<'_>, answers: &Answers, proposal: &mut Proposal) -> Values {
        let mut values = Values { signs: Vec::new(), orders: Vec::new() };
        let of = |holds: Holds| head.fields().filter(move |(field, _)| field.holds == holds);
        let columns = of(Holds::Number).map(|(_, column)| column).chain(head.house.iter().map(|(_, column)| *column));
        let numbers: Vec<(usize, Signs)> = columns.map(|column| (column, Signs::of(texts(head, column)))).collect();
        // One file is written by one hand: where a column tells nothing, the others do.
        let together = numbers.iter().fold(Signs::default(), |all, (_, signs)| all.and(*signs)).told();
        proposal.decimal = answers.decimal.or(together);
        for (column, signs) in numbers {
            let told = answers.decimal.or(signs.told()).or(together);
            if told.is_none() && signs.cannot_tell() {
                let example = harmless(texts(head, column).find(|text| odd_number(text)).unwrap_or_default());
                proposal.ask(Question::Decimal { column: head.title_at(column), example });
            }
            values.signs.push((column, told.unwrap_or(DecimalSign::Point)));
        }
        let dates: Vec<(&'static str, Orders)> =
            of(Holds::Date).map(|(field, column)| (field.name, Orders::of(texts(head, column)))).collect();
        proposal.dates = answers.dates.or_else(|| dates.iter().find_map(|(_, orders)| orders.told()));
        for (field, orders) in dates {
            let told = answers.dates.or(orders.told()).or(proposal.dates);
            if told.is_none() && orders.cannot_tell() {
                let example = head.column(field).and_then(|column| texts(head, column).find(|text| odd_date(text)));
                let example = harmless(example.unwrap_or_default());
                proposal.ask(Question::Dates { column: head.title(field), example });
            }
            values.orders.push((field, told.unwrap_or(DateOrder::DayMonth)));
        }
        values
    }

    fn sign(&self, column: Option<usize>) -> DecimalSign {
        let of = |column: usize| self.signs.iter().find(|(its, _)| *its == column);
        column.and_then(of).map_or(DecimalSign::Point, |(_, sign)| *sign)
    }

    /// A number as figures with a point, and the unit behind it.
    fn figures(&self, head: &Head<'_>, line: &Line, field: &str) -> Result<Option<(String, String)>, String> {
        figures(head.cell(line, field), self.sign(head.column(field)), &head.title(field))
    }

    /// A number with what stands behind it, in a column that may be none of the table's fields.
    pub fn measured(
        &self,
        head: &Head<'_>,
        cell: &Cell,
        column: Option<usize>,
    ) -> Result<Option<(f64, String)>, String> {
        let title = column.map_or_else(|| "number".to_owned(), |column| head.title_at(column));
        let Some((figures, unit)) = figures(cell, self.sign(column), &title)? else { return Ok(None) };
        let number = figures.parse().ok().filter(|number: &f64| number.is_finite());
        number.map(|number| Some((number, unit))).ok_or_else(|| format!("'{figures}' is no number"))
    }

    /// A number.
    pub fn number(&self, head: &Head<'_>, line: &Line, field: &str) -> Result<Option<f64>, String> {
        let Some((figures, _)) = self.figures(head, line, field)? else { return Ok(None) };
        let number = figures.parse().ok().filter(|number: &f64| number.is_finite());
        number.map(Some).ok_or_else(|| format!("'{figures}' is no number"))
    }

    /// A whole number.
    pub fn count(&self, head: &Head<'_>, line: &Line, field: &str) -> Result<Option<u32>, String> {
        let Some((figures, _)) = self.figures(head, line, field)? else { return Ok(None) };
        let whole = figures.split_once('.').filter(|(_, rest)| rest.bytes().all(|sign| sign == b'0'));
        let count = whole.map_or(figures.as_str(), |(whole, _)| whole).parse();
        count.map(Some).map_err(|_| format!("'{figures}' in the column '{}' is no whole number", head.title(field)))
    }

    /// A volume; without a unit in the cell or in the head, in what is customary here.
    pub fn volume(&self, head: &Head<'_>, line: &Line, field: &str) -> Result<Option<Volume>, String> {
        let Some((figures, unit)) = self.figures(head, line, field)? else { return Ok(None) };
        let by_head = head.unit(field).and_then(VolumeUnit::parse).unwrap_or_else(VolumeUnit::customary);
        let volume = Volume::parse(&format!("{figures} {unit}"), by_head);
        volume.map(Some).map_err(|error| error.to_string())
    }

    /// A year: four figures, two, or those of a date.
    pub fn year(&self, head: &Head<'_>, line: &Line, field: &str) -> Result<Option<u16>, String> {
        let cell = head.cell(line, field);
        let words = cell.words();
        if let Cell::Date(date) = cell {
            return Ok(u16::try_from(date.year()).ok());
        }
        if cell.is_empty() || is_nothing(&words) {
            return Ok(None);
        }
        let figures: Vec<&str> =
            words.split(|sign: char| !sign.is_ascii_digit()).filter(|part| !part.is_empty()).collect();
        let year = match figures.as_slice() {
            [only] if only.len() == 2 => only.parse::<u16>().ok().map(|year| 2000 + year),
            parts => parts.iter().find(|part| part.len() == 4).and_then(|year| year.parse().ok()),
        };
        let refused = || format!("'{}' in the column '{}' is no year", harmless(&words), head.title(field));
        year.filter(|year| (1500..=2999).contains(year)).map(Some).ok_or_else(refused)
    }

    /// A day, and the time of day where one stands with it.
    pub fn date(
        &self,
        head: &Head<'_>,
        line: &Line,
        field: &str,
    ) -> Result<Option<(NaiveDate, Option<NaiveTime>)>, String> {
        let order =
            self.orders.iter().find(|(name, _)| *name == field).map_or(DateOrder::DayMonth, |(_, order)| *order);
        let cell = head.cell(line, field);
        let refused = || format!("'{}' in the column '{}' is no date", harmless(&cell.words()), head.title(field));
        match cell {
            Cell::Empty => Ok(None),
            Cell::Date(date) if (1900..=2999).contains(&date.year()) => {
                Ok(Some((date.date(), Some(date.time()).filter(|time| *time != NaiveTime::MIN))))
            }
            Cell::Date(_) => Err(refused()),
            Cell::Text(text) if is_nothing(text) => Ok(None),
            Cell::Text(text) => read(text, order).map(Some).ok_or_else(refused),
            Cell::Number(_) => Err(format!("{}. Format the column as dates", refused())),
            Cell::Fault(fault) => Err(format!("in the column '{}' stands {fault}", head.title(field))),
        }
    }
}

fn figures(cell: &Cell, sign: DecimalSign, title: &str) -> Result<Option<(String, String)>, String> {
    let refused = || format!("'{}' in the column '{title}' is no number", harmless(&cell.words()));
    match cell {
        Cell::Empty => Ok(None),
        Cell::Number(number) => Ok(Some((number.to_string(), String::new()))),
        Cell::Text(text) if is_nothing(text) => Ok(None),
        Cell::Text(text) => {
            // How far off it may be is nothing that is kept.
            let text = text.split('±').next().unwrap_or_default().split("+/-").next().unwrap_or_default();
            let (number, unit) = number_of(text);
            let figures = plain(number, sign).ok_or_else(refused)?;
            Ok(Some((figures, unit.to_owned())))
        }
        Cell::Fault(fault) => Err(format!("in the column '{title}' stands {fault}")),
        Cell::Date(_) => Err(refused()),
    }
}

/// Words as they stand in a cell, without the sign that says so.
pub fn words(head: &Head<'_>, line: &Line, field: &str) -> Result<Option<String>, String> {
    let cell = head.cell(line, field);
    if let Cell::Fault(fault) = cell {
        return Err(format!("in the column '{}' stands {fault}", head.title(field)));
    }
    let words = cell.words();
    Ok((!words.is_empty() && !is_nothing(&words)).then(|| unguarded(&words).to_owned()))
}

/// A label.
pub fn label(head: &Head<'_>, line: &Line, field: &str) -> Result<Option<Label>, String> {
    let Some(words) = words(head, line, field)? else { return Ok(None) };
    Label::new(&words).map(Some).map_err(|error| error.to_string())
}

/// A text.
pub fn text(head: &Head<'_>, line: &Line, field: &str) -> Result<Option<Text>, String> {
    let Some(words) = words(head, line, field)? else { return Ok(None) };
    Text::new(&words).map(Some).map_err(|error| error.to_string())
}

/// Whether words say yes.
pub fn truth(words: &str) -> Result<bool, String> {
    let plainly = crate::reckon::material::plain(words);
    let is_among = |list: &[&str]| list.contains(&plainly.as_str());
    match (is_among(&YES), is_among(&NO)) {
        (true, _) => Ok(true),
        (_, true) => Ok(false),
        _ => Err(format!("'{words}' says neither yes nor no")),
    }
}

fn texts<'h>(head: &'h Head<'_>, column: usize) -> impl Iterator<Item = &'h str> + 'h {
    head.lines.iter().filter_map(move |line| match line.cell(column) {
        Cell::Text(text) => Some(text.as_str()),
        _ => None,
    })
}

fn odd_number(text: &str) -> bool {
    let signs = Signs::of(std::iter::once(text));
    signs.either + signs.point + signs.comma > 0
}

fn odd_date(text: &str) -> bool {
    Orders::of(std::iter::once(text)).either > 0
}
