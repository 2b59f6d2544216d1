//! Leaks: each barrel is tested, topping by topping, against what it should drink.
//!
//! **A leak** is said after two toppings at the earliest; a barrel's first rounds are compared with its room, later ones with itself.
//! `tests/headspace/ideal.rs` reckons what nobody could do better; the leaks found are held to that, and errors are printed beside it. A
//! false alarm stays for two or three rounds, so that in rooms of weak signal up to 13 sound barrels in a thousand are under suspicion.

use serde::{Deserialize, Serialize};

/// A barrel that drinks less than half of its neighbours is looked at as if it drank half (our choice).
const LEAST_FACTOR: f64 = 0.5;

/// By so many of its own deviations what a barrel drinks too much must lie above nothing. Of a thousand sound barrels two
/// lie beyond 2.85 (normal distribution). Each is looked at anew every round and as to two beginnings, and no bung is quite
/// normal: with it no simulated room says more than one sound barrel in two hundred in a round to leak, and the worst nearly
/// as many.
const SURELY: f64 = 2.85;
/// A reading beyond so many deviations is taken for one whose variance puts it there, as the barrel takes it.
const BELIEVED_DEVIATIONS: f64 = super::barrel::BELIEVED_DEVIATIONS;
/// The sum of the log-likelihood ratios of drinking as before against drinking as it does, at which a leak is said to be mended.
const ALL_CLEAR: f64 = 4.0;
/// What drinks less than so many times what it should is not said to leak (our choice): low enough that a doubling is
/// hardly ever taken for less by chance.
const LEAST_TIMES: f64 = 1.3;
/// Once it is said and more is known, it must be as much as this to be said on (our choice: a doubling seldom falls below,
/// and what was only thirsty is let off soon).
const STAYS_TIMES: f64 = 1.4;

/// A barrel that drinks more than it should.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leak {
    /// How many times what it should.
    pub times: f64,
    /// Since when, days since the epoch: the beginning of the interval in which it first drank too much.
    pub since: f64,
}

/// What speaks for a leak that began with a certain interval.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
struct Suspicion {
    /// Sum of s ν / V: s is what a doubling would have added to the surprise ν, V its variance.
    score: f64,
    /// Sum of s² / V.
    information: f64,
    /// By how much a doubling since then would have led astray the factor, and the carry, litres.
    misled: [f64; 2],
    /// When that interval began, days.
    since: f64,
}

/// What is remembered for the test.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Watch {
    /// The leak that began with the last interval …
    last: Suspicion,
    /// … or with the one before it that speaks loudest.
    earlier: Suspicion,
    /// Once it leaks: the sum of the log-likelihood ratios for its being mended, never below nothing (Page 1954).
    sum: f64,
    /// Since when it leaks, days.
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
    /// The covariance of what is found with the factor, and with the error that the next finding will find.
    pub spread: [f64; 2],
    /// When the interval began, days.
    pub from: f64,
}

/// What a finding means.
pub(super) enum Verdict {
    /// Nothing new.
    Nothing,
    /// It leaks, and that has led its factor and its carry, litres, astray by so much.
    Leaks { misled: [f64; 2] },
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
        let times = (factor / self.sound.max(f64::MIN_POSITIVE)).max(LEAST_TIMES);
        self.leaks().then_some(Leak { times, since: self.since })
    }

    /// Its factor without the leak.
    pub(super) fn sound_factor(&self, factor: f64) -> f64 {
        if self.leaks() { self.sound } else { factor }
    }

    /// Takes a finding in.
    pub(super) fn read(&mut self, reading: &Reading) -> Verdict {
        if self.leaks() { self.read_leaking(reading) } else { self.read_sound(reading) }
    }

    /// Takes the finding in as the first, and as a further one of the two beginnings that are kept (after Willsky and Jones
    /// 1976). It takes two to be sure: one topping alone convicts no barrel (our choice).
    fn read_sound(&mut self, reading: &Reading) -> Verdict {
        let (earlier, last) = (self.earlier.and(reading), self.last.and(reading));
        let mut beginnings = [(earlier, self.earlier), (last, self.last)];
        if last.likelihood() >= earlier.likelihood() {
            beginnings.reverse();
        }
        let Some((leak, before)) = beginnings.into_iter().find(|(now, _)| now.convicts()) else {
            self.earlier = beginnings[0].0;
            self.last = Suspicion::from(reading);
            return Verdict::Nothing;
        };
        *self = Watch { since: leak.since, sound: reading.factor, ..Watch::default() };
        Verdict::Leaks { misled: before.misled.map(|misled| misled * leak.excess()) }
    }

    /// One step of the cumulative sum (Page 1954): the log-likelihood ratio δ (ν − δ/2) / V of what it
    /// drank before the leak against what it drinks with it.
    fn read_leaking(&mut self, reading: &Reading) -> Verdict {
        let less = (self.sound - reading.factor) * reading.exposure;
        self.sum = (self.sum + ratio(less, reading)).max(0.0);
        let factor = if self.sum >= ALL_CLEAR {
            self.sound
        } else if reading.factor < STAYS_TIMES * self.sound {
            // It was never as much: the barrel is thirstier than was thought.
            reading.factor
        } else {
            return Verdict::Nothing;
        };
        *self = Watch::default();
        Verdict::Mended { factor }
    }
}

