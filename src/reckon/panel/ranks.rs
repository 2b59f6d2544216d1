//! Each taster's glasses as ranks: 1 the best, equals share the middle of their places.

use super::table::{Given, Table};

/// What one taster ranked.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    /// The glasses, by their place in the table.
    pub glasses: Vec<usize>,
    /// Their mid-ranks, from 1 to the number of glasses of this taster.
    pub ranks: Vec<f64>,
}

impl Block {
    /// The mean of the ranks, (n + 1)/2.
    #[must_use]
    pub fn mean(&self) -> f64 {
        f64::midpoint(self.ranks.len() as f64, 1.0)
    }

    /// The variance of the ranks, by n − 1: n(n + 1)/12 without ties, less with them, nothing where all are tied.
    #[must_use]
    pub fn variance(&self) -> f64 {
        let squares: f64 = self.ranks.iter().map(|rank| (rank - self.mean()) * (rank - self.mean())).sum();
        squares / (self.ranks.len() as f64 - 1.0)
    }
}

/// How the glasses are spread over the tasters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layout {
    /// Everybody tasted everything.
    Complete,
    /// Everybody tasted equally many, every glass was tasted equally often, and every two glasses met equally often.
    Balanced,
    /// Neither.
    Incomplete,
}

/// The ranks of all tasters who tasted at least two glasses; who tasted one compared nothing.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranked {
    /// How many glasses there are.
    pub glasses: usize,
    /// A block a taster.
    pub blocks: Vec<Block>,
}

impl Ranked {
    /// The ranks that a table gives.
    #[must_use]
    pub fn of(table: &Table) -> Ranked {
        let sign = match table.given() {
            Given::Scores => -1.0,
            Given::Ranks => 1.0,
        };
        Ranked::from_rows(table.glasses().len(), table.rows(), sign)
    }

    /// The ranks of values, of which times `sign` the least is the best.
    pub(super) fn from_rows(glasses: usize, rows: &[Vec<Option<f64>>], sign: f64) -> Ranked {
        let block = |row: &Vec<Option<f64>>| {
            let cells = || row.iter().enumerate().filter_map(|(glass, value)| Some((glass, (*value)? * sign)));
            let values: Vec<f64> = cells().map(|(_, value)| value).collect();
            Block { glasses: cells().map(|(glass, _)| glass).collect(), ranks: mid_ranks(&values) }
        };
        Ranked { glasses, blocks: rows.iter().map(block).filter(|block| block.ranks.len() > 1).collect() }
    }

    /// The rank sum of each glass.
    #[must_use]
    pub fn sums(&self) -> Vec<f64> {
        let mut sums = vec![0.0; self.glasses];
        for block in &self.blocks {
            block.glasses.iter().zip(&block.ranks).for_each(|(&glass, rank)| sums[glass] += rank);
        }
        sums
    }

    /// How often each glass was ranked.
    #[must_use]
    pub fn counts(&self) -> Vec<usize> {
        let mut counts = vec![0; self.glasses];
        self.blocks.iter().flat_map(|block| &block.glasses).for_each(|&glass| counts[glass] += 1);
        counts
    }

    /// How the glasses are spread over the tasters.
    #[must_use]
    pub fn layout(&self) -> Layout {
        if self.blocks.iter().all(|block| block.glasses.len() == self.glasses) {
            return Layout::Complete;
        }
        let sizes = self.blocks.iter().map(|block| block.glasses.len());
        let mut met = vec![0_usize; self.glasses * self.glasses];
        for block in &self.blocks {
            for &one in &block.glasses {
                block.glasses.iter().for_each(|&other| met[one * self.glasses + other] += 1);
            }
        }
        let pairs = (0..self.glasses).flat_map(|one| (0..one).map(move |other| (one, other)));
        let met = pairs.map(|(one, other)| met[one * self.glasses + other]);
        let balanced = all_equal(sizes) && all_equal(self.counts().into_iter()) && all_equal(met);
        if balanced { Layout::Balanced } else { Layout::Incomplete }
    }
}

fn all_equal(mut numbers: impl Iterator<Item = usize>) -> bool {
    let first = numbers.next();
    numbers.all(|number| Some(number) == first)
}

/// Mid-ranks times two, which are whole.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most twice the glasses of a table
pub fn doubled(ranks: &[f64]) -> Vec<u16> {
    ranks.iter().map(|rank| (rank * 2.0).round() as u16).collect()
}

/// The rank of each value, the least first; equals share the middle of their places.
#[must_use]
pub fn mid_ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&one, &other| values[one].total_cmp(&values[other]));
    let mut ranks = vec![0.0; values.len()];
    let mut before = 0;
    // In this order a value is at least the next one only where both are equal; 0 and −0 are.
    for tied in order.chunk_by(|&one, &other| values[one] >= values[other]) {
        let rank = before as f64 + f64::midpoint(tied.len() as f64, 1.0);
        for &place in tied {
            ranks[place] = rank;
        }
        before += tied.len();
    }
    ranks
}

#[cfg(test)]
pub(super) mod samples {
    //! Ranks for tests.

    use super::Ranked;

    /// Rows of numbers, the least the best; a dash where nothing was tasted.
    pub fn least_best(text: &str) -> Ranked {
        let rows = rows(text);
        Ranked::from_rows(rows.first().map_or(0, Vec::len), &rows, 1.0)
    }

    /// Rows of numbers, the greatest the best.
    pub fn most_best(text: &str) -> Ranked {
        let rows = rows(text);
        Ranked::from_rows(rows.first().map_or(0, Vec::len), &rows, -1.0)
    }

    pub fn rows(text: &str) -> Vec<Vec<Option<f64>>> {
        let cells = |row: &str| row.split_whitespace().map(|cell| cell.parse().ok()).collect();
        text.split('|').map(cells).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::samples::{least_best, most_best};
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn equals_share_the_middle_of_their_places() {
        assert_eq!(mid_ranks(&[3.0, 1.0, 3.0, 2.0, 3.0]), [4.0, 1.0, 4.0, 2.0, 4.0]);
        assert_eq!(mid_ranks(&[0.0, -0.0]), [1.5, 1.5]);
        assert_eq!(most_best("14 16 11|- 12 -").blocks.len(), 1);
        assert_eq!(most_best("14 16 11").blocks[0].ranks, [2.0, 1.0, 3.0]);
    }

    #[test]
    fn layouts_are_told_apart() {
        assert_eq!(least_best("1 2 3|1 2 2").layout(), Layout::Complete);
        assert_eq!(least_best("1 2 -|1 - 2|- 1 2").layout(), Layout::Balanced);
        assert_eq!(least_best("1 2 -|1 - 2|1 2 3").layout(), Layout::Incomplete);
        assert_eq!(least_best("1 2 - -|- 1 2 -|- - 1 2|2 - - 1").layout(), Layout::Incomplete);
    }

    proptest! {
        #[test]
        fn ranks_keep_their_sum_and_the_order(values in prop::collection::vec(-3_i8..4, 1..20)) {
            let values: Vec<f64> = values.into_iter().map(f64::from).collect();
            let ranks = mid_ranks(&values);
            let count = values.len() as f64;
            prop_assert!((ranks.iter().sum::<f64>() - count * (count + 1.0) / 2.0).abs() < 1e-9);
            for one in 0..values.len() {
                for other in 0..values.len() {
                    prop_assert_eq!(values[one] < values[other], ranks[one] < ranks[other]);
                }
            }
        }
    }
}
