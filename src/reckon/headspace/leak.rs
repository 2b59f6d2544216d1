//! Leaks: a sequential test of each barrel against what it should drink.

use serde::{Deserialize, Serialize};

/// The leak that is looked for: so much of what the barrel should drink, beside it. Less than the doubling that must be
/// found, so that a sparing barrel's doubling is found as well (our choice).
const LOOKED_FOR: f64 = 0.7;
/// A barrel that drinks less than half of its neighbours is looked at as if it drank half.
const LEAST_FACTOR: f64 = 0.5;

/// The sum of the log-likelihood ratios at which a barrel is said to leak. By Lorden (1971) such a sum passes h by
/// chance no sooner than every e^h readings in the mean: 37; as single readings are cut off below, it is hundreds.
const ALARM: f64 = 3.6;
/// No single reading counts more than this, so that one topping alone convicts no barrel (our choice).
const MOST_AT_ONCE: f64 = 2.9;
/// The same sum for the opposite at which a leak is said to be mended.
const ALL_CLEAR: f64 = 4.0;
/// What drinks less than so many times what it should is not said to leak (our choice).
const LEAST_TIMES: f64 = 1.4;

/// A barrel that drinks more than it should.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leak {
    /// How many times what it should.
    pub times: f64,
    /// Since when, days since the epoch: the beginning of the interval in which it first drank too much.
    pub since: f64,
}

/// What is remembered for the test.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Watch {
    /// The sum of the log-likelihood ratios, never below nothing (Page 1954); for the leak, or once there is one, against.
    sum: f64,
    /// Since when the sum is above nothing, days.
    since: f64,
    /// What its factor was when the leak began; zero where there is none.
    sound: f64,
}

/// One finding, as the test reads it.
pub(super) struct Reading {
    /// Litres found beyond those expected.
    pub surprise: f64,
    /// The variance of that.
    pub variance: f64,
    /// What a factor of one would have lost.
    pub exposure: f64,
    /// The barrel's factor, as it was believed.
    pub factor: f64,
    /// When the interval began, days.
    pub from: f64,
}

/// What a finding means.
pub(super) enum Verdict {
    /// Nothing new.
    Nothing,
    /// It leaks.
    Leaks,
    /// It leaks no more; this is its factor.
    Mended { factor: f64 },
}

impl Watch {
    /// Whether it leaks.
    #[must_use]
    pub fn leaks(&self) -> bool {
        self.sound > 0.0
    }

    /// The leak, if there is one, for a barrel of this factor.
    #[must_use]
    pub fn leak(&self, factor: f64) -> Option<Leak> {
        let times = factor / self.sound.max(f64::MIN_POSITIVE);
        (self.leaks() && times >= LEAST_TIMES).then_some(Leak { times, since: self.since })
    }

    /// Its factor without the leak.
    pub(super) fn sound_factor(&self, factor: f64) -> f64 {
        if self.leaks() { self.sound } else { factor }
    }

    /// Takes a finding in.
    pub(super) fn read(&mut self, reading: &Reading) -> Verdict {
        if self.leaks() { self.read_leaking(reading) } else { self.read_sound(reading) }
    }

    /// One step of the cumulative sum (Page 1954): the log-likelihood ratio of a normal surprise with and without the leak,
    /// δ (ν − δ/2) / s².
    fn read_sound(&mut self, reading: &Reading) -> Verdict {
        let more = LOOKED_FOR * reading.factor.max(LEAST_FACTOR) * reading.exposure;
        let before = self.sum;
        self.sum = (before + ratio(more, reading).min(MOST_AT_ONCE)).max(0.0);
        if before <= 0.0 {
            self.since = reading.from;
        }
        if self.sum < ALARM {
            return Verdict::Nothing;
        }
        self.sum = 0.0;
        self.sound = reading.factor;
        Verdict::Leaks
    }

    /// The same for what it drank before the leak against what it drinks with it.
    fn read_leaking(&mut self, reading: &Reading) -> Verdict {
        let less = (self.sound - reading.factor) * reading.exposure;
        self.sum = (self.sum + ratio(less, reading)).max(0.0);
        let factor = if self.sum >= ALL_CLEAR {
            self.sound
        } else if reading.factor < LEAST_TIMES * self.sound {
            // It was never as much: the barrel is thirstier than was thought.
            reading.factor
        } else {
            return Verdict::Nothing;
        };
        *self = Watch::default();
        Verdict::Mended { factor }
    }
}

fn ratio(shift: f64, reading: &Reading) -> f64 {
    shift * (reading.surprise - shift / 2.0) / reading.variance
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A litre is expected of a factor of one, with a deviation of a quarter of a litre.
    fn reading(surprise: f64, factor: f64) -> Reading {
        Reading { surprise, variance: 0.0625, exposure: 1.0, factor, from: 20_000.0 }
    }

    fn says_leak(verdict: &Verdict) -> bool {
        matches!(verdict, Verdict::Leaks)
    }

    /// δ = 0.7, ν = 0.4: 0.7 (0.4 − 0.35) / 0.0625 = 0.56.
    #[test]
    fn the_sum_with_a_pencil() {
        let mut watch = Watch::default();
        assert!(!says_leak(&watch.read(&reading(0.4, 1.0))));
        assert!((watch.sum - 0.56).abs() < 1e-9);
        assert!(!says_leak(&watch.read(&reading(0.0, 1.0))));
        assert!(watch.sum.abs() < 1e-9, "it never falls below nothing");
    }

    #[test]
    fn no_single_topping_convicts_a_barrel_but_two_do() {
        let mut watch = Watch::default();
        assert!(!says_leak(&watch.read(&reading(50.0, 1.0))));
        assert_eq!(watch.leak(1.0), None);
        assert!(says_leak(&watch.read(&reading(1.0, 1.0))));
        assert_eq!(watch.leak(2.0), Some(Leak { times: 2.0, since: 20_000.0 }));
    }

    #[test]
    fn what_drinks_as_before_is_mended() {
        let mut watch = Watch::default();
        watch.read(&reading(1.0, 1.0));
        watch.read(&reading(1.0, 1.0));
        assert!(watch.leaks());
        assert!(matches!(watch.read(&reading(0.0, 2.0)), Verdict::Nothing));
        assert!(matches!(watch.read(&reading(-1.0, 2.0)), Verdict::Mended { factor } if (factor - 1.0).abs() < 1e-9));
        assert!(!watch.leaks());
    }

    #[test]
    fn what_was_only_thirsty_is_let_off() {
        let mut watch = Watch { sum: 0.0, since: 20_000.0, sound: 1.0 };
        assert!(matches!(watch.read(&reading(0.0, 1.2)), Verdict::Mended { factor } if (factor - 1.2).abs() < 1e-9));
    }
}
