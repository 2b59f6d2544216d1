//! Page's test: an order of the glasses was expected before anybody tasted; do the ranks follow it?
//!
//! E. B. Page 1963: L = Σ place × rank sum. The exact probability keeps each taster's ties; up to twelve glasses.

use std::collections::BTreeMap;

use rustc_hash::FxHashMap;
use thiserror::Error;

use super::probability::{By, Probability, normal_tail};
use super::ranks::{Layout, Ranked, doubled};

/// Exact counting goes through all sets of so many glasses.
const MOST_GLASSES: usize = 12;

/// How well an expected order was followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Page {
    /// Page's L.
    pub l: f64,
    /// The probability that chance follows the order as well or better.
    pub probability: Probability,
}

/// Why an expected order can't be tested.
#[derive(Clone, Copy, Debug, Error, PartialEq, Eq)]
pub enum NoPage {
    /// Cells are missing.
    #[error("An expected order is tested where everybody tasted everything; here cells are missing.")]
    Missing,
    /// The order is not one of the glasses.
    #[error("The expected order must name every glass that was tasted once.")]
    Order,
    /// There is nothing to test.
    #[error("Nothing here could follow an order: no taster told two glasses apart.")]
    AllTied,
}

/// Tests whether the ranks follow an order of the glasses, the best first.
pub fn page(ranked: &Ranked, order: &[usize]) -> Result<Page, NoPage> {
    let mut sorted = order.to_vec();
    sorted.sort_unstable();
    if !sorted.iter().copied().eq(0..ranked.glasses) {
        return Err(NoPage::Order);
    }
    if ranked.layout() != Layout::Complete {
        return Err(NoPage::Missing);
    }
    if ranked.blocks.iter().all(|block| block.variance() <= 0.0) {
        return Err(NoPage::AllTied);
    }
    let sums = ranked.sums();
    let l = order.iter().zip(1..).map(|(&glass, place)| f64::from(place) * sums[glass]).sum();
    let rows: Vec<&[f64]> = ranked.blocks.iter().map(|block| &block.ranks[..]).collect();
    let probability = if ranked.glasses <= MOST_GLASSES {
        exact_tail(&rows, l)
    } else {
        Probability { p: approximate_tail(&rows, l), by: By::Normal }
    };
    Ok(Page { l, probability })
}

/// The probability that chance brings at least `l`: each taster's share of L in every order, added up taster by taster.
fn exact_tail(rows: &[&[f64]], l: f64) -> Probability {
    let mut known: FxHashMap<Vec<u16>, Vec<(u32, f64)>> = FxHashMap::default();
    let mut all: BTreeMap<u32, f64> = BTreeMap::from([(0, 1.0)]);
    for row in rows {
        let mut twice = doubled(row);
        twice.sort_unstable();
        let shares = known.entry(twice.clone()).or_insert_with(|| shares(&twice));
        let mut next = BTreeMap::new();
        for (sum, weight) in &all {
            for (share, part) in shares.iter() {
                *next.entry(sum + share).or_insert(0.0) += weight * part;
            }
        }
        all = next;
    }
    let p: f64 = all.iter().filter(|(sum, _)| f64::from(**sum) >= 2.0 * l - 1e-6).map(|(_, weight)| weight).sum();
    Probability { p: p.min(1.0), by: By::Exact }
}

