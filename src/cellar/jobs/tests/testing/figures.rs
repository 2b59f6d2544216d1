//! What figures of a test can be meant, an analyte a row: beyond the outer bounds no wine reads so, and an act is refused; beyond the inner ones
//! it is so rare that it is asked once. Every door judges by this table: a test, a sheet of results, a spreadsheet, a recorded act.
//!
//! The outer bounds are our choice, wide. The inner ones lie beyond what laws leave where they limit it, else beyond common practice.

use super::Analyte;
use super::declared::AnalyteDeclared;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;

/// What a point that slipped by a place, and a unit of a thousand times more or less, make of a figure.
const SLIPS: [f64; 4] = [10.0, 0.1, 1_000.0, 0.001];
/// A figure that is meant in place of another is told to a millionth.
const MILLION: f64 = 1e6;
/// More than so many times the limit of a house is asked about (our choice).
const MANY_TIMES: f64 = 10.0;

/// What can be found of an analyte, in its unit.
struct Figures {
    /// Less or more is refused.
    possible: (f64, f64),
    /// Less, but for nothing at all, or more is asked about.
    found: (f64, f64),
    /// What is usual in wine.
    usual: (f64, f64),
}

impl Analyte {
    const fn figures(self) -> Figures {
        let (possible, found, usual) = match self {
            // Wines lie between 2.8 and 4.2 (common practice).
            Analyte::Ph => ((2.0, 5.5), (2.7, 4.4), (3.0, 4.0)),
            // No law leaves more total than 400 mg/L, to a few sweet wines (Regulation (EU) 2019/934, annex I B; OIV, annex C).
            Analyte::FreeSo2 => ((0.0, 500.0), (0.1, 100.0), (10.0, 50.0)),
            Analyte::TotalSo2 => ((0.0, 1_000.0), (0.1, 400.0), (20.0, 150.0)),
            // 3.5 g/L at least is wanted of a wine in the Union (Regulation (EU) 1308/2013, annex VII); musts reach 14 (common practice).
            Analyte::TitratableAcidity => ((0.0, 30.0), (2.0, 15.0), (4.0, 9.0)),
            // 20 milliequivalents, 1.2 g/L, are the limit of most wines (OIV, annex C); the sweetest are left more.
            Analyte::VolatileAcidity => ((0.0, 10.0), (0.005, 2.0), (0.2, 1.0)),
            // From the lightest sweet wine to a fortified one; a must that ferments is asked about (common practice).
            Analyte::Alcohol => ((0.0, 25.0), (4.0, 22.0), (10.0, 15.0)),
            Analyte::Malic => ((0.0, 20.0), (0.001, 10.0), (0.01, 5.0)),
            Analyte::Lactic => ((0.0, 20.0), (0.003, 7.0), (0.1, 3.0)),
            Analyte::Tartaric => ((0.0, 20.0), (0.01, 8.0), (1.0, 4.0)),
            Analyte::Potassium => ((0.0, 5_000.0), (50.0, 3_000.0), (500.0, 2_000.0)),
            Analyte::Sugar => ((0.0, 600.0), (0.005, 400.0), (0.1, f64::INFINITY)),
            // What went through a sterile filter has a tenth of a unit (common practice).
            Analyte::Turbidity => ((0.0, 10_000.0), (0.02, 2_000.0), (0.1, f64::INFINITY)),
            // Air saturates wine with about 8 mg/L at 20 °C, and with 14 near freezing (common practice).
            Analyte::Oxygen => ((0.0, 40.0), (0.001, 15.0), (0.01, 8.0)),
            Analyte::Temperature => ((-10.0, 50.0), (-5.0, 38.0), (5.0, 25.0)),
        };
        Figures { possible, found, usual }
    }

    /// What is usual, in words: `10 to 50 mg/L`.
    fn usual(self) -> String {
        match self.figures().usual {
            (least, most) if most.is_finite() => self.with_unit(format!("{least} to {most}")),
            (least, _) => format!("{} and more", self.with_unit(least)),
        }
    }

