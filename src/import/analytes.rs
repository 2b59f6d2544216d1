//! A number of a laboratory in the unit in which it is kept.

use super::fields::TESTS;
use super::heading::{Names, unit_in};
use crate::cellar::core::label::harmless;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::jobs::tests::testing::declared::AnalyteDeclared;
use crate::reckon::acid_unit::AcidUnit;
use crate::reckon::material::plain;
use crate::spreadsheet::number::{DecimalSign, number_of, plain as plain_number};

/// What a laboratory writes where it gives no number, plainly.
const NO_NUMBER: [&str; 30] = [
    "nd",
    "nn",
    "nb",
    "ng",
    "tr",
    "trace",
    "traces",
    "traza",
    "trazas",
    "traccia",
    "tracce",
    "spur",
    "spuren",
    "lq",
    "loq",
    "lod",
    "ld",
    "bdl",
    "bql",
    "notdetected",
    "notdetectable",
    "nondetecte",
    "nondetectable",
    "nodetectado",
    "nonrilevato",
    "nonrilevabile",
    "nichtnachweisbar",
    "nichtbestimmt",
    "inflq",
    "supl",
];
/// Milligrams of a solution in a kilogram of it are taken for milligrams in a litre: wine weighs a litre a kilogram within
/// a hundredth.
const GRAMS_IN_A_LITRE: [(&str, f64); 15] = [
    ("gl", 1.0),
    ("gl1", 1.0),
    ("g", 1.0),
    ("ghl", 0.01),
    ("mgl", 1e-3),
    ("mgl1", 1e-3),
    ("mg", 1e-3),
    ("ppm", 1e-3),
    ("µgl", 1e-6),
    ("μgl", 1e-6),
    ("ugl", 1e-6),
    ("µgl1", 1e-6),
    ("ppb", 1e-6),
    ("ngl", 1e-9),
    ("g100ml", 10.0),
];
/// A figure is turned into another unit to a thousandth: no laboratory tells more.
const THOUSAND: f64 = 1_000.0;

/// What a laboratory calls so, or a person in a hurry: `free`, `TA`, `SO2 T`, `acidez total`.
#[must_use]
pub fn called(name: &str) -> Option<Analyte> {
    if plain(name) == "total" {
        return Some(Analyte::TotalSo2);
    }
    let field = Names::of(&TESTS).field(name)?;
    Analyte::ALL.into_iter().find(|analyte| analyte.field() == field.name)
}

/// Whether a cell says that there is no number: above what can be told, about so much, or nothing found.
#[must_use]
pub fn is_no_number(words: &str) -> bool {
    let is_signed = words.starts_with(['<', '>', '≤', '≥', '~']);
    (is_signed && bound(words).is_none()) || NO_NUMBER.contains(&plain(words).as_str())
}

/// The bound below which a laboratory can tell nothing, where it says no more than that: `<0.1`, `≤ 0,05 g/L`.
#[must_use]
pub fn bound(words: &str) -> Option<&str> {
    let bound = words.trim().strip_prefix(['<', '≤'])?.trim_start();
    bound.starts_with(|sign: char| sign.is_ascii_digit()).then_some(bound)
}

/// Whether a wine may have so little of it that a laboratory finds none.
#[must_use]
pub const fn may_be_below(analyte: Analyte) -> bool {
    !matches!(analyte, Analyte::Ph | Analyte::Alcohol | Analyte::Temperature)
}

/// A figure as it is kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// The number.
    pub value: f64,
    /// What was written where the laboratory found less than it can tell: the bound is kept as the number, and these words beside it.
    pub below: Option<String>,
}

/// The words beside such a bound: `malic acid <0.1`.
#[must_use]
pub fn below_words(name: &str, written: &str) -> String {
    format!("{name} {}", harmless(written.trim()))
}

/// Whether it is not known as which acid a figure is given that one hand wrote: neither it nor the house says so.
#[must_use]
pub fn is_acid_open(analyte: Analyte, text: &str, house: Option<AcidUnit>) -> bool {
    let beside = || number_of(bound(text).unwrap_or(text)).1;
    let is_said = || AcidUnit::said(beside()).is_some() || unit_in(beside()).is_some_and(|unit| is_equivalents(&unit));
    house.is_none() && analyte.own_acid().is_some() && !is_said()
}

