//! How much of something goes into how much wine: grams a litre, and as other cellars write it.

use thiserror::Error;

use super::{Mass, ParseDecimalError, ParseMassError, ParseVolumeError, Volume, VolumeUnit, figure, parse_decimal};

/// Grams in a pound, exact (NIST SP 811).
const POUND_G: f64 = 453.592_37;
/// Litres in a United States gallon, exact (231 cubic inches).
const GALLON_L: f64 = 3.785_411_784;

/// Grams a litre in a pound in 1,000 United States gallons.
const POUND_IN_1000_GALLONS_G_L: f64 = POUND_G / (1_000.0 * GALLON_L);

/// Grams a litre as pounds in 1,000 United States gallons, in which 27 CFR 24.246 states its limits.
#[must_use]
pub fn pounds_in_1000_gallons(grams_a_litre: f64) -> f64 {
    grams_a_litre / POUND_IN_1000_GALLONS_G_L
}

/// A dose as it is said, to three figures: `0.5 g/L`, `6 mg/L`, `0.6 mg/L`.
#[must_use]
pub fn said_dose(grams_a_litre: f64) -> String {
    if grams_a_litre > 0.0 && grams_a_litre < 0.009_995 {
        format!("{} mg/L", figure(three_figures(grams_a_litre * 1e3)))
    } else {
        format!("{} g/L", figure(three_figures(grams_a_litre)))
    }
}

/// A number to three figures, without noughts at its end.
#[must_use]
pub fn three_figures(number: f64) -> f64 {
    if !number.is_finite() || number == 0.0 {
        return 0.0;
    }
    let scale = 10_f64.powf(2.0 - number.abs().log10().floor());
    (number * scale).round() / scale
}

/// Why a text is no dose.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ParseDoseError {
    /// The number cannot be read.
    #[error(transparent)]
    Number(#[from] ParseDecimalError),
    /// The unit is not known.
    #[error("The unit '{0}' is not known. Write g/L, mg/L, ppm, g/hL, lb/1000gal or oz/1000gal.")]
    Unit(String),
    /// It is a dose of a liquid, where a weight is wanted.
    #[error(
        "A dose by volume ({0}) is of a liquid. Write it by weight: g/L, mg/L, ppm, g/hL, lb/1000gal or oz/1000gal."
    )]
    ByVolume(String),
}

/// Ounces in a pound.
const OUNCES: f64 = 16.0;
/// Fluid ounces in a United States gallon.
const FLUID_OUNCES: f64 = 128.0;

/// Doses by weight, as grams a litre.
const BY_WEIGHT: [(&str, f64); 9] = [
    ("g/l", 1.0),
    ("mg/l", 1e-3),
    ("ppm", 1e-3),
    ("g/hl", 1e-2),
    ("mg/hl", 1e-5),
    ("kg/hl", 10.0),
    ("lb/1000gal", POUND_IN_1000_GALLONS_G_L),
    ("lbs/1000gal", POUND_IN_1000_GALLONS_G_L),
    ("oz/1000gal", POUND_IN_1000_GALLONS_G_L / OUNCES),
];
/// Doses by volume, as litres a litre.
const BY_VOLUME: [(&str, f64); 5] =
    [("ml/l", 1e-3), ("ml/hl", 1e-5), ("l/hl", 1e-2), ("gal/1000gal", 1e-3), ("floz/1000gal", 1e-3 / FLUID_OUNCES)];

/// Reads a dose as a person writes it, in grams a litre: `0.5 g/L`, `500 mg/L`, `500 ppm`, `50 g/hL`, `4.2 lb/1000gal`,
/// `67 oz/1000gal`. A bare number is grams a litre; a part of a million is a milligram a litre, since a litre of wine weighs a
/// kilogram to within a hundredth.
pub fn parse_dose(text: &str) -> Result<f64, ParseDoseError> {
    let (number, unit) = number_and_unit(text);
    let is_it = |(name, _): &&(&str, f64)| *name == unit;
    let said = || unit.chars().take(20).filter(|it| !it.is_control()).collect();
    let grams_a_litre = match BY_WEIGHT.iter().find(is_it) {
        Some((_, grams)) => *grams,
        None if unit.is_empty() => 1.0,
        None if BY_VOLUME.iter().any(|(name, _)| *name == unit) => return Err(ParseDoseError::ByVolume(said())),
        None => return Err(ParseDoseError::Unit(said())),
    };
    Ok(parse_decimal(number)? * grams_a_litre)
}

