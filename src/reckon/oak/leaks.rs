//! Leaks by barrel-years: a rate, and how sure it is.

use crate::reckon::panel::probability::chi_square_below;

/// Leaks of one kind of barrel.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LeakRate {
    /// How many fillings leaked.
    pub leaks: usize,
    /// How many years barrels lay full under observation.
    pub barrel_years: f64,
}

impl LeakRate {
    /// Of a hundred barrels in a year; none where nothing was observed.
    #[must_use]
    pub fn per_hundred(&self) -> Option<f64> {
        (self.barrel_years > 0.0).then(|| 100.0 * self.leaks as f64 / self.barrel_years)
    }

    /// The band that holds that in 95 of a hundred: Garwood's exact interval of a count (Biometrika 28, 1936), by quantiles of chi-square.
    #[must_use]
    pub fn band(&self) -> Option<(f64, f64)> {
        let rate = |count: f64| 100.0 * count / self.barrel_years;
        let low = if self.leaks == 0 { 0.0 } else { chi_square_below(0.025, 2 * self.leaks) / 2.0 };
        let high = chi_square_below(0.975, 2 * self.leaks + 2) / 2.0;
        (self.barrel_years > 0.0).then(|| (rate(low), rate(high)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The table of Garwood 1936 for counts of 0, 1, 5 and 20 (from memory; scipy's `chi2.ppf` gives the same).
    #[test]
    fn garwoods_table() {
        for (leaks, low, high) in [(0, 0.0, 3.689), (1, 0.025, 5.572), (5, 1.623, 11.668), (20, 12.217, 30.888)] {
            let (found, to) = LeakRate { leaks, barrel_years: 100.0 }.band().unwrap();
            assert!((found - low).abs() < 0.001 && (to - high).abs() < 0.001, "{leaks}: {found} to {to}");
        }
        assert_eq!(LeakRate { leaks: 0, barrel_years: 0.0 }.band(), None);
    }
}