/// Whether a unit is milliequivalents a litre, of which no acid is said.
#[must_use]
pub fn is_equivalents(unit: &str) -> bool {
    unit == "meql" || unit == "mvall"
}

/// What one hand wrote, as it is kept, where an acidity is given as one acid or as its own: `3,52`, `450 µg/L`, `3.5 g/L H2SO4`.
pub fn written(analyte: Analyte, text: &str, acid: Option<AcidUnit>) -> Result<Figure, String> {
    let (number, beside) = figure(analyte.name(), text, may_be_below(analyte))?;
    let acid = AcidUnit::said(beside).or(analyte.given_as(acid));
    let below = bound(text).map(|_| below_words(analyte.name(), text));
    Ok(Figure { value: kept(analyte, number, beside, acid)?, below })
}

/// The same of something that the house declares.
pub fn written_of_house(house: &AnalyteDeclared, text: &str) -> Result<Figure, String> {
    let (number, beside) = figure(house.analyte.as_str(), text, true)?;
    let below = bound(text).map(|_| below_words(house.analyte.as_str(), text));
    Ok(Figure { value: kept_by_house(house.unit.as_str(), number, beside)?, below })
}

/// A number and what stands behind it, where one hand wrote both: a comma alone is a decimal one.
fn figure<'t>(name: &str, text: &'t str, may_be_below: bool) -> Result<(f64, &'t str), String> {
    let refused = || format!("'{}' of {} is no number", harmless(text), harmless(name));
    let below = bound(text);
    if is_no_number(text) || (below.is_some() && !may_be_below) {
        return Err(refused());
    }
    let text = below.unwrap_or(text);
    let (number, beside) = number_of(text);
    let sign = if number.contains(',') && !number.contains('.') { DecimalSign::Comma } else { DecimalSign::Point };
    let number = plain_number(number, sign).and_then(|figures| figures.parse::<f64>().ok());
    number.filter(|number| number.is_finite()).map(|number| (number, beside)).ok_or_else(refused)
}

/// A number as it is kept: `beside` is what stands behind it or in the head of its column, `acid` as which an acidity is given.
pub fn kept(analyte: Analyte, number: f64, beside: &str, acid: Option<AcidUnit>) -> Result<f64, String> {
    let unknown = |unit: &str| {
        let usual = if analyte.unit().is_empty() { "no unit" } else { analyte.unit() };
        format!("'{unit}' is no unit of {} that is known here; it is kept in {usual}", analyte.name())
    };
    let unit = unit_in(beside);
    let factor = match (unit.as_deref(), analyte.own_acid()) {
        (None, None) => 1.0,
        (Some(unit), Some(own)) if is_equivalents(unit) => own.equivalent_grams() / AcidUnit::Meq.equivalent_grams(),
        (Some(_), Some(_)) if acid == Some(AcidUnit::Meq) => {
            return Err(format!(
                "'{beside}' says not as which acid, and here acidities are given in meq/L; write g/L tartaric, g/L H2SO4 or the like"
            ));
        }
        (unit, own) => {
            let by_unit = match unit {
                None => 1.0,
                Some(unit) if is_its(analyte, unit) => 1.0,
                Some(unit) => between(unit, analyte.unit()).ok_or_else(|| unknown(beside))?,
            };
            let by_acid = own.zip(acid).map_or(1.0, |(own, acid)| own.equivalent_grams() / acid.equivalent_grams());
            by_unit * by_acid
        }
    };
    Ok(turned(number, factor))
}

/// A number of something that the house declares, in its unit.
pub fn kept_by_house(unit: &str, number: f64, beside: &str) -> Result<f64, String> {
    let said = unit_in(beside);
    let factor = match said.as_deref() {
        None => 1.0,
        Some(said) if said == plain(unit) => 1.0,
        Some(said) => {
            between(said, unit).ok_or_else(|| format!("'{beside}' is not {unit}, in which it is given here"))?
        }
    };
    Ok(turned(number, factor))
}

