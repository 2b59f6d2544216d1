//! One value of a table or spreadsheet, and how people and programs are told it.

use serde::{Serialize, Serializer};

use crate::cellar::core::label::{Label, Text, harmless};
use crate::cellar::core::moment::Moment;
use crate::units::{Mass, Volume, VolumeUnit};

/// One value.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Nothing is known or nothing applies.
    Nothing,
    /// The person's own words.
    Text(String),
    /// A word of the exchange format.
    Word(String),
    /// A volume: whole microlitres for programs, litres for people.
    Volume(Volume),
    /// A small volume: litres to a hundredth for people.
    Fine(Volume),
    /// A volume that is measured out: millilitres to a tenth for people.
    Measured(Volume),
    /// A mass: whole micrograms for programs, grams to a hundredth for people.
    Mass(Mass),
    /// A volume with its standard deviation, for people.
    Estimate(Volume, Volume),
    /// A whole number.
    Whole(i64),
    /// A number.
    Decimal(f64),
    /// A part of one: a percentage for people.
    Share(f64),
    /// Yes or no.
    Flag(bool),
    /// When something happened.
    When(Moment),
}

impl Cell {
    /// The word that the exchange format has for a value.
    pub fn word(value: &impl Serialize) -> Cell {
        match serde_json::to_value(value) {
            Ok(serde_json::Value::String(word)) => Cell::Word(word),
            _ => Cell::Nothing,
        }
    }

    /// For a column of a table, whose heading says the unit.
    #[must_use]
    pub fn in_table(&self) -> String {
        match self {
            Cell::Nothing | Cell::Flag(false) => String::new(),
            Cell::Text(text) => harmless(text),
            Cell::Word(word) => harmless(&word.replace('_', " ")),
            Cell::Volume(volume) => volume.show_number(VolumeUnit::Litre, 1),
            Cell::Fine(volume) => volume.show_number(VolumeUnit::Litre, 2),
            Cell::Measured(volume) => volume.show_number(VolumeUnit::Millilitre, 1),
            Cell::Mass(mass) => mass.show_number(2),
            Cell::Estimate(volume, deviation) if deviation.is_zero() => volume.show_number(VolumeUnit::Litre, 1),
            Cell::Estimate(volume, deviation) => {
                let litres = |volume: &Volume| volume.show_number(VolumeUnit::Litre, 1);
                format!("{} ±{}", litres(volume), litres(deviation))
            }
            Cell::Whole(number) => number.to_string(),
            Cell::Decimal(number) => number.to_string(),
            Cell::Share(share) => format!("{:.1} %", share * 100.0),
            Cell::Flag(true) => "yes".to_owned(),
            Cell::When(moment) => moment.show_date(),
        }
    }

    /// For a line by itself, with its unit.
    #[must_use]
    pub fn on_card(&self) -> String {
        match self {
            Cell::Volume(_) | Cell::Fine(_) | Cell::Estimate(..) => format!("{} L", self.in_table()),
            Cell::Measured(_) => format!("{} mL", self.in_table()),
            Cell::Mass(_) => format!("{} g", self.in_table()),
            Cell::Flag(false) => "no".to_owned(),
            other => other.in_table(),
        }
    }

    /// For a spreadsheet: numbers are plain, and no text can be taken for a formula.
    #[must_use]
    pub fn in_spreadsheet(&self) -> String {
        match self {
            Cell::Nothing => String::new(),
            Cell::Text(text) | Cell::Word(text) => no_formula(text),
            Cell::Volume(volume) | Cell::Fine(volume) | Cell::Measured(volume) | Cell::Estimate(volume, _) => {
                volume.as_ul().to_string()
            }
            Cell::Mass(mass) => mass.as_ug().to_string(),
            Cell::Whole(number) => number.to_string(),
            Cell::Decimal(number) | Cell::Share(number) => number.to_string(),
            Cell::Flag(flag) => flag.to_string(),
            Cell::When(moment) => moment.to_string(),
        }
    }

    /// Whether it stands at the right of its column.
    #[must_use]
    pub const fn is_number(&self) -> bool {
        use Cell::{Decimal, Estimate, Fine, Mass, Measured, Share, Volume, Whole};
        matches!(self, Volume(_) | Fine(_) | Measured(_) | Mass(_) | Estimate(..) | Whole(_) | Decimal(_) | Share(_))
    }