    /// What is meant in place of a figure by a slip of the point or of the unit, in words that ask for it; nothing where none of these is usual.
    fn meant(self, value: f64) -> String {
        let (least, most) = self.figures().usual;
        let slipped = SLIPS.iter().map(|slip| (value / slip * MILLION).round() / MILLION);
        // What is usual without an end tells nothing of a figure below it.
        let meant = slipped.into_iter().find(|it| most.is_finite() && (least..=most).contains(it));
        meant.map_or_else(String::new, |meant| format!(" Perhaps {} is meant.", self.with_unit(meant)))
    }

    /// Why nobody finds so much or so little, if so.
    pub(super) fn refused(self, value: f64) -> Option<Refusal> {
        let (least, most) = self.figures().possible;
        let is_possible = (least..=most).contains(&value);
        (!is_possible).then(|| Refusal::FoundInNoWine { analyte: self, value, least, most, meant: self.meant(value) })
    }

    /// What is asked of what is hardly ever found.
    pub(in crate::cellar) fn asked(self, value: f64) -> Option<Question> {
        let (least, most) = self.figures().found;
        let is_little = value < least && value != 0.0;
        let (usual, meant) = (self.usual(), self.meant(value));
        (is_little || value > most).then(|| Question::HardlyFound { what: self.name().to_owned(), value, usual, meant })
    }
}

impl AnalyteDeclared {
    /// What is asked of much more than the house wants of something that it declares.
    pub(super) fn asked(&self, value: f64) -> Option<Question> {
        let limit = self.limit().filter(|limit| *limit > 0.0 && value > limit * MANY_TIMES)?;
        let usual = format!("at most {limit} {}", self.unit);
        Some(Question::HardlyFound { what: self.analyte.to_string(), value, usual, meant: String::new() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is usual is never asked about, and what is asked about can be so.
    #[test]
    fn every_analyte_has_bounds_one_within_the_other() {
        for analyte in Analyte::ALL {
            let Figures { possible, found, usual } = analyte.figures();
            assert!(possible.0 <= found.0 && found.0 < usual.0 && usual.0 < usual.1, "{analyte:?}");
            assert!(found.1 < possible.1 && (usual.1 <= found.1 || usual.1.is_infinite()), "{analyte:?}");
            assert!(analyte.asked(0.0).is_none() || analyte == Analyte::Ph, "{analyte:?}");
        }
    }

    #[test]
    fn a_slip_of_the_point_or_of_the_unit_is_told() {
        let asked = |analyte: Analyte, value| analyte.asked(value).map(|question| question.to_string());
        for (analyte, value, told) in [
            (
                Analyte::FreeSo2,
                240.0,
                "free SO2 of 240 is hardly ever found: 10 to 50 mg/L is usual. Perhaps 24 mg/L is meant.",
            ),
            (Analyte::TitratableAcidity, 0.54, "4 to 9 g/L is usual. Perhaps 5.4 g/L is meant."),
            (Analyte::Alcohol, 1.35, "Perhaps 13.5 % vol is meant."),
            (Analyte::VolatileAcidity, 5.5, "Perhaps 0.55 g/L is meant."),
            (Analyte::FreeSo2, 0.024, "Perhaps 24 mg/L is meant."),
        ] {
            let question = asked(analyte, value).unwrap_or_default();
            assert!(question.ends_with(told), "{question}");
        }
        assert_eq!(asked(Analyte::FreeSo2, 24.0), None);
        let refused = Analyte::Malic.refused(120.0).unwrap().to_string();
        assert_eq!(
            refused,
            "malic acid of 120 is out of range. It must lie between 0 and 20 g/L. Perhaps 0.12 g/L is meant."
        );
        assert_eq!(
            Analyte::Ph.refused(352.0).unwrap().to_string(),
            "pH of 352 is out of range. It must lie between 2 and 5.5."
        );
    }
}