/// A number and the unit behind it, as plainly as units are compared.
fn number_and_unit(text: &str) -> (&str, String) {
    let text = text.trim();
    let (number, unit) = text.split_at(text.find(char::is_alphabetic).unwrap_or(text.len()));
    let unit = unit.to_lowercase().replace(',', "").replace(" per ", "/").replace("gallons", "gal");
    (number.trim(), unit.split_whitespace().collect())
}

/// How much of something is added, as a person says it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SaidAmount {
    /// A weight: `7.8 g`.
    Mass(Mass),
    /// A volume of a liquid: `50 mL`.
    Volume(Volume),
    /// Grams a litre of the wine: `30 g/hL`, `30 ppm`, `2 lb/1000 gal`.
    GramsALitre(f64),
    /// Litres of a liquid a litre of the wine: `25 mL/hL`.
    LitresALitre(f64),
}

/// Why a text is no amount of something to add.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ParseAmountError {
    /// The number before a dose cannot be read.
    #[error(transparent)]
    Number(#[from] ParseDecimalError),
    /// It is no weight.
    #[error(transparent)]
    Mass(ParseMassError),
    /// It is no volume.
    #[error(transparent)]
    Volume(#[from] ParseVolumeError),
    /// The unit is not one of ours.
    #[error("'{0}' is no unit of an amount. Write g, kg or mL, or a dose of the wine: g/hL, ppm, mL/hL, lb/1000 gal.")]
    Unit(String),
    /// Nothing has less than none.
    #[error("A dose cannot be less than nothing. Write it without a minus sign.")]
    Negative,
}

/// Reads how much of something is added: a weight, a volume, or a dose of the wine there. A bare number is grams.
pub fn parse_amount(text: &str) -> Result<SaidAmount, ParseAmountError> {
    let (number, unit) = number_and_unit(text);
    let of = |table: &[(&str, f64)]| table.iter().find(|(name, _)| *name == unit).map(|(_, size)| *size);
    let dose = |size: f64| {
        let number = parse_decimal(number)?;
        if number < 0.0 { Err(ParseAmountError::Negative) } else { Ok(number * size) }
    };
    if let Some(grams) = of(&BY_WEIGHT) {
        return Ok(SaidAmount::GramsALitre(dose(grams)?));
    }
    if let Some(litres) = of(&BY_VOLUME) {
        return Ok(SaidAmount::LitresALitre(dose(litres)?));
    }
    if VolumeUnit::parse(&unit).is_some() {
        return Ok(SaidAmount::Volume(Volume::parse(text, VolumeUnit::Litre)?));
    }
    Mass::parse(text).map(SaidAmount::Mass).map_err(|error| match error {
        ParseMassError::UnknownUnit(unit) => ParseAmountError::Unit(unit),
        error => ParseAmountError::Mass(error),
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// The pairs that 27 CFR 24.246 prints, to the printed digit.
    #[test]
    fn pairs_of_the_regulation() {
        for (pounds, grams, decimals) in [
            (2.0, 0.24, 2),
            (5.8, 0.7, 1),
            (10.0, 1.2, 1),
            (20.0, 2.4, 1),
            (25.0, 3.0, 1),
            (30.0, 3.59, 2),
            (60.0, 7.19, 2),
        ] {
            let found = parse_dose(&format!("{pounds} lb/1000gal")).unwrap();
            let scale = 10_f64.powi(decimals);
            assert!(((found * scale).round() / scale - grams).abs() < 1e-9, "{pounds} lb: {found}");
        }
    }

    /// One gram a litre is 8.345 pounds in 1,000 gallons; one pound there 0.119826 g/L and 11.98 g/hL.
    #[test]
    fn a_gram_a_litre_and_a_pound() {
        assert!((pounds_in_1000_gallons(1.0) - 8.345).abs() < 0.0005);
        assert!((parse_dose("1lb/1000 gal").unwrap() - 0.119_826).abs() < 5e-7);
        assert!((parse_dose("11,98 g/hL").unwrap() - 0.1198).abs() < 1e-12);
        assert!((parse_dose("500 mg/L").unwrap() - parse_dose("0.5").unwrap()).abs() < 1e-12);
        assert!((parse_dose("500 ppm").unwrap() - 0.5).abs() < 1e-12);
        // NIST SP 811: 453.59237 g in a pound of 16 ounces, 3.785411784 L in a gallon.
        assert!((parse_dose("16 oz/1,000 gal").unwrap() - parse_dose("1 lb/1000gal").unwrap()).abs() < 1e-12);
    }

    #[test]
    fn a_dose_is_said_to_three_figures() {
        let said = [7.19, 0.5, 0.010, 0.006, 0.000_6, 0.123_456, 12.34, 0.0, 450.0].map(said_dose);
        let wanted =
            ["7.19 g/L", "0.5 g/L", "0.01 g/L", "6 mg/L", "0.6 mg/L", "0.123 g/L", "12.3 g/L", "0 g/L", "450 g/L"];
        assert_eq!(said, wanted);
    }

    #[test]
    fn what_is_no_dose_is_said() {
        let told = parse_dose("3 oz/gal").unwrap_err().to_string();
        assert_eq!(told, "The unit 'oz/gal' is not known. Write g/L, mg/L, ppm, g/hL, lb/1000gal or oz/1000gal.");
        assert!(parse_dose("g/L").is_err() && parse_dose("").is_err());
    }

    /// 27 CFR 24.246 prints 1.5 gallons in 1,000 gallons as 1.5 L in 1000 L; 128 fluid ounces are a gallon.
    #[test]
    fn an_amount_is_a_weight_a_volume_or_a_dose() {
        use SaidAmount::{GramsALitre, LitresALitre};
        let close = |text: &str, grams: bool, expected: f64| {
            let found = match parse_amount(text).unwrap() {
                GramsALitre(found) if grams => found,
                LitresALitre(found) if !grams => found,
                other => panic!("{text}: {other:?}"),
            };
            assert!((found - expected).abs() < 5e-7, "{text}: {found}");
        };
        close("30 g/hL", true, 0.3);
        close("30ppm", true, 0.03);
        close("60 mg/hL", true, 0.000_6);
        close("2 lb/1000 gal", true, 0.239_653);
        close("2 lbs per 1,000 gallons", true, 0.239_653);
        close("1 oz/1000 gal", true, 0.007_489);
        close("25 mL/hL", false, 0.000_25);
        close("1,5 gal/1000gal", false, 0.001_5);
        close("128 fl oz/1000 gal", false, 0.001);
        assert_eq!(parse_amount("7.8 g"), Ok(SaidAmount::Mass(Mass::from_mg(7_800))));
        assert_eq!(parse_amount("5"), Ok(SaidAmount::Mass(Mass::from_grams(5))));
        assert_eq!(parse_amount("50 mL"), Ok(SaidAmount::Volume(Volume::from_ml(50))));
        assert_eq!(parse_amount("-3 g/hL"), Err(ParseAmountError::Negative));
        let told = parse_amount("3 sacks").unwrap_err().to_string();
        assert!(told.starts_with("'sacks' is no unit of an amount."), "{told}");
        let told = parse_dose("25 mL/hL").unwrap_err().to_string();
        assert!(told.starts_with("A dose by volume (ml/hl) is of a liquid."), "{told}");
    }

    proptest! {
        #[test]
        fn pounds_are_read_back(grams in 0.0_f64..100.0) {
            let text = format!("{} lb/1000gal", pounds_in_1000_gallons(grams));
            prop_assert!((parse_dose(&text).unwrap() - grams).abs() < 1e-9);
        }

        #[test]
        fn no_text_breaks_the_reader(text in "\\PC{0,30}") {
            let _ = parse_dose(&text);
            let _ = parse_amount(&text);
        }
    }
}
