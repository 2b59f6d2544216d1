//! What it would take to know: how many barrels of each kind tell a difference that matters.

use super::compare::quantile;
use super::{LEVEL, Scatter};

/// How often a difference that is there is to be told.
const OFTEN: f64 = 0.8;
/// More barrels than this of each kind nobody fills for the sake of knowing.
const MOST: usize = 10_000;

/// So many barrels of each kind, in lots that have them all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Need {
    /// How many barrels, each tasted as often as they are now.
    pub barrels: usize,
    /// How many, each tasted three times as often.
    pub tasted_thrice: usize,
}

/// How many barrels of each of two kinds tell a difference eight times in ten, where so many pairs are held back for each other: the usual size of
/// two samples, 2 (t + t)² s² / d² (NIST/SEMATECH e-Handbook of statistical methods, 7.2.2.2), with Student's quantiles of that size, and the first step
/// of Holm's method. None where more would be needed than anybody fills.
#[must_use]
pub fn barrels_for(difference: f64, scatter: &Scatter, pairs: usize) -> Option<Need> {
    let of = |times: f64| {
        let variance = scatter.barrels * scatter.barrels + scatter.taste * scatter.taste / times.max(1.0);
        let enough = |barrels: usize| {
            let freedom = 2.0 * (barrels as f64 - 1.0);
            let reach = quantile(1.0 - LEVEL / pairs.max(1) as f64 / 2.0, freedom) + quantile(OFTEN, freedom);
            2.0 * reach * reach * variance <= barrels as f64 * difference * difference
        };
        // The first that is enough, by halving: more barrels are never too few.
        let (mut low, mut high) = (1, MOST);
        if !enough(high) {
            return None;
        }
        while high - low > 1 {
            let middle = usize::midpoint(low, high);
            if enough(middle) { high = middle } else { low = middle }
        }
        Some(high)
    };
    Some(Need { barrels: of(scatter.times)?, tasted_thrice: of(3.0 * scatter.times)? })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 17 of each for a difference of one standard deviation at 0.05 and 0.8 (statsmodels 0.15.0, `TTestIndPower().solve_power(1.0)` = 16.7).
    #[test]
    fn two_samples_need_what_the_tables_say() {
        let scatter = Scatter { taste: 0.0, barrels: 1.0, times: 1.0 };
        assert_eq!(barrels_for(1.0, &scatter, 1), Some(Need { barrels: 17, tasted_thrice: 17 }));
        let tasted = Scatter { taste: 1.0, barrels: 0.0, times: 1.0 };
        let need = barrels_for(1.0, &tasted, 1).unwrap();
        assert!(need.tasted_thrice < need.barrels && need.barrels == 17, "{need:?}");
        assert_eq!(barrels_for(0.001, &scatter, 45), None);
    }
}