/// What one taster's ranks, doubled, bring to twice L, and how likely: place by place is given to one rank after the other, and of all ways to
/// fill the same places only the sums are kept.
fn shares(twice: &[u16]) -> Vec<(u32, f64)> {
    let places = twice.len();
    let most: usize = twice.iter().zip(1..).map(|(&rank, place)| usize::from(rank) * place).sum();
    let mut filled: Vec<Vec<f64>> = vec![Vec::new(); 1 << places];
    filled[0] = vec![1.0];
    for set in 0..filled.len() - 1 {
        // The next rank, in any place that is free; who comes later has all of these places and more.
        let ways = std::mem::take(&mut filled[set]);
        let rank = usize::from(twice[set.count_ones() as usize]);
        for place in (0..places).filter(|place| set >> place & 1 == 0) {
            let (next, more) = (&mut filled[set | 1 << place], rank * (place + 1));
            next.resize(most + 1, 0.0);
            for (sum, ways) in ways.iter().enumerate().filter(|(_, ways)| **ways > 0.0) {
                next[sum + more] += ways;
            }
        }
    }
    let ways = filled.pop().unwrap_or_default();
    let all: f64 = ways.iter().sum();
    (0_u32..).zip(ways).filter(|(_, ways)| *ways > 0.0).map(|(sum, ways)| (sum, ways / all)).collect()
}

/// The same by the normal distribution with the mean and variance that L has under chance.
fn approximate_tail(rows: &[&[f64]], l: f64) -> f64 {
    let (mut mean, mut variance) = (0.0, 0.0);
    for row in rows {
        let count = row.len() as f64;
        let middle = f64::midpoint(count, 1.0);
        let squares: f64 = row.iter().map(|rank| (rank - middle) * (rank - middle)).sum();
        mean += count * middle * middle;
        variance += squares / (count - 1.0) * count * (count * count - 1.0) / 12.0;
    }
    normal_tail((l - mean) / libm::sqrt(variance))
}

#[cfg(test)]
mod tests {
    use super::super::ranks::samples::least_best;
    use super::*;

    /// The example of scipy's documentation of `page_trend_test`.
    const SCIPY: &str = "3 4 3|2 2 4|3 3 5|1 3 2|2 3 2|2 4 5|1 2 4|3 4 4|2 4 5|1 3 4";

    /// L 133.5. scipy's probabilities are those of ranks without ties: exact 0.0018191162 (of at least 133), normal
    /// 0.0012693434. Ours keeps the ties: 0.0003842148 (every order gone through, a few lines of Python).
    #[test]
    fn an_order_with_ties() {
        let found = page(&least_best(SCIPY), &[0, 1, 2]).unwrap();
        assert!((found.l - 133.5).abs() < 1e-12 && found.probability.by == By::Exact);
        assert!((found.probability.p - 0.000_384_214_8).abs() < 1e-9, "{found:?}");
        let untied = vec![&[1.0, 2.0, 3.0][..]; 10];
        assert!((exact_tail(&untied, 133.0).p - 0.001_819_116_2).abs() < 1e-9);
        assert!((approximate_tail(&untied, 133.5) - 0.001_269_343_4).abs() < 1e-9);
    }

    #[test]
    fn the_other_way_round_it_is_not_followed() {
        assert!(page(&least_best(SCIPY), &[2, 1, 0]).unwrap().probability.p > 0.99);
    }

    #[test]
    fn what_cannot_be_tested_says_why() {
        assert_eq!(page(&least_best("1 2 -|1 2 3"), &[0, 1, 2]), Err(NoPage::Missing));
        assert_eq!(page(&least_best("1 2 3"), &[0, 1]), Err(NoPage::Order));
        assert_eq!(page(&least_best("1 2 3"), &[0, 1, 1]), Err(NoPage::Order));
        assert_eq!(page(&least_best("1 1 1"), &[0, 1, 2]), Err(NoPage::AllTied));
    }

    #[test]
    fn many_glasses_are_approximated() {
        let agreed = |glasses: usize| {
            let row = (1..=glasses).map(|rank| rank.to_string()).collect::<Vec<_>>().join(" ");
            page(&least_best(&[row.as_str(), row.as_str()].join("|")), &(0..glasses).collect::<Vec<_>>()).unwrap()
        };
        let found = agreed(13);
        assert!(found.probability.by == By::Normal && found.probability.p < 0.001, "{found:?}");
        // Of nine one order alone goes as far, for each of the two.
        let nine = agreed(9).probability;
        assert!(nine.by == By::Exact && (nine.p * 362_880.0 * 362_880.0 - 1.0).abs() < 1e-9, "{nine:?}");
    }
}
