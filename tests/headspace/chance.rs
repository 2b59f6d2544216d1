//! Seeded chance, the same on every machine.

/// A stream of chance: `SplitMix64` (Steele, Lea and Flood 2014).
pub struct Chance(u64);

impl Chance {
    pub fn seeded(seed: u64) -> Chance {
        Chance(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5851_F42D_4C95_7F2D)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// From 0 up to but not including 1.
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    pub fn happens(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// Normally distributed (Box and Muller 1958).
    pub fn normal(&mut self, deviation: f64) -> f64 {
        let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.unit()));
        deviation * radius * libm::cos(std::f64::consts::TAU * self.unit())
    }
}
