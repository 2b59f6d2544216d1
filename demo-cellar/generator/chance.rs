//! Seeded chance: `SplitMix64` and the few distributions that the story needs.

/// A stream of chance that is the same for the same seed, on every machine.
pub struct Chance(u64);

impl Chance {
    pub fn seeded(seed: u64) -> Chance {
        Chance(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// A real from 0 up to but not including 1, of 53 random bits.
    fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A real between the two.
    pub fn real(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number below `bound`; the bias of the remainder is far below anything that could be seen here.
    pub fn below(&mut self, bound: usize) -> usize {
        let bound = u64::try_from(bound).unwrap_or(u64::MAX).max(1);
        usize::try_from(self.next() % bound).unwrap_or(0)
    }

    /// A whole number from `low` to `high`, both included.
    pub fn whole(&mut self, low: u64, high: u64) -> u64 {
        low + self.next() % (high - low + 1)
    }

    /// Normally distributed, near enough: twelve uniforms added up, so that nothing lies beyond six deviations.
    pub fn normal(&mut self, mean: f64, deviation: f64) -> f64 {
        let sum: f64 = (0..12).map(|_| self.unit()).sum();
        mean + deviation * (sum - 6.0)
    }

    pub fn happens(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    pub fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[self.below(from.len())]
    }
}
