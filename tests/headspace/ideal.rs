//! An observer who knows the room's rate of each day, the warmth and the noise exactly, and has only the barrel's own
//! thirst to learn: nobody does better.
//!
//! What is left is chance: how far each opening strays and how the can is read. What one topping leaves wrong the next
//! puts right. The observer carries both on in a Kalman filter of two numbers (Kalman 1960), which for normal errors is
//! the best there is.

use crate::house::House;

/// The chance of a false alarm at one barrel in a round.
const FALSE_ALARM: f64 = 1.0 / 200.0;
/// Rounds within which a leak is to be found.
const WITHIN: usize = 2;

/// What the observer knows of one barrel.
#[derive(Clone, Copy, Debug)]
pub struct Ideal {
    /// Its factor, and the litres that were poured too much the last time.
    factor: f64,
    carry: f64,
    /// The variance of the one, of both, of the other.
    variance: [f64; 3],
    /// By how much the leak has led the two astray, were it not known.
    misled: [f64; 2],
    /// The square of the distance, in deviations, between what is found with the leak and without it.
    squared_distance: f64,
    leaking_toppings: usize,
}

/// What is known of one topping, litres.
#[derive(Clone, Copy)]
pub struct Known {
    /// What a factor of one would have lost since the last.
    pub drawn: f64,
    /// What is missing for other reasons: the wood drank it, or all barrels stray by as much.
    pub beside: f64,
    /// By how much this opening strays as all barrels do.
    pub together: f64,
    /// Of what was lost, the part that is the leak's.
    pub leaked: f64,
    /// The variance of how far this opening strays, and of how the can is read.
    pub strays: f64,
    pub reading: f64,
}

impl Ideal {
    /// A barrel that was filled short by any number of litres up to one: the mean, and the variance of an even chance. Of
    /// its factor the spread in the house is known (a log-normal one).
    pub fn filled_short_by_up_to(most: f64, house: &House) -> Ideal {
        let squared = house.factor_spread * house.factor_spread;
        Ideal {
            factor: libm::exp(squared / 2.0),
            carry: -most / 2.0,
            variance: [libm::expm1(squared) * libm::exp(squared), 0.0, most * most / 12.0],
            misled: [0.0; 2],
            squared_distance: 0.0,
            leaking_toppings: 0,
        }
    }

    /// What is expected, before it is seen.
    pub fn expected(&self, known: &Known) -> f64 {
        self.factor * known.drawn + known.beside - self.carry
    }

    /// Takes a topping in, as it was written down.
    pub fn find(&mut self, known: &Known, written: f64) {
        let surprise = written - self.expected(known);
        let [own, both, carried] = self.variance;
        let spread = [own * known.drawn - both, both * known.drawn - carried];
        let variance = spread[0] * known.drawn - spread[1] + known.strays + known.reading;
        let gain = [spread[0] / variance, known.strays / variance];
        if known.leaked > 0.0 && self.leaking_toppings < WITHIN {
            let shift = known.leaked - self.misled[0] * known.drawn + self.misled[1];
            self.squared_distance += shift * shift / variance;
            self.misled = [self.misled[0] + gain[0] * shift, gain[1] * shift];
            self.leaking_toppings += 1;
        }
        self.factor += gain[0] * surprise;
        self.carry = gain[1] * surprise + known.together;
        self.variance = [own - gain[0] * spread[0], -gain[0] * known.strays, known.strays - gain[1] * known.strays];
    }

    /// The chance to find the leak within two rounds. Of all tests with no more false alarms than that in these rounds the
    /// ratio of the likelihoods finds most (Neyman and Pearson 1933): of two normal distributions d deviations apart Φ(d − z).
    pub fn power(&self) -> Option<f64> {
        let threshold = quantile(1.0 - FALSE_ALARM * WITHIN as f64);
        (self.leaking_toppings == WITHIN).then(|| normal(libm::sqrt(self.squared_distance) - threshold))
    }
}

/// The normal distribution.
pub fn normal(deviations: f64) -> f64 {
    0.5 * libm::erfc(-deviations / std::f64::consts::SQRT_2)
}

/// Its inverse, by halving.
pub fn quantile(part: f64) -> f64 {
    let (mut low, mut high) = (-8.0, 8.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if normal(middle) < part { low = middle } else { high = middle }
    }
    low
}

#[test]
fn the_normal_distribution_is_that_of_the_tables() {
    assert!((normal(1.0) - 0.841_345).abs() < 1e-6);
    assert!((quantile(0.99) - 2.326_348).abs() < 1e-6);
}
