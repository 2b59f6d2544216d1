//! How even a serving is.

use super::counts::Counts;
use super::layout::{Question, Serving};

/// From the least to the most often that something happens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Range {
    /// The least.
    pub least: i64,
    /// The most.
    pub most: i64,
}

impl Range {
    fn of(counts: impl Iterator<Item = i64>) -> Range {
        counts
            .fold(None, |range: Option<Range>, count| {
                let range = range.unwrap_or(Range { least: count, most: count });
                Some(Range { least: range.least.min(count), most: range.most.max(count) })
            })
            .unwrap_or(Range { least: 0, most: 0 })
    }

    /// Whether nothing happens more than once oftener than something else: more cannot be asked where it does not divide.
    #[must_use]
    pub fn is_even(self) -> bool {
        self.most - self.least <= 1
    }
}

/// How even a serving is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Balance {
    /// How often a glass is tasted.
    pub tasted: Range,
    /// How often a glass stands at a place of a flight; the last place of unequal flights is left out.
    pub at_place: Range,
    /// How often a glass is tasted just behind a given other one, repeats of itself left out.
    pub behind: Range,
    /// How often two glasses stand in the same flight, repeats left out.
    pub beside: Range,
    /// Whether every glass can be compared with every other, over glasses that one person tasted.
    pub connected: bool,
}

impl Balance {
    /// Counts a serving.
    pub(super) fn of(question: &Question, serving: &Serving) -> Balance {
        let glasses = question.glasses;
        let orders = &serving.orders;
        let flights = orders.iter().map(Vec::len).max().unwrap_or(0);
        let sizes = || orders.iter().flatten().map(Vec::len);
        let (largest, smallest) = (sizes().max().unwrap_or(0), sizes().min().unwrap_or(0));
        let mut counts = Counts::none(glasses, largest, flights);
        let mut tasted = vec![0; glasses];
        for order in orders {
            for (number, flight) in order.iter().enumerate() {
                counts.add(number, flight);
                for &glass in flight {
                    tasted[glass] += 1;
                }
            }
        }
        let pairs = |counts: &[i64]| {
            let strangers = (0..glasses * glasses).filter(|index| {
                let (one, other) = (index / glasses, index % glasses);
                question.original(one) != question.original(other)
            });
            Range::of(strangers.map(|index| counts[index]))
        };
        let places = counts.place.iter().enumerate().filter(|(index, _)| index % largest.max(1) < smallest);
        Balance {
            tasted: Range::of(tasted.into_iter()),
            at_place: Range::of(places.map(|(_, &count)| count)),
            behind: pairs(&counts.behind),
            beside: pairs(&counts.beside),
            connected: connected(glasses, orders),
        }
    }
}

/// Whether all glasses hang together over the tasters who tasted several of them.
fn connected(glasses: usize, orders: &[Vec<Vec<usize>>]) -> bool {
    let mut reached = vec![false; glasses];
    let Some(first) = reached.first_mut() else { return true };
    *first = true;
    // Each pass reaches at least one more taster's glasses or is the last.
    loop {
        let before = reached.iter().filter(|&&glass| glass).count();
        for order in orders {
            if order.iter().flatten().any(|&glass| reached[glass]) {
                order.iter().flatten().for_each(|&glass| reached[glass] = true);
            }
        }
        let after = reached.iter().filter(|&&glass| glass).count();
        if after == before {
            return after == glasses;
        }
    }
}
