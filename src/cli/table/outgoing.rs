//! A spreadsheet going out, as whoever reads it writes amounts and dates: in their unit, with their decimal sign, by the clock on the wall. A
//! heading says the unit (`volume_l`, `volume_gal`, `amount_g`). No text can be taken for a formula, whichever sign parts the
//! cells: every one stands in quotation marks, and numbers stand bare.

use std::io::{self, Write};

use chrono::NaiveDate;

use super::cell::Cell;
use super::column::{Column, Find};
use crate::cellar::core::label::{harmless_json, harmless_lines};
use crate::cellar::core::moment::Moment;
use crate::import::guard::guarded;
use crate::units::{Customary, DateForm, DecimalMark, Mass, Volume, VolumeUnit, customary};

/// How amounts and dates are written.
#[derive(Clone, Copy, Debug)]
pub struct Manner {
    /// The unit of volumes.
    unit: VolumeUnit,
    /// The decimal sign, which decides what parts the cells.
    mark: DecimalMark,
    /// How dates are written.
    dates: DateForm,
    /// Whether nothing is rounded; otherwise litres to the millilitre.
    exact: bool,
}

impl Manner {
    /// As is customary here. Where nobody said how dates are written, the year comes first, which every program reads alike.
    #[must_use]
    pub fn customary() -> Manner {
        Manner::of(customary())
    }

    fn of(customary: Customary) -> Manner {
        let unit = match customary.volume {
            VolumeUnit::UsGallon => VolumeUnit::UsGallon,
            _ => VolumeUnit::Litre,
        };
        let dates = customary.dates.unwrap_or(DateForm::YearFirst);
        Manner { unit, mark: customary.decimal, dates, exact: false }
    }

    /// The same, but so that it can be taken in again as it was: nothing is rounded, and no date could be another day.
    #[must_use]
    pub const fn exact(self) -> Manner {
        Manner { dates: DateForm::YearFirst, exact: true, ..self }
    }