    /// Whether there is nothing to tell, or a volume or number of nothing.
    #[must_use]
    pub fn is_nothing(&self) -> bool {
        match self {
            Cell::Nothing => true,
            Cell::Volume(volume) => volume.is_zero(),
            _ => false,
        }
    }

    /// The sum with another value of the same kind; what has no sum adds nothing.
    #[must_use]
    pub fn plus(self, other: &Cell) -> Cell {
        match (self, other) {
            (Cell::Nothing, other @ (Cell::Volume(_) | Cell::Whole(_))) => other.clone(),
            (Cell::Volume(a), Cell::Volume(b)) => Cell::Volume(a + *b),
            (Cell::Whole(a), Cell::Whole(b)) => Cell::Whole(a.saturating_add(*b)),
            (sum, _) => sum,
        }
    }
}

/// A spreadsheet takes a text that begins with one of these for a formula; an apostrophe before it says that it is none.
fn no_formula(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.to_owned() }
}

impl<T: Into<Cell>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Cell {
        value.map_or(Cell::Nothing, Into::into)
    }
}
impl From<&Label> for Cell {
    fn from(label: &Label) -> Cell {
        Cell::Text(label.to_string())
    }
}
impl From<&Text> for Cell {
    fn from(text: &Text) -> Cell {
        Cell::Text(text.to_string())
    }
}
impl From<&String> for Cell {
    fn from(text: &String) -> Cell {
        Cell::Text(text.clone())
    }
}
impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        Cell::Text(text.to_owned())
    }
}
impl From<Volume> for Cell {
    fn from(volume: Volume) -> Cell {
        Cell::Volume(volume)
    }
}
impl From<Mass> for Cell {
    fn from(mass: Mass) -> Cell {
        Cell::Mass(mass)
    }
}
impl From<i64> for Cell {
    fn from(number: i64) -> Cell {
        Cell::Whole(number)
    }
}
impl From<u32> for Cell {
    fn from(number: u32) -> Cell {
        Cell::Whole(i64::from(number))
    }
}
impl From<u64> for Cell {
    fn from(number: u64) -> Cell {
        Cell::Whole(i64::try_from(number).unwrap_or(i64::MAX))
    }
}
impl From<usize> for Cell {
    fn from(number: usize) -> Cell {
        Cell::Whole(i64::try_from(number).unwrap_or(i64::MAX))
    }
}
impl From<f64> for Cell {
    fn from(number: f64) -> Cell {
        Cell::Decimal(number)
    }
}
impl From<bool> for Cell {
    fn from(flag: bool) -> Cell {
        Cell::Flag(flag)
    }
}
impl From<When> for Cell {
    fn from(when: When) -> Cell {
        Cell::When(when.0)
    }
}

/// A moment that is written as RFC 3339 in JSON.
#[derive(Clone, Copy, Debug)]
pub struct When(pub Moment);

impl Serialize for When {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_is_a_formula_in_a_spreadsheet() {
        for text in ["=1+1", "+1", "-1", "@sum", "\tx", "\rx"] {
            assert_eq!(Cell::from(text).in_spreadsheet(), format!("'{text}"));
        }
        assert_eq!(Cell::from("M24 = good").in_spreadsheet(), "M24 = good");
        assert_eq!(Cell::from(-5_i64).in_spreadsheet(), "-5");
        assert_eq!(Cell::from(-0.5).in_spreadsheet(), "-0.5");
    }

    #[test]
    fn people_are_told_litres_and_programs_microlitres() {
        let cell = Cell::from(Volume::from_ul(1_749_999));
        assert_eq!([cell.in_table(), cell.on_card(), cell.in_spreadsheet()], ["1.7", "1.7 L", "1749999"]);
    }

    #[test]
    fn people_are_told_grams_and_millilitres_of_what_is_added() {
        let cells = [Cell::from(Mass::from_ug(7_812_500)), Cell::Measured(Volume::from_ul(78_125))];
        assert_eq!(cells.clone().map(|cell| cell.on_card()), ["7.81 g", "78.1 mL"]);
        assert_eq!(cells.clone().map(|cell| cell.in_table()), ["7.81", "78.1"]);
        assert_eq!(cells.map(|cell| cell.in_spreadsheet()), ["7812500", "78125"]);
    }

    #[test]
    fn nothing_that_moves_a_cursor_reaches_the_screen() {
        assert_eq!(Cell::from("a\u{1b}[2J\u{202e}\n").in_table(), "a·[2J··");
    }
}