impl Suspicion {
    /// The leak would have begun with the interval of this finding.
    fn from(reading: &Reading) -> Suspicion {
        Suspicion { since: reading.from, ..Suspicion::default() }.with(reading)
    }

    /// The same with one more finding; nothing comes of nothing.
    fn and(&self, reading: &Reading) -> Suspicion {
        if self.information > 0.0 { self.with(reading) } else { Suspicion::default() }
    }

    fn with(&self, reading: &Reading) -> Suspicion {
        let squared = reading.surprise * reading.surprise;
        let variance = reading.variance.max(squared / (BELIEVED_DEVIATIONS * BELIEVED_DEVIATIONS));
        let [factor, carry] = self.misled;
        let doubled = reading.factor.max(LEAST_FACTOR) * reading.exposure;
        let added = doubled - factor * reading.exposure + carry;
        let [on_factor, on_carry] = reading.spread.map(|spread| added * spread / variance);
        Suspicion {
            score: self.score + added * reading.surprise / variance,
            information: self.information + added * added / variance,
            misled: [factor + on_factor, on_carry],
            since: self.since,
        }
    }

    /// Whether it is beyond doubt, and worth saying.
    fn convicts(&self) -> bool {
        self.certainty() >= SURELY && self.excess() >= LEAST_TIMES - 1.0
    }

    /// By how many of its deviations what it drinks too much lies above nothing.
    fn certainty(&self) -> f64 {
        if self.information > 0.0 { self.score / libm::sqrt(self.information) } else { f64::NEG_INFINITY }
    }

    /// The logarithm of how much more likely a doubling makes what was found.
    fn likelihood(&self) -> f64 {
        self.score - self.information / 2.0
    }

    /// What it drinks too much, as a part of what it should (least squares).
    fn excess(&self) -> f64 {
        if self.information > 0.0 { self.score / self.information } else { 0.0 }
    }
}

fn ratio(shift: f64, reading: &Reading) -> f64 {
    shift * (reading.surprise - shift / 2.0) / reading.variance
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A litre is expected of a factor of one, with a deviation of a quarter of a litre, nine tenths of which are carried.
    fn reading(surprise: f64, factor: f64) -> Reading {
        Reading { surprise, variance: 0.0625, exposure: 1.0, factor, spread: [0.0, 0.05], from: 20_000.0 }
    }

    fn says_leak(verdict: &Verdict) -> bool {
        matches!(verdict, Verdict::Leaks { .. })
    }

    /// With ν = 0.5 and s = 1: sν/V = 8, s²/V = 16, the carry is astray by 0.05/0.0625 = 0.8. Then s = 1.8: 1.8 · 0.4 / 0.0625
    /// = 11.52 and 3.24 / 0.0625 = 51.84; in all 19.52 and 67.84, which is 0.288 of what it should, 2.37 deviations.
    #[test]
    fn the_sums_with_a_pencil() {
        let first = Suspicion::from(&reading(0.5, 1.0));
        assert!((first.score - 8.0).abs() < 1e-9 && (first.information - 16.0).abs() < 1e-9);
        assert!((first.misled[1] - 0.8).abs() < 1e-9);
        let both = first.and(&reading(0.4, 1.0));
        assert!((both.excess() - 0.288).abs() < 0.001, "{both:?}");
        assert!((both.certainty() - 2.37).abs() < 0.005, "{both:?}");
    }

    #[test]
    fn no_single_topping_convicts_a_barrel_but_two_do() {
        let mut watch = Watch::default();
        assert!(!says_leak(&watch.read(&reading(50.0, 1.0))));
        assert_eq!(watch.leak(1.0), None);
        let mut watch = Watch::default();
        assert!(!says_leak(&watch.read(&reading(1.0, 1.0))));
        assert!(says_leak(&watch.read(&reading(1.6, 1.0))));
        assert_eq!(watch.leak(2.0), Some(Leak { times: 2.0, since: 20_000.0 }));
    }

    /// A slip of the pen that is not repeated is forgotten.
    #[test]
    fn one_absurd_topping_and_a_usual_one_are_no_leak() {
        let mut watch = Watch::default();
        assert!(!says_leak(&watch.read(&reading(50.0, 1.0))));
        assert!(!says_leak(&watch.read(&reading(0.1, 1.0))));
    }

    #[test]
    fn what_drinks_as_before_is_mended() {
        let mut watch = Watch::default();
        watch.read(&reading(1.0, 1.0));
        watch.read(&reading(1.6, 1.0));
        assert!(watch.leaks());
        assert!(matches!(watch.read(&reading(0.0, 2.0)), Verdict::Nothing));
        assert!(matches!(watch.read(&reading(-1.0, 2.0)), Verdict::Mended { factor } if (factor - 1.0).abs() < 1e-9));
        assert!(!watch.leaks());
    }

    #[test]
    fn what_was_only_thirsty_is_let_off() {
        let mut watch = Watch { since: 20_000.0, sound: 1.0, ..Watch::default() };
        assert!(matches!(watch.read(&reading(0.0, 1.2)), Verdict::Mended { factor } if (factor - 1.2).abs() < 1e-9));
    }
}
