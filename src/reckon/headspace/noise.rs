//! How far a single topping strays from what is truly missing.
//!
//! The level under the bung jumps when it is opened (0 to 180 mbar of under-pressure, by barrel: Moutounet 1998), wine swells
//! with warmth (five degrees are half a litre in 225 L), the hand stops early or late, and the can is read to a twentieth
//! or a tenth of a litre. What was poured too much is there the next time and what was poured too little is missing: all
//! of the error is carried over but what was misread. The sizes are our assumption; each room finds its own scale for them.

/// The error that is there however long the interval, litres.
const FIXED: f64 = 0.06;
/// The variance that comes with each litre lost, litres: the longer the bung was shut, the deeper the pull.
const A_LITRE: f64 = 0.025;
/// A can is read to a twentieth or a tenth of a litre: the deviation of what is lost in rounding, litres.
const READING: f64 = 0.02;
/// No room's hand is so good that its toppings are nearer than this, litres.
const LEAST: f64 = 0.015;

/// The variance of one topping's error, in its two parts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Noise {
    /// What the next topping finds again.
    pub carried: f64,
    /// What is gone for good.
    pub passing: f64,
}

/// The noise of a topping that is expected to find so many litres lost, in a room of this scale.
pub(super) fn of_topping(lost: f64, scale: f64) -> Noise {
    let variance = scale * (FIXED * FIXED + A_LITRE * lost.max(0.0)) + LEAST * LEAST;
    Noise { carried: variance, passing: READING * READING }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// At the 1.7 L of a published round: a fifth of a litre; just after topping less than a tenth.
    #[test]
    fn a_round_strays_by_a_fifth_of_a_litre() {
        let deviation = |lost| {
            let noise = of_topping(lost, 1.0);
            libm::sqrt(noise.carried + noise.passing)
        };
        assert!((deviation(1.7) - 0.22).abs() < 0.01, "{}", deviation(1.7));
        assert!(deviation(0.0) < 0.1);
        assert!(deviation(-3.0) > 0.05);
    }
}
