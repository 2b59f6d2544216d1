//! What chance alone would bring: every taster's ranks in any order among the glasses before them, ties kept.
//!
//! Where all orders can be gone through, the probability is exact: tasters are taken one after the other, and rank sums
//! that come out the same are kept together. Where everybody tasted everything the glasses are alike to chance, so that
//! sums count as the same in any order of the glasses. Else orders are drawn from a seeded generator.

use rustc_hash::FxHashMap;

use super::probability::{By, Probability};
use super::ranks::{Layout, Ranked, doubled};
use crate::reckon::chance::Chance;

/// Exact counting of more steps takes too long for a screen.
const MOST_STEPS: usize = 400_000;
/// Exact counting keeps the sums of so many glasses; beyond them the steps are too many anyway.
const MOST_GLASSES: usize = 8;
/// Drawn orders; with the one seen they make ten thousand, which tells 0.05 to within 0.004.
pub const DRAWS: usize = 9_999;
/// Where one drawn order takes more steps than this the approximations are near and drawing takes too long.
const MOST_STEPS_A_DRAW: usize = 300;
/// Any seed does; the same one gives the same probability every time.
const SEED: u64 = 8_587;
/// Statistics count as the same within so small a part.
const GRAIN: f64 = 1e-9;

/// Rank sums times two, counted from the least that they can be.
type Sums = [u16; MOST_GLASSES];

/// The probability that the rank sums of chance are `extreme`; none where that takes too long to count.
#[must_use]
pub fn counted(ranked: &Ranked, extreme: impl Fn(&[f64]) -> bool) -> Option<Probability> {
    if ranked.glasses > MOST_GLASSES {
        return None;
    }
    let alike = ranked.layout() == Layout::Complete;
    let mut states: FxHashMap<Sums, f64> = FxHashMap::from_iter([([0; MOST_GLASSES], 1.0)]);
    let mut steps = 0;
    for block in &ranked.blocks {
        let above_first: Vec<u16> = doubled(&block.ranks).iter().map(|rank| rank - 2).collect();
        let arrangements = arrangements(&above_first);
        steps += states.len() * arrangements.len();
        if steps > MOST_STEPS {
            return None;
        }
        let share = 1.0 / arrangements.len() as f64;
        let mut next = FxHashMap::default();
        for (sums, weight) in states {
            for arrangement in &arrangements {
                let mut sums = sums;
                for (&glass, rank) in block.glasses.iter().zip(arrangement) {
                    sums[glass] = sums[glass].checked_add(*rank)?;
                }
                if alike {
                    sums[..ranked.glasses].sort_unstable();
                }
                *next.entry(sums).or_insert(0.0) += weight * share;
            }
        }
        states = next;
    }
    let counts = ranked.counts();
    let whole = |sums: &Sums| -> Vec<f64> {
        counts.iter().zip(sums).map(|(&count, &sum)| count as f64 + f64::from(sum) / 2.0).collect()
    };
    // In the order of the sums, so that the last digits do not hang on the table's order.
    let mut found: Vec<(Sums, f64)> = states.into_iter().filter(|(sums, _)| extreme(&whole(sums))).collect();
    found.sort_unstable_by_key(|(sums, _)| *sums);
    Some(Probability { p: found.iter().map(|(_, weight)| weight).sum::<f64>().min(1.0), by: By::Exact })
}

/// All different orders of some numbers, each as likely as any other.
pub(super) fn arrangements(numbers: &[u16]) -> Vec<Vec<u16>> {
    let mut order = numbers.to_vec();
    order.sort_unstable();
    let mut all = vec![order.clone()];
    // The next order in the dictionary's sense, until the numbers fall.
    while let Some(at) = (1..order.len()).rev().find(|&at| order[at - 1] < order[at]) {
        let swap = (at..order.len()).rev().find(|&other| order[other] > order[at - 1]).unwrap_or(at);
        order.swap(at - 1, swap);
        order[at..].reverse();
        all.push(order.clone());
    }
    all
}

/// The values of one taster, which chance puts into any order among the glasses.
#[derive(Clone, Debug)]
pub struct Row<'a> {
    /// The glasses.
    pub glasses: &'a [usize],
    /// A value a glass.
    pub values: Vec<f64>,
}

/// The probability that a statistic of the sums of values by glass is at least what was seen, from drawn orders; none
/// where drawing takes too long. `steps` is what the statistic of one draw takes besides the cells.
pub fn drawn(
    glasses: usize,
    mut rows: Vec<Row<'_>>,
    draws: usize,
    steps: usize,
    statistic: impl Fn(&[f64]) -> f64,
) -> Option<Probability> {
    let cells: usize = rows.iter().map(|row| row.values.len()).sum();
    if cells + steps > MOST_STEPS_A_DRAW {
        return None;
    }
    let summed = |rows: &[Row<'_>], sums: &mut [f64]| {
        sums.fill(0.0);
        for row in rows {
            row.glasses.iter().zip(&row.values).for_each(|(&glass, value)| sums[glass] += value);
        }
    };
    let mut sums = vec![0.0; glasses];
    summed(&rows, &mut sums);
    let seen = statistic(&sums) * (1.0 - GRAIN);
    let mut chance = Chance::from_seed(SEED);
    let mut as_far = 1_usize;
    for _ in 0..draws {
        for row in &mut rows {
            chance.shuffle(&mut row.values);
        }
        summed(&rows, &mut sums);
        as_far += usize::from(statistic(&sums) >= seen);
    }
    Some(Probability { p: as_far as f64 / (draws + 1) as f64, by: By::Draws(draws + 1) })
}

#[cfg(test)]
mod tests {
    use super::super::ranks::samples::least_best;
    use super::*;

    #[test]
    fn arrangements_are_all_and_each_once() {
        assert_eq!(arrangements(&[2, 0, 2]), [[0, 2, 2], [2, 0, 2], [2, 2, 0]]);
        assert_eq!(arrangements(&[0, 2, 4, 6, 8]).len(), 120);
        assert_eq!(arrangements(&[3, 3]), [[3, 3]]);
    }

    #[test]
    fn all_that_chance_brings_has_the_probability_one() {
        for text in ["1 2 3|1 2 2|1 1 1|3 1 2", "1 2 -|- 1 2|1 - 2"] {
            let all = counted(&least_best(text), |sums| {
                assert!(sums.iter().all(|sum| (2.0..=12.0).contains(sum)), "{sums:?}");
                true
            });
            assert!((all.unwrap().p - 1.0).abs() < 1e-12);
        }
        assert_eq!(counted(&least_best("1 2 3 4 5 6 7 8 9"), |_| true), None);
    }

    #[test]
    fn drawing_gives_the_same_again_and_comes_near_to_counting() {
        let ranked = least_best("1 2 3 4|1 2 4 3|2 1 3 4|1 3 2 4");
        let squares = |sums: &[f64]| sums.iter().map(|sum| (sum - 10.0) * (sum - 10.0)).sum::<f64>();
        let seen = squares(&ranked.sums());
        let rows = || ranked.blocks.iter().map(|it| Row { glasses: &it.glasses, values: it.ranks.clone() }).collect();
        let drawn_once = drawn(4, rows(), DRAWS, 4, squares).unwrap();
        assert_eq!(drawn(4, rows(), DRAWS, 4, squares), Some(drawn_once));
        let exact = counted(&ranked, |sums| squares(sums) >= seen - 1e-9).unwrap();
        assert!((exact.p - drawn_once.p).abs() < 0.003, "{exact:?} {drawn_once:?}");
        assert_eq!(drawn(4, rows(), DRAWS, 1_000, squares), None);
    }
}
