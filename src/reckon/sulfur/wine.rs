//! What the balance of sulfur dioxide hangs on, what can be believed of it, and the sentences for what cannot.

use thiserror::Error;

/// A pH of wine, with room on both sides of what is met (about 2.8 to 4.2; the plain table prints 3.0 to 4.0).
pub const PH: (f64, f64) = (2.5, 5.0);
/// Alcohol of wine, % vol, the strongest fortified ones included.
pub const ALCOHOL_PCT: (f64, f64) = (0.0, 25.0);
/// Temperature of wine that is neither frozen nor spoilt, °C; 40 is also where the OIV table ends.
pub const TEMPERATURE_C: (f64, f64) = (-5.0, 40.0);
/// Free or total sulfur dioxide of wine, mg/L: the largest legal total is 400 (OIV resolution OENO 9/98).
pub const SULFUR_DIOXIDE_MG_L: (f64, f64) = (0.0, 1_000.0);
/// A target of molecular sulfur dioxide, mg/L: 0.5 to 0.8 are usual, and from 2 on it is smelt (common practice).
pub const MOLECULAR_MG_L: (f64, f64) = (0.0, 10.0);

/// A wine as far as it changes how much of the free sulfur dioxide is molecular.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wine {
    /// Its pH.
    pub ph: f64,
    /// Its alcohol, % vol; the plain table does not ask for it.
    pub alcohol_pct: Option<f64>,
    /// Its temperature, °C; the plain table does not ask for it.
    pub temperature_c: Option<f64>,
}

/// Why nothing can be said of a wine's sulfur dioxide.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum SulfurError {
    /// The pH is no pH of wine.
    #[error("A pH of {0} is out of range for wine. Give it like 3.6, from 2.5 to 5.")]
    Ph(f64),
    /// The alcohol is none of wine.
    #[error("Alcohol of {0} % vol is out of range for wine. Give % vol from 0 to 25.")]
    Alcohol(f64),
    /// The temperature is none of a cellar.
    #[error("A wine of {0} °C is out of range. Give °C from -5 to 40.")]
    Temperature(f64),
    /// Free sulfur dioxide that no wine holds.
    #[error("Free SO2 of {0} mg/L is out of range. Give mg/L from 0 to 1000.")]
    Free(f64),
    /// Total sulfur dioxide that no wine holds.
    #[error("Total SO2 of {0} mg/L is out of range. Give mg/L from 0 to 1000.")]
    Total(f64),
    /// More is free than there is.
    #[error(
        "Free SO2 of {free_mg_l} mg/L is above the total of {total_mg_l} mg/L. Check the two, or change them if they are mixed up."
    )]
    FreeAboveTotal {
        /// Free, mg/L.
        free_mg_l: f64,
        /// Total, mg/L.
        total_mg_l: f64,
    },
    /// A target or floor that no wine has.
    #[error("Molecular SO2 of {0} mg/L is out of range. Give mg/L from 0 to 10; 0.5 to 0.8 are usual.")]
    Molecular(f64),
    /// The OIV method without alcohol.
    #[error("The OIV method asks for the wine's alcohol. Give it, or take the plain table.")]
    NoAlcohol,
    /// The OIV method without temperature.
    #[error("The OIV method asks for the wine's temperature. Give it, or take the plain table.")]
    NoTemperature,
    /// Stronger than the OIV table.
    #[error("The OIV table ends at 20 % vol, and this wine has {0} % vol. Take the plain table.")]
    BeyondOivTable(f64),
    /// Nothing to add to.
    #[error("There is no wine to add to. Give the litres that are treated.")]
    NoVolume,
    /// A rise that is none or too large.
    #[error(
        "A rise of the total by {0:.1} mg/L is out of range. Give more than 0 and at most 400, which is the most that any wine may hold."
    )]
    Rise(f64),
    /// An addition in the past that no wine takes.
    #[error("An addition that raised free SO2 by {0} mg/L is out of range. Give mg/L from 0 to 1000.")]
    Addition(f64),
    /// A bound share that leaves nothing free, or is none.
    #[error("A bound share of {0} is out of range. Give a part of one from 0 to 0.9, like 0.33.")]
    BoundShare(f64),
    /// A solution that cannot be made.
    #[error(
        "A solution of {0} % is out of range. Give grams of metabisulfite in 100 mL from 0.1 to 40; more does not dissolve in the cold."
    )]
    Strength(f64),
    /// A solution that is sold nowhere.
    #[error(
        "A label of {0} g/L is out of range. Give grams of sulfur dioxide in a litre from 5 to 250: sulfurous acid of 5 % has 50."
    )]
    Label(f64),
    /// A tablet that nobody makes.
    #[error(
        "A tablet of {0} g is out of range. Give the grams of sulfur dioxide that its label says, from 0.1 to 50; 2 and 5 are usual."
    )]
    Tablet(f64),
    /// Nothing to forecast from.
    #[error("No free SO2 has been tested yet. Test it once, and a forecast can begin.")]
    NoTest,
    /// A day that is no number.
    #[error("A day of a test or an addition is not a number.")]
    Day,
}

