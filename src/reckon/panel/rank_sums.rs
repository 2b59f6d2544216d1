//! Glasses compared two by two by their rank sums: ISO 8587's least significant difference, and the same held back for
//! the number of pairs.
//!
//! The standard's difference 1.96 √(b k (k + 1)/6) is the normal distribution's for one pair. With ties the variance of the
//! mid-ranks takes the place of k(k + 1)/12; in balanced flights a glass meets each other one less often. Where everybody tasted
//! everything, how likely chance sets two glasses so far apart is counted exactly: taster by taster, any two ranks in any order.

use super::groups::Apart;
use super::probability::{LEVEL, held_back, normal_tail};
use super::ranks::{Block, Layout, Ranked, doubled};
use super::skillings_mack::Within;

/// What one pair must differ by, in deviations.
const DEVIATIONS: f64 = 1.959_963_984_540_054;

/// Two glasses compared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// A glass.
    pub one: usize,
    /// Another.
    pub other: usize,
    /// The probability that chance alone sets these two so far apart.
    pub p: f64,
    /// The same held back for the number of pairs (Holm).
    pub held_back: f64,
}

/// All glasses compared two by two.
#[derive(Clone, Debug, PartialEq)]
pub struct RankSums {
    /// Where each glass stands once it is known who tasted what: the least is the best.
    pub effects: Vec<f64>,
    /// ISO 8587's least significant difference of two rank sums at five in a hundred; none in unbalanced flights, where it
    /// is another for every pair.
    pub least_difference: Option<f64>,
    /// The same with the variance that tied ranks really have.
    pub tied_difference: Option<f64>,
    /// The pairs.
    pub pairs: Vec<Pair>,
}

impl RankSums {
    /// The comparisons of a table's glasses.
    #[must_use]
    pub fn of(ranked: &Ranked, within: &Within<'_>) -> RankSums {
        let effects = within.effects();
        let indices = (0..ranked.glasses).flat_map(|other| (0..other).map(move |one| (one, other)));
        let pairs: Vec<(usize, usize)> = indices.collect();
        let counted = Counted::of(ranked);
        let sums = ranked.sums();
        let tails = |&(one, other): &(usize, usize)| match &counted {
            Some(counted) => counted.at_least(sums[one] - sums[other]),
            None => 2.0 * normal_tail((effects[one] - effects[other]).abs() / within.deviation(one, other)),
        };
        let p: Vec<f64> = pairs.iter().map(tails).collect();
        let held = held_back(&p);
        let pair =
            |((&(one, other), &p), &held_back): ((&(usize, usize), &f64), &f64)| Pair { one, other, p, held_back };
        let pairs = pairs.iter().zip(&p).zip(&held).map(pair).collect();
        RankSums {
            least_difference: difference(ranked, untied),
            tied_difference: difference(ranked, Block::variance),
            effects,
            pairs,
        }
    }

    /// What is told apart when each pair is taken by itself, as the standard does once the table as a whole is told.
    #[must_use]
    pub fn each_by_itself(&self) -> Apart {
        self.apart(|pair| pair.p)
    }

    /// What is told apart when the pairs are held back for their number.
    #[must_use]
    pub fn held_back(&self) -> Apart {
        self.apart(|pair| pair.held_back)
    }

    fn apart(&self, p: impl Fn(&Pair) -> f64) -> Apart {
        let mut apart = Apart::nothing(self.effects.len());
        self.pairs.iter().filter(|pair| p(pair) <= LEVEL).for_each(|pair| apart.tell(pair.one, pair.other));
        apart
    }
}

/// How far apart chance sets the rank sums of two glasses that everybody tasted: by twice the difference, from the least that it can be.
struct Counted {
    least: i64,
    likely: Vec<f64>,
}

impl Counted {
    fn of(ranked: &Ranked) -> Option<Counted> {
        if ranked.layout() != Layout::Complete {
            return None;
        }
        let mut counted = Counted { least: 0, likely: vec![1.0] };
        for block in &ranked.blocks {
            let ranks = doubled(&block.ranks);
            let widest = usize::from(ranks.iter().max()? - ranks.iter().min()?);
            let mut apart = vec![0.0; 2 * widest + 1];
            let pairs = (ranks.len() * (ranks.len() - 1)) as f64;
            for (at, &one) in ranks.iter().enumerate() {
                for (_, &other) in ranks.iter().enumerate().filter(|(other, _)| *other != at) {
                    apart[widest + usize::from(one) - usize::from(other)] += 1.0 / pairs;
                }
            }
            let mut next = vec![0.0; counted.likely.len() + 2 * widest];
            for (before, likely) in counted.likely.iter().enumerate() {
                for (more, part) in apart.iter().enumerate().filter(|(_, part)| **part > 0.0) {
                    next[before + more] += likely * part;
                }
            }
            counted = Counted { least: counted.least - i64::try_from(widest).ok()?, likely: next };
        }
        Some(counted)
    }

