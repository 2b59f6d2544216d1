//! Difference tests: triangle, duo-trio, paired comparison, by the exact binomial distribution.
//!
//! ISO 4120 (triangle), ISO 10399 (duo-trio), ISO 5495 (paired): of `n` answers `c` are right, which chance alone would
//! bring with a third or a half each.

use statrs::distribution::{Beta, Binomial, ContinuousCDF, DiscreteCDF};
use thiserror::Error;

use super::panel::words::probability;

/// More answers than this are a slip of the hand.
const MOST_ANSWERS: u64 = 10_000;
/// The levels at which minimum numbers are given.
pub const LEVELS: [f64; 3] = [0.05, 0.01, 0.001];
/// Both ends of an interval that holds nineteen in twenty.
const ENDS: (f64, f64) = (0.025, 0.975);

/// Which test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Three glasses, two alike: which is the odd one?
    Triangle,
    /// Two glasses and a reference: which is like the reference?
    DuoTrio,
    /// Two glasses, of which one is expected to be chosen.
    PairedOneSided,
    /// Two glasses, either of which may be chosen.
    PairedTwoSided,
}

impl Method {
    /// The probability of a right answer by chance.
    #[must_use]
    pub const fn by_chance(self) -> f64 {
        match self {
            Method::Triangle => 1.0 / 3.0,
            Method::DuoTrio | Method::PairedOneSided | Method::PairedTwoSided => 0.5,
        }
    }

    /// Its name.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Method::Triangle => "triangle",
            Method::DuoTrio => "duo_trio",
            Method::PairedOneSided => "paired_one_sided",
            Method::PairedTwoSided => "paired_two_sided",
        }
    }
}

/// Why answers can't be judged.
#[derive(Clone, Copy, Debug, Error, PartialEq, Eq)]
pub enum DifferenceError {
    /// No answers, or too many.
    #[error("{0} answers can't be judged. Give a number from 1 to 10000.")]
    Answers(u64),
    /// More right ones than answers.
    #[error("{correct} right answers of {answers} can't be. Give at most {answers}.")]
    Correct {
        /// The right ones.
        correct: u64,
        /// All.
        answers: u64,
    },
}

/// What answers say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// The test.
    pub method: Method,
    /// All answers.
    pub answers: u64,
    /// The right ones; of a two-sided pair those for the first glass.
    pub correct: u64,
    /// The probability that chance alone brings as many or more; of a two-sided pair so uneven a count or more.
    pub p: f64,
    /// The share of right answers and the interval that holds it nineteen times in twenty (Clopper and Pearson).
    pub share: Estimate,
    /// The share of people who tell the difference, beyond those who guess right; none of a two-sided pair.
    pub discriminators: Option<Estimate>,
}

/// A share with its interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The estimate, 0 to 1.
    pub share: f64,
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

impl Difference {
    /// Judges answers.
    pub fn of(method: Method, answers: u64, correct: u64) -> Result<Difference, DifferenceError> {
        check(answers)?;
        if correct > answers {
            return Err(DifferenceError::Correct { correct, answers });
        }
        let share = interval(answers, correct);
        let chance = method.by_chance();
        let beyond = |share: f64| ((share - chance) / (1.0 - chance)).max(0.0);
        let discriminators = Estimate { share: beyond(share.share), low: beyond(share.low), high: beyond(share.high) };
        let p = tail(method, answers, correct);
        let discriminators = (method != Method::PairedTwoSided).then_some(discriminators);
        Ok(Difference { method, answers, correct, p, share, discriminators })
    }

    /// The sentence for the person.
    #[must_use]
    pub fn words(&self) -> String {
        let Difference { answers, correct, .. } = self;
        let p = probability(self.p);
        let told = self.p <= LEVELS[0];
        let Some(people) = self.discriminators else {
            let preferred = format!("{correct} of {answers} chose the first glass ({p})");
            return match told {
                true if correct * 2 > *answers => format!("{preferred}: they choose it more often than the other."),
                true => format!("{preferred}: they choose the other more often."),
                false => format!("{preferred}: nothing here sets one above the other."),
            };
        };
        let answered = format!("{correct} of {answers} answered right ({p})");
        let percent = |share: f64| (share * 100.0).round();
        if told {
            let (share, low, high) = (percent(people.share), percent(people.low), percent(people.high));
            return format!(
                "{answered}: the difference is told. About {share} of a hundred people can tell it; with so many answers it may be \
                 anything from {low} to {high}."
            );
        }
        match least_correct(self.method, *answers, LEVELS[0]) {
            None => format!("{answered}: so few answers can tell nothing. Ask more people."),
            Some(least) => format!(
                "{answered}: nothing here says that they tell a difference; {least} would have. Up to {} % may tell it.",
                percent(people.high)
            ),
        }
    }
}

/// The least number of right answers that is told from chance at a level; none where even all of them are not. Of a
/// two-sided pair it is the greater of the two counts.
#[must_use]
pub fn least_correct(method: Method, answers: u64, level: f64) -> Option<u64> {
    check(answers).ok()?;
    // A two-sided tail is that of both sides below the middle.
    let from = if method == Method::PairedTwoSided { answers.div_ceil(2) } else { 0 };
    let (mut low, mut high) = (from, answers + 1);
    while low < high {
        let middle = low.midpoint(high);
        if middle <= answers && tail(method, answers, middle) > level { low = middle + 1 } else { high = middle }
    }
    (low <= answers).then_some(low)
}

