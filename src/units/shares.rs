//! The shares of a mixture: whole millionths that sum to one exactly.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::apportion;
use super::by_count;
use super::customary::DecimalMark;
use super::decimal::{self, Decimal, quoted};

/// The shares of the components of a mixture, in the order of the components, in parts per million. They sum to a
/// million exactly, whatever they were made from.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "Vec<u32>", into = "Vec<u32>")]
pub struct Shares(Vec<u32>);

/// Why numbers are no shares.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum SharesError {
    /// No component at all.
    #[error("a mixture has at least one component")]
    None,
    /// They are not a whole.
    #[error("the shares sum to {0} millionths; they must sum to 1000000")]
    Sum(u64),
    /// A part is negative, endless or no number.
    #[error("{0} is no share; a share is nought or more")]
    Part(f64),
    /// There is nothing of any component.
    #[error("all shares are nought; at least one component must be in the mixture")]
    Empty,
}

impl Shares {
    /// What the shares of a mixture sum to.
    pub const WHOLE: u32 = 1_000_000;

    /// Shares from parts per million.
    pub fn from_millionths(millionths: Vec<u32>) -> Result<Shares, SharesError> {
        if millionths.is_empty() {
            return Err(SharesError::None);
        }
        let sum: u64 = millionths.iter().map(|&part| u64::from(part)).sum();
        if sum == u64::from(Self::WHOLE) { Ok(Shares(millionths)) } else { Err(SharesError::Sum(sum)) }
    }

    /// Shares in proportion to whole numbers (microlitres, for example), by largest remainder.
    pub fn in_proportion(amounts: &[u64]) -> Result<Shares, SharesError> {
        if amounts.is_empty() {
            return Err(SharesError::None);
        }
        let parts = apportion(u64::from(Self::WHOLE), amounts).ok_or(SharesError::Empty)?;
        // No part is above the whole, which fits.
        Ok(Shares(parts.into_iter().map(|part| u32::try_from(part).unwrap_or(Self::WHOLE)).collect()))
    }

    /// The same mixture without the components that have no share in it.
    #[must_use]
    pub fn without_noughts(&self) -> Shares {
        Shares(self.0.iter().copied().filter(|&part| part > 0).collect())
    }

    /// Shares in proportion to real numbers (a point of a design, for example), by largest remainder.
    pub fn from_reals(parts: &[f64]) -> Result<Shares, SharesError> {
        /// Fine enough that a real share is rounded once, to the millionth, and coarse enough for sums of many.
        const STEPS: f64 = 1e12;
        if let Some(&wrong) = parts.iter().find(|part| !part.is_finite() || **part < 0.0) {
            return Err(SharesError::Part(wrong));
        }
        let sum: f64 = parts.iter().sum();
        if !parts.is_empty() && sum <= 0.0 {
            return Err(SharesError::Empty);
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between 0 and 1e12
        let amounts: Vec<u64> = parts.iter().map(|part| (part / sum * STEPS).round() as u64).collect();
        Self::in_proportion(&amounts)
    }

    /// All of one component out of so many.
    #[must_use]
    pub fn pure(component: usize, of: usize) -> Option<Shares> {
        (component < of)
            .then(|| Shares((0..of).map(|index| if index == component { Self::WHOLE } else { 0 }).collect()))
    }

    /// How many components there are, those without a share too.
    #[must_use]
    pub fn components(&self) -> usize {
        self.0.len()
    }

    /// Parts per million, in the order of the components.
    #[must_use]
    pub fn millionths(&self) -> &[u32] {
        &self.0
    }

    /// The shares as fractions of one.
    #[must_use]
    pub fn fractions(&self) -> Vec<f64> {
        self.0.iter().map(|&part| f64::from(part) / f64::from(Self::WHOLE)).collect()
    }
}

impl TryFrom<Vec<u32>> for Shares {
    type Error = SharesError;