    /// What parts two cells.
    #[must_use]
    pub const fn delimiter(self) -> &'static str {
        match self.mark {
            DecimalMark::Point => ",",
            DecimalMark::Comma => ";",
        }
    }

    /// The heading of a field: its name, with the unit that its figures are in.
    #[must_use]
    pub fn heading(self, name: &str) -> String {
        let symbol = self.unit.symbol();
        match (name.strip_suffix("_ul"), name.strip_suffix("_ug")) {
            // As a list that comes in is headed.
            (Some(name), _) if self.exact => format!("{} ({symbol})", name.replace('_', " ")),
            (_, Some(name)) if self.exact => format!("{} (g)", name.replace('_', " ")),
            _ if self.exact => match name {
                "at" => "date".to_owned(),
                // In a list of tastes that comes in a note is a score.
                "note" => "remark".to_owned(),
                "ta_g_l" => "ta (g/L tartaric)".to_owned(),
                "va_g_l" => "va (g/L acetic)".to_owned(),
                name => name.to_owned(),
            },
            (Some(name), _) => format!("{name}_{}", symbol.to_lowercase()),
            (_, Some(name)) => format!("{name}_g"),
            _ => name.to_owned(),
        }
    }

    /// A cell below the heading of a field, as it stands in the file.
    #[must_use]
    pub fn cell(self, name: &str, cell: &Cell) -> String {
        match cell {
            Cell::Text(_) | Cell::Word(_) | Cell::List(_) | Cell::Thing(_) | Cell::Form(_) => {
                quoted(&self.harmless(&guarded(self.bare(cell))))
            }
            Cell::Whole(microlitres) if name.ends_with("_ul") => {
                let sign = if *microlitres < 0 { "-" } else { "" };
                let volume = self.volume(Volume::from_ul(microlitres.unsigned_abs()), self.exact);
                if volume == "0" { volume } else { format!("{sign}{volume}") }
            }
            other => self.bare(other),
        }
    }

    /// As it is written, without what guards it.
    fn bare(self, cell: &Cell) -> String {
        match cell {
            Cell::Nothing => String::new(),
            Cell::Text(text) | Cell::Word(text) => text.clone(),
            Cell::List(values) => values.iter().map(|value| self.bare(value)).collect::<Vec<_>>().join(", "),
            Cell::Thing(_) | Cell::Form(_) => harmless_json(&serde_json::to_string(cell).unwrap_or_default()),
            Cell::Volume(volume) | Cell::Fine(volume) | Cell::Estimate(volume, _) => self.volume(*volume, self.exact),
            // What is measured out in a glass or by a syringe is smaller than a millilitre.
            Cell::Measured(volume) => self.volume(*volume, true),
            Cell::Mass(mass) => self.mass(*mass),
            Cell::Whole(number) => number.to_string(),
            Cell::Decimal(number) | Cell::Share(number) => self.mark.written(&self.told_apart(number.to_string())),
            Cell::Flag(flag) => flag.to_string(),
            Cell::When(moment) => self.moment(*moment),
            Cell::Day(day) => self.date(day.date()),
        }
    }

    /// Litres to a thousandth; exactly to the microlitre, for which a gallon needs a decimal more.
    fn volume(self, volume: Volume, exact: bool) -> String {
        let decimals = match (exact, self.unit) {
            (true, VolumeUnit::UsGallon) => 7,
            (true, _) => 6,
            (false, VolumeUnit::UsGallon) => 4,
            (false, _) => 3,
        };
        self.without_noughts(&volume.show_number(self.unit, decimals))
    }

    fn mass(self, mass: Mass) -> String {
        self.without_noughts(&mass.show_number(6))
    }

    fn without_noughts(self, number: &str) -> String {
        self.mark.written(&self.told_apart(number.trim_end_matches('0').trim_end_matches('.').to_owned()))
    }

    /// A number that is taken in again: three decimals could be thousands (`1.125`), four could not.
    fn told_apart(self, number: String) -> String {
        let is_odd = self.exact && number.split_once('.').is_some_and(|(_, decimals)| decimals.len() == 3);
        if is_odd { number + "0" } else { number }
    }

    /// Words with nothing unseen in them; those that are taken in again keep their tabulators.
    fn harmless(self, text: &str) -> String {
        if self.exact {
            text.split('\t').map(harmless_lines).collect::<Vec<_>>().join("\t")
        } else {
            harmless_lines(text)
        }
    }

    fn date(self, date: NaiveDate) -> String {
        date.format(self.dates.in_figures()).to_string()
    }

    /// The day and the time as the clock on the wall there showed them.
    fn moment(self, moment: Moment) -> String {
        let time = moment.wall_time().format(if self.exact { "%H:%M:%S" } else { "%H:%M" });
        format!("{} {time}", self.date(moment.date()))
    }

    /// Writes things, a line each below a head.
    pub fn write<T>(self, out: &mut dyn Write, columns: &[Column<T>], rows: &[T]) -> io::Result<()> {
        let columns: Vec<(&str, Find<T>)> =
            columns.iter().filter_map(|column| Some((column.in_spreadsheet()?, column.cell))).collect();
        self.line(out, columns.iter().map(|(name, _)| self.heading(name)))?;
        for row in rows {
            self.line(out, columns.iter().map(|(name, cell)| self.cell(name, &cell(row))))?;
        }
        Ok(())
    }

    /// Writes a line of cells.
    fn line(self, out: &mut dyn Write, cells: impl Iterator<Item = String>) -> io::Result<()> {
        let mut before = "";
        for cell in cells {
            write!(out, "{before}{cell}")?;
            before = self.delimiter();
        }
        writeln!(out)
    }
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cellar::core::label::harmless;

    const POINT: Customary = Customary { volume: VolumeUnit::Litre, dates: None, decimal: DecimalMark::Point };
    const FRENCH: Customary =
        Customary { dates: Some(DateForm::DayFirst), decimal: DecimalMark::Comma, volume: VolumeUnit::Hectolitre };
    const AMERICAN: Customary = Customary { dates: Some(DateForm::MonthFirst), volume: VolumeUnit::UsGallon, ..POINT };

    fn written(customary: Customary, name: &str, cell: impl Into<Cell>) -> String {
        Manner::of(customary).cell(name, &cell.into())
    }

    #[test]
    fn no_text_is_a_formula_whichever_sign_parts_the_cells() {
        for text in ["=1+1", "+1", "-1", "@sum", "\tx", "\rx"] {
            assert_eq!(written(POINT, "lot", text), format!("\"'{}\"", harmless(text)));
        }
        assert_eq!(written(FRENCH, "lot", "a;=2"), "\"a;=2\"");
        assert_eq!(written(POINT, "lot", "M24 \"good\""), "\"M24 \"\"good\"\"\"");
        assert_eq!([written(POINT, "n", -5_i64), written(POINT, "n", -0.5)], ["-5", "-0.5"]);
    }

    #[test]
    fn amounts_are_in_the_readers_unit_and_the_heading_says_it() {
        let volume = Volume::from_ul(1_749_999);
        let told = |customary| (Manner::of(customary).heading("volume_ul"), written(customary, "volume_ul", volume));
        assert_eq!(told(POINT), ("volume_l".to_owned(), "1.75".to_owned()));
        assert_eq!(told(FRENCH), ("volume_l".to_owned(), "1,75".to_owned()));
        assert_eq!(told(AMERICAN), ("volume_gal".to_owned(), "0.4623".to_owned()));
        assert_eq!(Manner::of(POINT).exact().cell("volume_ul", &volume.into()), "1.749999");
        assert_eq!(written(FRENCH, "amount_ug", Mass::from_ug(7_812_500)), "7,8125");
        assert_eq!([written(POINT, "gain_ul", -1_500_000_i64), written(POINT, "gain_ul", -1_i64)], ["-1.5", "0"]);
        assert_eq!(written(POINT, "glass_ul", Cell::Measured(Volume::from_ul(78_125))), "0.078125");
    }

    #[test]
    fn dates_are_the_walls_in_the_readers_form() {
        let moment = Moment::parse("2026-11-07T23:30:05+01:00").unwrap();
        let told = [POINT, FRENCH, AMERICAN].map(|customary| written(customary, "at", moment));
        assert_eq!(told, ["2026-11-07 23:30", "07/11/2026 23:30", "11/07/2026 23:30"]);
        assert_eq!(Manner::of(FRENCH).exact().cell("at", &moment.into()), "2026-11-07 23:30:05");
    }
}
