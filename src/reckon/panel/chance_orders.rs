//! What chance alone would bring: every taster's ranks in any order among the glasses before them, ties kept.
//!
//! Where all orders can be gone through, the probability is exact: tasters are taken one after the other, and rank sums
//! that come out the same are kept together. Where everybody tasted everything the glasses are alike to chance, so that
//! sums count as the same in any order of the glasses. Else orders are drawn from a seeded generator, until the verdict stands and
//! the probability is known to a tenth of itself, or enough is enough.
//!
//! **A rank test's probability** is counted over all orders that chance could bring, ties kept, where that takes under two seconds (24
//! million steps); else orders are drawn from a fixed seed, ten thousand at first and up to a million, until the verdict stands four
//! standard errors off the level and the probability is known to a tenth of itself. Large tables have the approximation by F or chi-square.
//! How it was reckoned, and with what error, stands beside it. Page's test counts up to twelve glasses, two glasses of a complete table are
//! always counted. `reckon/panel/chance_orders.rs` holds the bounds; `cargo bench --bench panel` says what they cost. Long work looks at a
//! `reckon::watch::Watch` whether it is wanted still.

use rustc_hash::FxHashMap;

use super::probability::{By, LEVEL, Probability};
use super::ranks::{Layout, Ranked, doubled};
use crate::reckon::chance::Chance;
use crate::reckon::watch::Watch;

/// Exact counting of more steps takes longer than two seconds.
const MOST_STEPS: usize = 24_000_000;
/// Exact counting keeps the sums of so many glasses; beyond them the steps are too many anyway.
const MOST_GLASSES: usize = 8;
/// So many steps are made between two looks at whether they are wanted still.
const BETWEEN_LOOKS: usize = 200_000;
/// Where one drawn order takes more steps than this the approximations are near and drawing takes too long.
const MOST_STEPS_A_DRAW: usize = 300;
/// All draws together take no more steps than this: a second or two.
const MOST_DRAWN_STEPS: usize = 120_000_000;
/// So many orders as far as the one seen tell their probability to a tenth of itself.
const ENOUGH: usize = 100;
/// A verdict stands where the level lies so many standard errors off: it is looked at several times.
const STANDS: f64 = 4.0;
/// Any seed does; the same one gives the same probability every time.
const SEED: u64 = 8_587;
/// Statistics count as the same within so small a part.
const GRAIN: f64 = 1e-9;

/// How many orders are drawn.
#[derive(Clone, Copy, Debug)]
pub struct Draws {
    /// So many at first; with the one seen they make a round number.
    pub first: usize,
    /// No more than these, twice as many each time.
    pub most: usize,
}

/// Ten thousand at first, a million at most.
pub const DRAWS: Draws = Draws { first: 9_999, most: 999_999 };

/// Rank sums times two, counted from the least that they can be.
type Sums = [u16; MOST_GLASSES];

/// What is kept of the sums of the tasters so far: each with its probability.
type Kept = FxHashMap<u128, f64>;

