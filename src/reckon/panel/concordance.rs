//! Kendall's coefficient of concordance: how far the tasters' orders agree.

use super::rank_test::{Name, RankTest};

/// How far orders agree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Concordance {
    /// Kendall's W with ties: 0 where the orders have nothing in common, 1 where they are the same.
    pub w: f64,
    /// The mean of Spearman's correlations of every two tasters; with ties a little off.
    pub mean_correlation: f64,
}

/// W = χ²/(b(k − 1)) of Friedman's test; none of other tests, for W is of complete tables.
#[must_use]
pub fn concordance(test: &RankTest, tasters: usize) -> Option<Concordance> {
    if test.name != Name::Friedman || tasters < 2 {
        return None;
    }
    let tasters = tasters as f64;
    let w = (test.statistic / (tasters * test.degrees as f64)).clamp(0.0, 1.0);
    Some(Concordance { w, mean_correlation: (tasters * w - 1.0) / (tasters - 1.0) })
}

#[cfg(test)]
mod tests {
    use super::super::friedman::friedman;
    use super::super::ranks::samples::{least_best, most_best};
    use super::super::two_way::samples::WINE_PANEL;
    use super::*;
    use crate::reckon::watch::Watch;

    /// Three raters of eight: Siegel and Castellan, "Nonparametric statistics for the behavioral sciences".
    #[test]
    fn three_raters() {
        let ranked = least_best("5 6 7 1 2 4 3 8|1 7 6 2 3 5 4 8|4 5 1 3 2 7 6 8");
        let found = concordance(&friedman(&ranked, Watch::NOBODY), 3).unwrap();
        assert!((found.w - 0.656_085).abs() < 1e-6, "{found:?}");
        assert!((found.mean_correlation - (3.0 * 0.656_085 - 1.0) / 2.0).abs() < 1e-6);
    }

    /// The R package rethinking, data Wines2012, red wines.
    #[test]
    fn a_wine_panel() {
        let found = concordance(&friedman(&most_best(WINE_PANEL), Watch::NOBODY), 9).unwrap();
        assert!((found.w - 0.154_295).abs() < 1e-6, "{found:?}");
    }
}
