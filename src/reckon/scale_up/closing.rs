//! The closing check: the shares that a blend has come to, against those that were chosen.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::units::{ParsePercentError, Shares, Volume, parse_percent, points, show_percent, show_percent_rounded};

/// By how much a share may differ, in millionths of the whole: more than nothing, at most a fifth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "u32", into = "u32")]
pub struct Tolerance(u32);

/// Why a number is no tolerance.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ToleranceError {
    /// Nothing is ever met so exactly.
    #[error("No pump meets a ratio to nothing. Give a tolerance like 1%, or leave it out.")]
    Nothing,
    /// It would be another wine.
    #[error("A tolerance of {}% is another wine. Give at most 20%.", show_percent(*.0))]
    TooWide(u32),
    /// It is no percentage.
    #[error(transparent)]
    NoPercent(#[from] ParsePercentError),
}

impl Tolerance {
    /// What a panel does not taste and a flow meter keeps (common practice: about a hundredth).
    pub const USUAL: Tolerance = Tolerance(10_000);
    const WIDEST: u32 = Shares::WHOLE / 5;

    /// A tolerance in millionths.
    pub const fn from_millionths(millionths: u32) -> Result<Tolerance, ToleranceError> {
        match millionths {
            0 => Err(ToleranceError::Nothing),
            1..=Self::WIDEST => Ok(Tolerance(millionths)),
            _ => Err(ToleranceError::TooWide(millionths)),
        }
    }

    /// It in millionths of the whole.
    #[must_use]
    pub const fn millionths(self) -> u32 {
        self.0
    }
}

impl fmt::Display for Tolerance {
    /// In points of a percentage, like `1 point`.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&points(self.0))
    }
}

impl TryFrom<u32> for Tolerance {
    type Error = ToleranceError;

    fn try_from(millionths: u32) -> Result<Tolerance, ToleranceError> {
        Tolerance::from_millionths(millionths)
    }
}

impl From<Tolerance> for u32 {
    fn from(tolerance: Tolerance) -> u32 {
        tolerance.0
    }
}

impl FromStr for Tolerance {
    type Err = ToleranceError;

    fn from_str(text: &str) -> Result<Tolerance, ToleranceError> {
        Tolerance::from_millionths(parse_percent(text)?)
    }
}

/// One share, checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// What was chosen, in millionths.
    pub wanted: u32,
    /// What it came to.
    pub reached: u32,
    /// Whether that is near enough.
    pub within: bool,
}

/// The shares that a blend has come to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Closing {
    /// Share by share.
    pub shares: Vec<Checked>,
    /// What it was held against.
    pub tolerance: Tolerance,
}

impl Closing {
    /// Holds what arrived against what was chosen. `None` where nothing arrived, or not of as many wines as were chosen.
    #[must_use]
    pub fn of(arrived: &[Volume], wanted: &Shares, tolerance: Tolerance) -> Option<Closing> {
        let amounts: Vec<u64> = arrived.iter().map(|volume| volume.as_ul()).collect();
        let reached = Shares::in_proportion(&amounts).ok().filter(|it| it.components() == wanted.components())?;
        let check = |(&wanted, &reached): (&u32, &u32)| Checked {
            wanted,
            reached,
            within: wanted.abs_diff(reached) <= tolerance.millionths(),
        };
        let shares = wanted.millionths().iter().zip(reached.millionths()).map(check).collect();
        Some(Closing { shares, tolerance })
    }

    /// Whether every share is near enough.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.shares.iter().all(|share| share.within)
    }

    /// Share by share, in words, with the names of the wines.
    #[must_use]
    pub fn words(&self, names: &[&str]) -> Vec<String> {
        self.shares.iter().zip(names).map(|(share, name)| share.words(name, self.tolerance)).collect()
    }
}

impl Checked {
    fn words(&self, name: &str, tolerance: Tolerance) -> String {
        // A hundredth of a percent is more than any meter reads.
        let percent = |millionths| show_percent_rounded(millionths, 2);
        let (reached, wanted) = (percent(self.reached), percent(self.wanted));
        if self.reached == self.wanted {
            return format!("{name}: {reached}%, as chosen.");
        }
        let off = percent(self.reached.abs_diff(self.wanted));
        let side = if self.reached > self.wanted { "above" } else { "below" };
        let told = format!("{name}: {reached}%, {off} points {side} the {wanted}% chosen");
        if self.within {
            format!("{told}, within the {tolerance} allowed.")
        } else {
            format!("{told}, beyond the {tolerance} allowed.")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shares(millionths: &[u32]) -> Shares {
        Shares::from_millionths(millionths.to_vec()).unwrap()
    }

    #[test]
    fn a_tolerance_is_more_than_nothing_and_no_other_wine() {
        assert_eq!("1%".parse::<Tolerance>(), Ok(Tolerance::USUAL));
        assert_eq!("0%".parse::<Tolerance>(), Err(ToleranceError::Nothing));
        assert_eq!(
            "30%".parse::<Tolerance>().unwrap_err().to_string(),
            "A tolerance of 30% is another wine. Give at most 20%."
        );
        assert!("1".parse::<Tolerance>().is_err());
    }

    #[test]
    fn a_blend_is_told_share_by_share() {
        let arrived = [Volume::from_litres(612), Volume::from_litres(388)];
        let closing = Closing::of(&arrived, &shares(&[600_000, 400_000]), Tolerance::USUAL).unwrap();
        assert!(!closing.holds());
        assert_eq!(
            closing.words(&["T1", "T2"]),
            [
                "T1: 61.2%, 1.2 points above the 60% chosen, beyond the 1 point allowed.",
                "T2: 38.8%, 1.2 points below the 40% chosen, beyond the 1 point allowed."
            ]
        );
        let exact = Closing::of(
            &[Volume::from_litres(3), Volume::from_litres(2)],
            &shares(&[600_000, 400_000]),
            Tolerance::USUAL,
        );
        assert!(exact.is_some_and(|it| it.holds() && it.words(&["a", "b"])[0] == "a: 60%, as chosen."));
    }

    #[test]
    fn nothing_is_no_blend() {
        assert_eq!(Closing::of(&[Volume::ZERO, Volume::ZERO], &shares(&[600_000, 400_000]), Tolerance::USUAL), None);
        assert_eq!(Closing::of(&[Volume::from_litres(1)], &shares(&[600_000, 400_000]), Tolerance::USUAL), None);
    }
}