/// A value within a range, or the error that says it is not.
pub(super) fn within(value: f64, range: (f64, f64), error: fn(f64) -> SulfurError) -> Result<f64, SulfurError> {
    if (range.0..=range.1).contains(&value) { Ok(value) } else { Err(error(value)) }
}

impl Wine {
    /// The wine, if all that is known of it can be believed.
    pub fn checked(self) -> Result<Wine, SulfurError> {
        within(self.ph, PH, SulfurError::Ph)?;
        self.alcohol_pct.map_or(Ok(0.0), |alcohol| within(alcohol, ALCOHOL_PCT, SulfurError::Alcohol))?;
        self.temperature_c.map_or(Ok(0.0), |degrees| within(degrees, TEMPERATURE_C, SulfurError::Temperature))?;
        Ok(self)
    }
}

/// Checks what a test found of free and total sulfur dioxide, mg/L: each in range, and no more free than there is.
pub fn checked_pair(free_mg_l: Option<f64>, total_mg_l: Option<f64>) -> Result<(), SulfurError> {
    free_mg_l.map_or(Ok(0.0), |free| within(free, SULFUR_DIOXIDE_MG_L, SulfurError::Free))?;
    total_mg_l.map_or(Ok(0.0), |total| within(total, SULFUR_DIOXIDE_MG_L, SulfurError::Total))?;
    match (free_mg_l, total_mg_l) {
        (Some(free_mg_l), Some(total_mg_l)) if free_mg_l > total_mg_l => {
            Err(SulfurError::FreeAboveTotal { free_mg_l, total_mg_l })
        }
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_hand_are_said() {
        let wine = Wine { ph: 3.6, alcohol_pct: Some(13.5), temperature_c: Some(15.0) };
        assert_eq!(wine.checked(), Ok(wine));
        for (wine, error) in [
            (Wine { ph: 35.0, ..wine }, SulfurError::Ph(35.0)),
            (Wine { alcohol_pct: Some(140.0), ..wine }, SulfurError::Alcohol(140.0)),
            (Wine { alcohol_pct: Some(-1.0), ..wine }, SulfurError::Alcohol(-1.0)),
            (Wine { temperature_c: Some(-40.0), ..wine }, SulfurError::Temperature(-40.0)),
        ] {
            assert_eq!(wine.checked(), Err(error));
        }
        assert!(matches!(Wine { ph: f64::NAN, ..wine }.checked(), Err(SulfurError::Ph(_))));
    }

    #[test]
    fn no_more_is_free_than_there_is() {
        assert_eq!(checked_pair(Some(30.0), Some(30.0)), Ok(()));
        assert_eq!(checked_pair(Some(30.0), None), Ok(()));
        assert_eq!(checked_pair(None, None), Ok(()));
        let told = checked_pair(Some(80.0), Some(30.0)).unwrap_err().to_string();
        assert!(told.contains("Free SO2 of 80 mg/L is above the total of 30 mg/L"), "{told}");
        assert_eq!(checked_pair(Some(-1.0), None), Err(SulfurError::Free(-1.0)));
        assert_eq!(checked_pair(None, Some(3_000.0)), Err(SulfurError::Total(3_000.0)));
        assert!(checked_pair(Some(f64::INFINITY), None).is_err());
    }
}