/// The probability that the rank sums of chance are `extreme`; none where that takes too long to count, or is not wanted any more.
#[must_use]
pub fn counted(ranked: &Ranked, watch: Watch<'_>, extreme: impl Fn(&[f64]) -> bool) -> Option<Probability> {
    if ranked.glasses > MOST_GLASSES {
        return None;
    }
    let alike = ranked.layout() == Layout::Complete;
    let counts = ranked.counts();
    let mut whole = vec![0.0; ranked.glasses];
    let mut is_extreme = |sums: &Sums| {
        for ((whole, &count), &sum) in whole.iter_mut().zip(&counts).zip(sums) {
            *whole = count as f64 + f64::from(sum) / 2.0;
        }
        extreme(&whole)
    };
    let mut kept: Kept = FxHashMap::from_iter([(packed(&[0; MOST_GLASSES]), 1.0)]);
    let (mut steps, mut found) = (0, 0.0);
    for (at, block) in ranked.blocks.iter().enumerate() {
        let above_first: Vec<u16> = doubled(&block.ranks).iter().map(|rank| rank - 2).collect();
        let arrangements = arrangements(&above_first, MOST_STEPS)?;
        // There are never fewer sums with another taster: what is to come takes as long at least.
        let to_come = ranked.blocks.len() - at;
        if steps + to_come * kept.len() * arrangements.len() > MOST_STEPS {
            return None;
        }
        let share = 1.0 / arrangements.len() as f64;
        let mut next = Kept::default();
        for (sums, weight) in kept {
            let before = unpacked(sums);
            for arrangement in &arrangements {
                let mut sums = before;
                for (&glass, rank) in block.glasses.iter().zip(arrangement) {
                    sums[glass] = sums[glass].checked_add(*rank)?;
                }
                if to_come == 1 {
                    found += if is_extreme(&sums) { weight * share } else { 0.0 };
                    continue;
                }
                if alike {
                    sums[..ranked.glasses].sort_unstable();
                }
                *next.entry(packed(&sums)).or_insert(0.0) += weight * share;
            }
            let before = steps / BETWEEN_LOOKS;
            steps += arrangements.len();
            if steps / BETWEEN_LOOKS > before && !watch.wanted((steps as f64 / MOST_STEPS as f64).min(1.0)) {
                return None;
            }
        }
        kept = next;
    }
    Some(Probability { p: f64::min(found, 1.0), by: By::Exact })
}

fn packed(sums: &Sums) -> u128 {
    sums.iter().rev().fold(0, |packed, &sum| packed << u16::BITS | u128::from(sum))
}

#[allow(clippy::cast_possible_truncation)] // sixteen bits of it each
fn unpacked(packed: u128) -> Sums {
    std::array::from_fn(|at| (packed >> (u16::BITS as usize * at)) as u16)
}

/// All different orders of some numbers, each as likely as any other; none where there are more than `most`.
pub(super) fn arrangements(numbers: &[u16], most: usize) -> Option<Vec<Vec<u16>>> {
    let mut order = numbers.to_vec();
    order.sort_unstable();
    let mut all = vec![order.clone()];
    // The next order in the dictionary's sense, until the numbers fall.
    while let Some(at) = (1..order.len()).rev().find(|&at| order[at - 1] < order[at]) {
        let swap = (at..order.len()).rev().find(|&other| order[other] > order[at - 1]).unwrap_or(at);
        order.swap(at - 1, swap);
        order[at..].reverse();
        all.push(order.clone());
        if all.len() > most {
            return None;
        }
    }
    Some(all)
}

/// The values of one taster, which chance puts into any order among the glasses.
#[derive(Clone, Debug)]
pub struct Row<'a> {
    /// The glasses.
    pub glasses: &'a [usize],
    /// A value a glass.
    pub values: Vec<f64>,
}

