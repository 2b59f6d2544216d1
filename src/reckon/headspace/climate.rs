//! What a barrel loses by the published figures, before anything is known of its room.

use serde::{Deserialize, Serialize};

/// The barrel that rates speak of, litres.
const REFERENCE_LITRES: f64 = 225.0;

/// A room of which no climate is known: 20 mL a day from a 225 L barrel once its wood is wet through (Roussey et al.
/// 2021, J. Food Eng. 291), litres a day.
pub const PUBLISHED_RATE: f64 = 0.020;

/// Litres a day from a 225 L barrel for each kilopascal of water-vapour deficit. That the loss is in proportion to it
/// follows from diffusion through the stave (Ruiz de Adana et al. 2005, a Fickian model of losses from oak casks). The
/// figure puts 15 °C and 75 % humidity (0.345 kPa) at the published 20 mL a day; it then gives 1 % a year at 15 °C and
/// 90 %, 4 % at 70 % and 10 % at 20 °C and 50 %: the ends and the middle of the published yearly losses.
const LITRES_A_DAY_PER_KILOPASCAL: f64 = 0.058;

/// Water vapour over wine of 13 % vol against that over water: its water's share of the molecules (Raoult's law).
const WATER_ACTIVITY: f64 = 0.9525;

/// In air as damp as the wine the alcohol still leaves: about 1 % a year (the lowest published loss), kPa.
const LEAST_DEFICIT_KILOPASCAL: f64 = 0.09;

/// The deviation of the logarithm of a room's true rate from the published one. Published yearly losses run from 1 to
/// 10 % around 4 to 5 %: a factor two either way where no climate is known …
const SPREAD_UNKNOWN: f64 = 0.7;
/// … and little less where temperature and humidity are, for the draught is not (our assumption).
const SPREAD_KNOWN: f64 = 0.5;

/// The air of a room, as its keeper states it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Climate {
    /// Mean temperature, °C.
    pub temperature_c: Option<f64>,
    /// Mean relative humidity, %.
    pub humidity_pct: Option<f64>,
}

impl Climate {
    /// Temperature and humidity where both are stated and can be believed: −10 to 45 °C, 0 to 100 %.
    #[must_use]
    pub fn stated(&self) -> Option<(f64, f64)> {
        let (temperature, humidity) = (self.temperature_c?, self.humidity_pct?);
        ((-10.0..=45.0).contains(&temperature) && (0.0..=100.0).contains(&humidity)).then_some((temperature, humidity))
    }

    /// What a 225 L barrel of wet wood loses in this air, litres a day.
    #[must_use]
    pub fn rate(&self) -> f64 {
        self.stated().map_or(PUBLISHED_RATE, |(temperature_c, humidity_pct)| {
            LITRES_A_DAY_PER_KILOPASCAL * vapour_deficit(temperature_c, humidity_pct).max(LEAST_DEFICIT_KILOPASCAL)
        })
    }

    /// The standard deviation of the logarithm of that rate.
    #[must_use]
    pub fn spread(&self) -> f64 {
        if self.stated().is_some() { SPREAD_KNOWN } else { SPREAD_UNKNOWN }
    }
}

/// By how much the water vapour over wine of 13 % vol exceeds that of the air, kPa; negative in very damp air. For −10 to
/// 45 °C and 0 to 100 % humidity.
///
/// Saturation after Alduchov and Eskridge 1996 (J. Appl. Meteorol. 35): 0.61094 exp(17.625 t / (t + 243.04)).
#[must_use]
pub fn vapour_deficit(temperature_c: f64, humidity_pct: f64) -> f64 {
    let saturated = 0.610_94 * libm::exp(17.625 * temperature_c / (temperature_c + 243.04));
    saturated * (WATER_ACTIVITY - humidity_pct / 100.0)
}

/// How much faster a barrel of a capacity loses wine than one of 225 L: wine leaves through the surface, which grows with
/// the power two thirds of the volume (geometry of similar bodies).
#[must_use]
pub fn size(capacity_litres: f64) -> f64 {
    let edge = libm::cbrt(capacity_litres.max(0.0) / REFERENCE_LITRES);
    edge * edge
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed for 13 % vol: 0.60, 0.43, 0.26, 0.09 kPa at 15 °C and 60, 70, 80, 90 %; 20 °C is 1.37 times 15 °C at 70 %.
    #[test]
    fn the_deficit_is_the_published_one() {
        for (humidity, kilopascal) in [(60.0, 0.60), (70.0, 0.43), (80.0, 0.26), (90.0, 0.09)] {
            assert!((vapour_deficit(15.0, humidity) - kilopascal).abs() < 0.005, "{humidity}");
        }
        assert!((vapour_deficit(20.0, 70.0) / vapour_deficit(15.0, 70.0) - 1.37).abs() < 0.005);
    }

    /// A year of a 225 L barrel, percent: from 1 in damp to 9 in dry, warm air, mean 4 to 5 (Dictionnaire du vin).
    #[test]
    fn a_year_lies_in_the_published_spread() {
        let year = |temperature, humidity| {
            let climate = Climate { temperature_c: Some(temperature), humidity_pct: Some(humidity) };
            climate.rate() * 365.25 / 2.25
        };
        for (temperature, humidity, least, most) in
            [(15.0, 90.0, 0.7, 1.3), (12.0, 95.0, 0.7, 1.3), (15.0, 70.0, 3.5, 5.0), (20.0, 55.0, 7.5, 10.0)]
        {
            let percent = year(temperature, humidity);
            assert!((least..=most).contains(&percent), "{temperature} °C, {humidity} %: {percent} % a year");
        }
    }

    #[test]
    fn a_climate_that_cannot_be_is_none() {
        for (temperature, humidity) in [(f64::NAN, 70.0), (15.0, f64::INFINITY), (-30.0, 70.0), (15.0, 101.0)] {
            let climate = Climate { temperature_c: Some(temperature), humidity_pct: Some(humidity) };
            assert_eq!((climate.stated(), climate.rate()), (None, PUBLISHED_RATE));
        }
    }

    #[test]
    fn a_barrel_of_eight_times_the_volume_has_four_times_the_surface() {
        assert!((size(1_800.0) - 4.0).abs() < 1e-12);
        assert_eq!(size(225.0).to_bits(), 1.0_f64.to_bits());
    }
}