fn check(answers: u64) -> Result<(), DifferenceError> {
    if (1..=MOST_ANSWERS).contains(&answers) { Ok(()) } else { Err(DifferenceError::Answers(answers)) }
}

fn tail(method: Method, answers: u64, correct: u64) -> f64 {
    let at_least = |correct: u64| match correct.checked_sub(1) {
        None => 1.0,
        Some(below) => Binomial::new(method.by_chance(), answers).map_or(1.0, |it| it.sf(below)),
    };
    match method {
        Method::PairedTwoSided => (2.0 * at_least(correct.max(answers - correct))).min(1.0),
        _ => at_least(correct),
    }
}

/// Clopper and Pearson's interval, by the beta distribution.
fn interval(answers: u64, correct: u64) -> Estimate {
    let (all, right) = (answers as f64, correct as f64);
    let end = |one: f64, other: f64, part: f64| Beta::new(one, other).map_or(0.0, |it| it.inverse_cdf(part));
    Estimate {
        share: right / all,
        low: if correct == 0 { 0.0 } else { end(right, all - right + 1.0, ENDS.0) },
        high: if correct == answers { 1.0 } else { end(right + 1.0, all - right, ENDS.1) },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Triangle: FAO Fisheries Technical Paper 348; duo-trio and one-sided pairs: the exact binomial, computed.
    #[test]
    fn minimum_numbers_at_five_in_a_hundred() {
        for (answers, least) in [(6, 5), (12, 8), (18, 10), (24, 13), (30, 15), (36, 18), (48, 22), (60, 27)] {
            assert_eq!(least_correct(Method::Triangle, answers, 0.05), Some(least));
        }
        for (answers, least) in [(10, 9), (20, 15), (30, 20), (40, 26)] {
            assert_eq!(least_correct(Method::DuoTrio, answers, 0.05), Some(least));
            assert_eq!(least_correct(Method::PairedOneSided, answers, 0.05), Some(least));
        }
        assert_eq!(least_correct(Method::Triangle, 2, 0.05), None);
        assert_eq!(least_correct(Method::PairedTwoSided, 5, 0.05), None);
        assert_eq!(least_correct(Method::PairedTwoSided, 6, 0.05), Some(6));
    }

    /// scipy 1.17.1, `binomtest` and its exact interval.
    #[test]
    fn probabilities_and_intervals() {
        for (method, answers, correct, p, low, high) in [
            (Method::Triangle, 24, 13, 0.028_441_128, 0.328_208_076, 0.744_469_798),
            (Method::DuoTrio, 30, 18, 0.180_797_304, 0.406_034_930, 0.773_442_351),
            (Method::Triangle, 12, 8, 0.018_758_432, 0.348_875_506, 0.900_753_909),
            (Method::PairedTwoSided, 30, 18, 0.361_594_608, 0.406_034_930, 0.773_442_351),
        ] {
            let found = Difference::of(method, answers, correct).unwrap();
            assert!((found.p - p).abs() < 1e-8, "{found:?}");
            assert!((found.share.low - low).abs() < 1e-6 && (found.share.high - high).abs() < 1e-6, "{found:?}");
        }
        let triangle = Difference::of(Method::Triangle, 24, 13).unwrap().discriminators.unwrap();
        assert!((triangle.share - (13.0 / 24.0 - 1.0 / 3.0) * 1.5).abs() < 1e-12 && triangle.low == 0.0);
    }

    #[test]
    fn words_are_careful() {
        for (method, answers, correct, part) in [
            (Method::Triangle, 24, 13, "the difference is told. About 31 of a hundred people can tell it"),
            (Method::Triangle, 24, 12, "13 would have"),
            (Method::Triangle, 2, 2, "so few answers can tell nothing"),
            (Method::PairedTwoSided, 30, 18, "nothing here sets one above the other"),
            (Method::PairedTwoSided, 30, 25, "choose it more often"),
            (Method::PairedTwoSided, 30, 5, "choose the other more often"),
        ] {
            let words = Difference::of(method, answers, correct).unwrap().words();
            assert!(words.contains(part), "{words}");
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let told = Difference::of(Method::Triangle, 10, 11).unwrap_err().to_string();
        assert_eq!(told, "11 right answers of 10 can't be. Give at most 10.");
        assert_eq!(Difference::of(Method::DuoTrio, 0, 0), Err(DifferenceError::Answers(0)));
        assert_eq!(Difference::of(Method::DuoTrio, 10_001, 0), Err(DifferenceError::Answers(10_001)));
    }

    proptest! {
        #[test]
        fn the_minimum_is_the_first_that_is_told(answers in 1_u64..200, which in 0_usize..4) {
            let method =
                [Method::Triangle, Method::DuoTrio, Method::PairedOneSided, Method::PairedTwoSided][which];
            let p = |correct| Difference::of(method, answers, correct).unwrap().p;
            match least_correct(method, answers, 0.05) {
                Some(least) => {
                    prop_assert!(p(least) <= 0.05 && p(least - 1) > 0.05);
                }
                None => prop_assert!(p(answers) > 0.05),
            }
        }
    }
}