    /// How likely two sums lie at least so far apart.
    fn at_least(&self, difference: f64) -> f64 {
        let far =
            (self.least..).zip(&self.likely).filter(|(twice, _)| twice.abs() as f64 >= 2.0 * difference.abs() - 1e-6);
        far.map(|(_, likely)| likely).sum::<f64>().min(1.0)
    }
}

/// The variance of ranks without ties: n(n + 1)/12.
fn untied(block: &Block) -> f64 {
    let count = block.ranks.len() as f64;
    count * (count + 1.0) / 12.0
}

/// The least significant difference of rank sums, where it is one for all pairs.
fn difference(ranked: &Ranked, variance: fn(&Block) -> f64) -> Option<f64> {
    if ranked.layout() == Layout::Incomplete {
        return None;
    }
    let variance: f64 = ranked.blocks.iter().map(variance).sum();
    let met = (ranked.blocks.first()?.ranks.len() as f64 - 1.0) / (ranked.glasses as f64 - 1.0);
    Some(DEVIATIONS * libm::sqrt(2.0 * variance * met))
}

#[cfg(test)]
pub(super) mod samples {
    //! Ranks for tests.

    /// Ranks of eight assessors with the rank sums of ISO 8587, Annex A: A 17, B 31, C 32, D 23, E 17. The sums are the
    /// standard's, the rows ours.
    pub const STANDARD: &str = "1 4 5 2 3|3 4 2 5 1|1 4 5 3 2|3 5 4 1 2|2 1 5 4 3|1 5 3 2 4|4 5 3 2 1|2 3 5 4 1";
}

#[cfg(test)]
mod tests {
    use super::super::ranks::samples::least_best;
    use super::samples::STANDARD;
    use super::*;

    /// ISO 8587, Annex A: the difference is 12.396; A and E stand apart from B and C, and D overlaps.
    #[test]
    fn least_difference_of_the_standard() {
        let ranked = least_best(STANDARD);
        assert_eq!(ranked.sums(), [17.0, 31.0, 32.0, 23.0, 17.0]);
        let sums = RankSums::of(&ranked, &Within::of(&ranked).unwrap());
        assert!((sums.least_difference.unwrap() - 12.396).abs() < 0.0005, "{sums:?}");
        assert_eq!(sums.each_by_itself().letters(&[0, 4, 3, 1, 2]), ["a", "b", "b", "ab", "a"]);
        assert!(!sums.held_back().any() && sums.pairs.iter().all(|pair| pair.held_back >= pair.p));
    }

    #[test]
    fn ties_make_the_difference_smaller_and_flights_too() {
        let tied = |text| difference(&least_best(text), Block::variance).unwrap();
        assert!(tied("1 2 3|1 1 3") < tied("1 2 3|1 2 3"));
        let difference = |text| difference(&least_best(text), untied).unwrap();
        assert!((difference("1 2 3|1 1 3") - difference("1 2 3|1 2 3")).abs() < 1e-12, "the standard knows no ties");
        // One pair of two glasses each: two tasters, 1.96 √2.
        assert!((difference("1 2|1 2") - 1.96 * 2.0_f64.sqrt()).abs() < 1e-3);
        assert!((difference("1 2 -|1 - 2|- 1 2") - 1.96 * (1.5_f64).sqrt()).abs() < 1e-3);
        assert_eq!(super::difference(&least_best("1 2 -|1 - 2|1 2 3"), untied), None);
    }

    /// Two tasters and three glasses: one taster sets two of them two apart in a third of all orders, else one; both together four apart in
    /// 2 of 36, three in 8 (gone through by hand).
    #[test]
    fn two_glasses_are_counted_exactly() {
        let counted = Counted::of(&least_best("1 2 3|1 2 3")).unwrap();
        for (apart, ways) in [(4.0, 2.0), (3.0, 10.0), (0.0, 36.0)] {
            assert!(
                (counted.at_least(apart) - ways / 36.0).abs() < 1e-12,
                "{apart}: {}",
                counted.at_least(apart) * 36.0
            );
        }
        assert!(Counted::of(&least_best("1 2 -|1 - 2|1 2 3")).is_none());
    }
}