fn turned(number: f64, factor: f64) -> f64 {
    if (factor - 1.0).abs() < f64::EPSILON { number } else { (number * factor * THOUSAND).round() / THOUSAND }
}

/// Whether a unit is no other than that of an analyte.
fn is_its(analyte: Analyte, unit: &str) -> bool {
    match analyte {
        Analyte::Ph => unit == "units" || unit == "unites",
        Analyte::Alcohol => ["vol", "pct", "volpct", "pctvol"].contains(&unit),
        Analyte::Turbidity => ["ntu", "fnu"].contains(&unit),
        Analyte::Temperature => ["c", "celsius"].contains(&unit),
        _ => false,
    }
}

/// By how much a number of one unit is multiplied to be of another; none where they measure no weights in a litre.
fn between(from: &str, to: &str) -> Option<f64> {
    let grams = |unit: &str| {
        let unit = plain(unit);
        GRAMS_IN_A_LITRE.iter().find(|(name, _)| *name == unit).map(|(_, grams)| *grams)
    };
    Some(grams(from)? / grams(to)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 5.36 g/L as tartaric are 3.5 g/L as sulfuric acid: OIV-MA-AS313-01 has 0.075 and 0.049 g a milliequivalent.
    #[test]
    fn a_number_is_kept_in_its_unit_and_by_its_acid() {
        use AcidUnit::{Sulfuric, Tartaric};
        let kept = |analyte, number, beside: &str, acid| kept(analyte, number, beside, acid).unwrap();
        for (analyte, number, beside, acid, expected) in [
            (Analyte::FreeSo2, 24.0, "mg/L", None, 24.0),
            (Analyte::FreeSo2, 0.024, "g/L", None, 24.0),
            (Analyte::FreeSo2, 2.4, "g/hL", None, 24.0),
            (Analyte::TitratableAcidity, 5.4, "g/L", Some(Tartaric), 5.4),
            (Analyte::TitratableAcidity, 3.5, "g/L H2SO4", Some(Sulfuric), 5.357),
            (Analyte::VolatileAcidity, 0.35, "", Some(Sulfuric), 0.429),
            (Analyte::TitratableAcidity, 72.0, "meq/L", None, 5.4),
            (Analyte::TitratableAcidity, 72.0, "", Some(AcidUnit::Meq), 5.4),
            (Analyte::VolatileAcidity, 18.0, "", Some(AcidUnit::Meq), 1.08),
            (Analyte::Malic, 120.0, "mg/L", None, 0.12),
            (Analyte::Alcohol, 13.2, "% vol", None, 13.2),
        ] {
            assert!((kept(analyte, number, beside, acid) - expected).abs() < 1e-9, "{number} {beside}");
        }
        assert_eq!(
            super::kept(Analyte::FreeSo2, 24.0, "mL", None).unwrap_err(),
            "'mL' is no unit of free SO2 that is known here; it is kept in mg/L"
        );
        assert!(super::kept(Analyte::VolatileAcidity, 0.4, "g/L", Some(AcidUnit::Meq)).is_err());
        for (text, open) in
            [("0.35", true), ("0.35 g/L", true), ("0.35 H2SO4", false), ("7.1 meq/L", false), ("<0.1", true)]
        {
            assert_eq!(is_acid_open(Analyte::VolatileAcidity, text, None), open, "{text}");
            assert!(
                !is_acid_open(Analyte::VolatileAcidity, text, Some(Tartaric)) && !is_acid_open(Analyte::Ph, text, None)
            );
        }
        assert!((kept_by_house("µg/L", 0.4, "mg/L").unwrap() - 400.0).abs() < 1e-9);
        assert!(kept_by_house("µg/L", 0.4, "NTU").is_err());
    }

    #[test]
    fn what_is_no_number_is_none() {
        for words in ["<", "> 200", "n.d.", "tr", "Traces", "nicht nachweisbar", "< LQ", "non détecté"] {
            assert!(is_no_number(words), "{words}");
        }
        for words in ["0.1", "<0.1", "≤ 0,05", "-", "3,52", "next week"] {
            assert!(!is_no_number(words), "{words}");
        }
    }
}
