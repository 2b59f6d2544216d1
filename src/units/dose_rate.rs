//! How much of something goes into how much wine: grams a litre, and as other cellars write it.

use thiserror::Error;

use super::{ParseDecimalError, figure, parse_decimal};

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
fn three_figures(number: f64) -> f64 {
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
}

/// Ounces in a pound.
const OUNCES: f64 = 16.0;

/// Reads a dose as a person writes it, in grams a litre: `0.5 g/L`, `500 mg/L`, `500 ppm`, `50 g/hL`, `4.2 lb/1000gal`,
/// `67 oz/1000gal`. A bare number is grams a litre; a part of a million is a milligram a litre, since a litre of wine weighs a
/// kilogram to within a hundredth.
pub fn parse_dose(text: &str) -> Result<f64, ParseDoseError> {
    let text = text.trim();
    let (number, unit) = text.split_at(text.find(char::is_alphabetic).unwrap_or(text.len()));
    let unit: String = unit.to_lowercase().replace(',', "").replace("gallons", "gal").split_whitespace().collect();
    let grams_a_litre = match unit.as_str() {
        "" | "g/l" => 1.0,
        "mg/l" | "ppm" => 1e-3,
        "g/hl" => 1e-2,
        "lb/1000gal" | "lbs/1000gal" => POUND_IN_1000_GALLONS_G_L,
        "oz/1000gal" => POUND_IN_1000_GALLONS_G_L / OUNCES,
        _ => return Err(ParseDoseError::Unit(unit.chars().take(20).filter(|it| !it.is_control()).collect())),
    };
    Ok(parse_decimal(number.trim())? * grams_a_litre)
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

    proptest! {
        #[test]
        fn pounds_are_read_back(grams in 0.0_f64..100.0) {
            let text = format!("{} lb/1000gal", pounds_in_1000_gallons(grams));
            prop_assert!((parse_dose(&text).unwrap() - grams).abs() < 1e-9);
        }

        #[test]
        fn no_text_breaks_the_reader(text in "\\PC{0,30}") {
            let _ = parse_dose(&text);
        }
    }
}