    fn try_from(millionths: Vec<u32>) -> Result<Shares, SharesError> {
        Shares::from_millionths(millionths)
    }
}

impl From<Shares> for Vec<u32> {
    fn from(shares: Shares) -> Vec<u32> {
        shares.0
    }
}

/// Reads a percentage, `40%` or `33.3 %`, as millionths of the whole, rounded to the nearest.
pub fn parse_percent(text: &str) -> Result<u32, ParsePercentError> {
    let (number, unit) = Decimal::split(text).map_err(|_| ParsePercentError::NoPercent(quoted(text)))?;
    if unit != "%" {
        return Err(ParsePercentError::NoPercent(quoted(text)));
    }
    let millionths = u32::try_from(number.times(u64::from(Shares::WHOLE), 100)).ok();
    millionths.filter(|&it| it <= Shares::WHOLE).ok_or_else(|| ParsePercentError::MoreThanAll(quoted(text)))
}

/// Millionths of the whole as hundredths, with as many decimals as they need, the decimal sign that is customary here and without the
/// sign of a percentage: `33.3333`.
#[must_use]
pub fn show_percent(millionths: u32) -> String {
    DecimalMark::customary().written(&decimal::show_millionths(u64::from(millionths) * 100))
}

/// A share as a percentage rounded to so many decimals, at most four; noughts at its end are left out.
#[must_use]
pub fn show_percent_rounded(millionths: u32, decimals: u32) -> String {
    let step = 10_u32.pow(4_u32.saturating_sub(decimals));
    show_percent((millionths + step / 2) / step * step)
}

/// By how many points of a percentage shares differ, to a hundredth: `1 point`, `0.25 points`.
#[must_use]
pub fn points(millionths: u32) -> String {
    let number = show_percent_rounded(millionths, 2);
    let one = u8::from(number == "1");
    format!("{number} {}", by_count(one, "point", "points"))
}

/// Why a text is no percentage of a whole.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ParsePercentError {
    /// It is none.
    #[error("'{0}' is not a percentage. Write it like 40% or 33.3%.")]
    NoPercent(String),
    /// It is beyond the whole.
    #[error("'{0}' is more than all. Give at most 100%.")]
    MoreThanAll(String),
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_percentage_is_read_and_shown() {
        for (text, millionths, shown) in [
            ("40%", 400_000, "40"),
            ("33,3333 %", 333_333, "33.3333"),
            ("0.5%", 5_000, "0.5"),
            ("100%", 1_000_000, "100"),
        ] {
            assert_eq!(parse_percent(text), Ok(millionths), "{text}");
            assert_eq!(show_percent(millionths), shown);
        }
        assert_eq!(parse_percent("101%"), Err(ParsePercentError::MoreThanAll("101%".to_owned())));
        for text in ["40", "", "%", "-1%", "40 L", "nan%", "4 0%"] {
            assert!(matches!(parse_percent(text), Err(ParsePercentError::NoPercent(_))), "{text}");
        }
    }

    #[test]
    fn a_difference_of_shares_is_told_in_points() {
        assert_eq!([10_000, 2_512, 0].map(points), ["1 point", "0.25 points", "0 points"]);
    }

    #[test]
    fn thirds_sum_to_the_whole() {
        let shares = Shares::from_reals(&[1.0, 1.0, 1.0]).unwrap();
        assert_eq!(shares.millionths(), [333_334, 333_333, 333_333]);
    }

    #[test]
    fn what_is_no_mixture_is_said() {
        assert_eq!(Shares::from_millionths(vec![500_000, 400_000]), Err(SharesError::Sum(900_000)));
        assert_eq!(Shares::from_millionths(vec![]), Err(SharesError::None));
        assert_eq!(Shares::from_reals(&[0.0, 0.0]), Err(SharesError::Empty));
        assert_eq!(Shares::from_reals(&[0.5, -0.5]), Err(SharesError::Part(-0.5)));
        assert!(Shares::from_reals(&[f64::NAN]).is_err());
        assert!(serde_json::from_str::<Shares>("[1,2]").is_err());
    }

    proptest! {
        #[test]
        fn real_shares_sum_to_one_and_are_near(parts in proptest::collection::vec(0.0..1e6_f64, 1..12)) {
            let sum: f64 = parts.iter().sum();
            prop_assume!(sum > 1e-3);
            let shares = Shares::from_reals(&parts).unwrap();
            prop_assert_eq!(shares.millionths().iter().sum::<u32>(), Shares::WHOLE);
            for (share, part) in shares.fractions().iter().zip(&parts) {
                prop_assert!((share - part / sum).abs() <= 1.1e-6);
            }
        }
    }
}