/// The probability that a statistic of the sums of values by glass is at least what was seen, from drawn orders: until the verdict stands and
/// enough were as far. None where drawing takes too long. `steps` is what the statistic of one draw takes besides the cells.
pub fn drawn(
    glasses: usize,
    mut rows: Vec<Row<'_>>,
    (draws, watch): (Draws, Watch<'_>),
    steps: usize,
    statistic: impl Fn(&[f64]) -> f64,
) -> Option<Probability> {
    let a_draw = rows.iter().map(|row| row.values.len()).sum::<usize>() + steps;
    if a_draw > MOST_STEPS_A_DRAW {
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
    let most = draws.most.min(MOST_DRAWN_STEPS / a_draw.max(1)).max(draws.first);
    let mut chance = Chance::from_seed(SEED);
    let (mut as_far, mut orders, mut until) = (1_usize, 1_usize, draws.first + 1);
    loop {
        while orders < until {
            for row in &mut rows {
                chance.shuffle(&mut row.values);
            }
            summed(&rows, &mut sums);
            as_far += usize::from(statistic(&sums) >= seen);
            orders += 1;
        }
        let probability = Probability { p: as_far as f64 / orders as f64, by: By::Draws(orders) };
        let stands = (probability.p - LEVEL).abs() > STANDS * probability.error().unwrap_or(0.0);
        let is_enough = stands && as_far >= ENOUGH;
        if is_enough || until > most || !watch.wanted(orders as f64 / most as f64) {
            return Some(probability);
        }
        until = (2 * until).min(most + 1);
    }
}

#[cfg(test)]
mod tests {
    use super::super::ranks::samples::least_best;
    use super::*;

    #[test]
    fn arrangements_are_all_and_each_once() {
        let all = |numbers: &[u16]| arrangements(numbers, 1_000).unwrap();
        assert_eq!(all(&[2, 0, 2]), [[0, 2, 2], [2, 0, 2], [2, 2, 0]]);
        assert_eq!(all(&[0, 2, 4, 6, 8]).len(), 120);
        assert_eq!(all(&[3, 3]), [[3, 3]]);
        assert_eq!(arrangements(&[0, 2, 4, 6, 8], 119), None);
    }

    #[test]
    fn all_that_chance_brings_has_the_probability_one() {
        for text in ["1 2 3|1 2 2|1 1 1|3 1 2", "1 2 -|- 1 2|1 - 2"] {
            let all = counted(&least_best(text), Watch::NOBODY, |sums| {
                assert!(sums.iter().all(|sum| (2.0..=12.0).contains(sum)), "{sums:?}");
                true
            });
            assert!((all.unwrap().p - 1.0).abs() < 1e-12);
        }
        assert_eq!(counted(&least_best("1 2 3 4 5 6 7 8 9"), Watch::NOBODY, |_| true), None);
    }

    #[test]
    fn drawing_gives_the_same_again_and_comes_near_to_counting() {
        let ranked = least_best("1 2 3 4|1 2 4 3|2 1 3 4|1 3 2 4");
        let squares = |sums: &[f64]| sums.iter().map(|sum| (sum - 10.0) * (sum - 10.0)).sum::<f64>();
        let seen = squares(&ranked.sums());
        let rows = || ranked.blocks.iter().map(|it| Row { glasses: &it.glasses, values: it.ranks.clone() }).collect();
        let drawn_once = drawn(4, rows(), (DRAWS, Watch::NOBODY), 4, squares).unwrap();
        assert_eq!(drawn(4, rows(), (DRAWS, Watch::NOBODY), 4, squares), Some(drawn_once));
        let exact = counted(&ranked, Watch::NOBODY, |sums| squares(sums) >= seen - 1e-9).unwrap();
        assert!((exact.p - drawn_once.p).abs() < 0.003, "{exact:?} {drawn_once:?}");
        assert_eq!(drawn(4, rows(), (DRAWS, Watch::NOBODY), 1_000, squares), None);
    }

    /// Eight tasters who agree on six glasses but for one pair each: an exact probability of a few millionths (every order counted) is
    /// neither said to be nought nor one of ten thousand.
    #[test]
    fn what_is_counted_may_be_as_small_as_it_is() {
        let ranked = least_best("1 2 3 4 5|1 2 3 5 4|2 1 3 4 5|1 2 3 4 5|1 3 2 4 5");
        let squares = |sums: &[f64]| sums.iter().map(|sum| (sum - 15.0) * (sum - 15.0)).sum::<f64>();
        let seen = squares(&ranked.sums());
        let exact = counted(&ranked, Watch::NOBODY, |sums| squares(sums) >= seen - 1e-9).unwrap();
        assert!(exact.by == By::Exact && exact.p > 0.0 && exact.p < 1e-4, "{exact:?}");
        let rows = ranked.blocks.iter().map(|it| Row { glasses: &it.glasses, values: it.ranks.clone() }).collect();
        let drawn = drawn(5, rows, (DRAWS, Watch::NOBODY), 5, squares).unwrap();
        assert!(drawn.p < 1e-4 && drawn.by != By::Draws(10_000), "{drawn:?}");
        assert!((drawn.p - exact.p).abs() < 5.0 * drawn.error().unwrap().max(1e-6), "{exact:?} {drawn:?}");
    }

    #[test]
    fn what_is_not_wanted_any_more_ends() {
        let rows = ["1 2 3 4 5 6"; 7].join("|");
        assert_eq!(counted(&least_best(&rows), Watch::by(&|_| false), |_| true), None);
    }
}
