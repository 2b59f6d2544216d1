//! Ratios that are easier to say and to measure than the best one.

use super::fit::Fit;
use super::region::Region;

/// How far from the best a rounded share may lie, in steps: first as near as can be, then wider.
const REACH: [i32; 2] = [1, 2];

/// The blend in whole steps (a twentieth for 5 %) near the best that is allowed and expected to score the most; none where
/// no such blend is allowed.
#[must_use]
pub fn rounded(fit: &Fit, region: &Region, best: &[f64], steps: i32) -> Option<Vec<f64>> {
    REACH.iter().find_map(|&reach| {
        let mut search = Search { fit, region, best, steps, reach, found: None };
        search.place(&mut Vec::with_capacity(best.len()), steps);
        search.found.map(|(_, shares)| shares)
    })
}

struct Search<'a> {
    fit: &'a Fit,
    region: &'a Region,
    best: &'a [f64],
    steps: i32,
    reach: i32,
    found: Option<(f64, Vec<f64>)>,
}

impl Search<'_> {
    /// Gives the next component every count in reach, and what is left to the others.
    fn place(&mut self, counts: &mut Vec<i32>, left: i32) {
        let Some(&share) = self.best.get(counts.len()) else {
            if left == 0 {
                self.weigh(counts);
            }
            return;
        };
        #[allow(clippy::cast_possible_truncation)] // a share of a few steps
        let below = (share * f64::from(self.steps) + 1e-9).floor() as i32;
        for count in (below + 1 - self.reach).max(0)..=(below + self.reach).min(left) {
            counts.push(count);
            self.place(counts, left - count);
            counts.pop();
        }
    }

    fn weigh(&mut self, counts: &[i32]) {
        let shares: Vec<f64> = counts.iter().map(|&count| f64::from(count) / f64::from(self.steps)).collect();
        if !self.region.allows(&shares) {
            return;
        }
        let Some(predicted) = self.fit.predict(&shares) else { return };
        if self.found.as_ref().is_none_or(|(score, _)| predicted.score > *score) {
            self.found = Some((predicted.score, shares));
        }
    }
}
