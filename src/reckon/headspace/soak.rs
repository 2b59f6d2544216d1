//! Soak-in: what the wood itself drinks after a fill.

/// What the wood of a new 225 L barrel drinks in all: 2 to 6 L (from memory, no source read), mean and standard deviation,
/// litres. It grows with the surface.
const NEW_WOOD: (f64, f64) = (4.0, 1.2);
/// Wood that has held wine drinks about a tenth of it again (our assumption), litres.
const WET_WOOD: (f64, f64) = (0.4, 0.3);

/// The time in which all but 37 % of it is drunk, days. Wood is wet through after about 100 days (Roussey et al. 2021)
/// and drinks most at first (spirit casks lose 2 % in two days): an exponential of 20 days leaves 1 % after 100 (our
/// assumption).
const SOAK_DAYS: f64 = 20.0;
/// After so many days nothing is left to drink: less than a thousandth.
const SOAKED_DAYS: f64 = 8.0 * SOAK_DAYS;

/// How far the true course strays from the exponential: so much of what it says for the time between two toppings (our
/// assumption).
pub(super) const SHAPE_SPREAD: f64 = 0.3;

/// What a vessel is made of, as far as it drinks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wall {
    /// Oak that holds wine for the first time.
    NewWood,
    /// Oak that has held wine.
    WetWood,
    /// Steel, glass, clay: it drinks nothing.
    NoWood,
}

/// What the wall of a vessel of a size (surface against a 225 L barrel's) drinks after a fill: mean and variance, litres.
pub(super) fn thirst_of(wall: Wall, size: f64) -> (f64, f64) {
    let (mean, deviation) = match wall {
        Wall::NewWood => NEW_WOOD,
        Wall::WetWood => WET_WOOD,
        Wall::NoWood => (0.0, 0.0),
    };
    (mean * size, deviation * deviation * size * size)
}

/// The share of it that is drunk between two ages of the fill, days: 0 to 1.
pub(super) fn share(from_age: f64, to_age: f64) -> f64 {
    let left = |age: f64| if age >= SOAKED_DAYS { 0.0 } else { libm::exp(-age.max(0.0) / SOAK_DAYS) };
    (left(from_age) - left(to_age)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn most_is_drunk_at_first_and_all_within_a_few_months() {
        assert!((share(0.0, 20.0) - 0.632).abs() < 0.001);
        assert!(share(0.0, 100.0) > 0.99);
        assert!(share(0.0, 7.0) > 3.0 * share(30.0, 37.0));
        assert_eq!(share(200.0, 10_000.0).to_bits(), 0.0_f64.to_bits());
    }

    #[test]
    fn new_wood_drinks_two_to_six_litres() {
        let (mean, variance) = thirst_of(Wall::NewWood, 1.0);
        let two_deviations = 2.0 * variance.sqrt();
        assert!((1.5..2.5).contains(&(mean - two_deviations)) && (5.5..6.5).contains(&(mean + two_deviations)));
    }
}
