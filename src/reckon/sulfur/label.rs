//! Sulfur dioxide that is sold by its label: solutions by grams in a litre, tablets by grams in each.
//!
//! Sulfurous acid is sold as 5 or 6 %, 50 or 60 g/L; solutions of bisulfite hold 150 to 200 g/L (the codex of the OIV) and are sold
//! from 10 to 20 %; tablets give 2 or 5 g each. The label goes before all of these.

use super::wine::{SulfurError, within};
use crate::units::{Mass, Volume};

/// Grams of sulfur dioxide in a litre of a solution that is sold or made (our choice, with room on both sides).
const LABELS_G_L: (f64, f64) = (5.0, 250.0);

/// Grams of sulfur dioxide that a tablet gives (our choice, with room on both sides).
const TABLETS_G: (f64, f64) = (0.1, 50.0);

/// A solution as its label has it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Labelled {
    g_l: f64,
}

impl Labelled {
    /// A solution of so many grams of sulfur dioxide in a litre.
    pub fn new(g_l: f64) -> Result<Labelled, SulfurError> {
        within(g_l, LABELS_G_L, SulfurError::Label).map(|g_l| Labelled { g_l })
    }

    /// Its grams of sulfur dioxide in a litre.
    #[must_use]
    pub const fn g_l(self) -> f64 {
        self.g_l
    }

    /// The volume that holds so much sulfur dioxide.
    #[must_use]
    pub fn volume_of(self, sulfur_dioxide: Mass) -> Volume {
        Volume::nearest_to_litres(sulfur_dioxide.as_grams() / self.g_l)
    }
}

/// Tablets as their label has them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tablets {
    grams: f64,
}

impl Tablets {
    /// Tablets that give so many grams of sulfur dioxide each.
    pub fn new(grams: f64) -> Result<Tablets, SulfurError> {
        within(grams, TABLETS_G, SulfurError::Tablet).map(|grams| Tablets { grams })
    }

    /// What each gives.
    #[must_use]
    pub const fn grams(self) -> f64 {
        self.grams
    }

    /// How many come nearest to so much sulfur dioxide, one at least: they are not broken.
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the range just before
    pub fn nearest(self, sulfur_dioxide: Mass) -> u32 {
        (sulfur_dioxide.as_grams() / self.grams).round().clamp(1.0, f64::from(u32::MAX)) as u32
    }

    /// What so many give.
    #[must_use]
    pub fn give(self, tablets: u32) -> Mass {
        Mass::nearest_to_grams(f64::from(tablets) * self.grams)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sulfurous acid of 5 % holds 50 g/L, of 6 % 60 g/L; potassium bisulfite in water 150 to 200 g/L (the codex of the OIV).
    #[test]
    fn a_solution_is_measured_by_its_label() {
        let volume = |g_l| Labelled::new(g_l).unwrap().volume_of(Mass::from_grams(6));
        assert_eq!([volume(50.0), volume(60.0), volume(150.0)], [120, 100, 40].map(Volume::from_ml));
        assert!([0.0, 4.0, 600.0, f64::NAN].iter().all(|&g_l| Labelled::new(g_l).is_err()));
    }

    /// A tablet of 2 g raises 225 L by 8.9 mg/L, one of 5 g by 22.2.
    #[test]
    fn tablets_are_counted_whole() {
        let rise = |grams| Tablets::new(grams).unwrap().give(1).as_grams() * 1e3 / 225.0;
        assert!((rise(2.0) - 8.9).abs() < 0.05 && (rise(5.0) - 22.2).abs() < 0.05);
        let of_five = Tablets::new(5.0).unwrap();
        assert_eq!([2, 6, 8].map(|grams| of_five.nearest(Mass::from_grams(grams))), [1, 1, 2]);
        assert!([0.0, 60.0, f64::INFINITY].iter().all(|&grams| Tablets::new(grams).is_err()));
    }
}
