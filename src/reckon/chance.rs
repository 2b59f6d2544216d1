//! Numbers that look like chance and come out the same from the same seed for ever, so that a trial or a flight can be laid
//! out again as it was. No secrets hang on them.

/// `SplitMix64` (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014).
#[derive(Clone, Debug)]
pub struct Chance(u64);

impl Chance {
    /// The generator that begins at a seed.
    #[must_use]
    pub const fn from_seed(seed: u64) -> Chance {
        Chance(seed)
    }

    /// The next number: any of 64 bits.
    pub fn number(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A whole number below a bound, any as likely as any other but for less than one part in a thousand million million
    /// where the bound is below ten thousand; nought where the bound is nought.
    pub fn below(&mut self, bound: usize) -> usize {
        let bound = bound as u64;
        usize::try_from(self.number().checked_rem(bound).unwrap_or(0)).unwrap_or(0)
    }

    /// A real number from 0 up to 1, without 1.
    pub fn fraction(&mut self) -> f64 {
        /// As many bits as a real number holds.
        const BITS: u32 = 53;
        (self.number() >> (64 - BITS)) as f64 / (1_u64 << BITS) as f64
    }

    /// Puts things into an order of chance.
    pub fn shuffle<T>(&mut self, things: &mut [T]) {
        for last in (1..things.len()).rev() {
            let other = self.below(last + 1);
            things.swap(last, other);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first numbers of the generator from the seed 1234567, as published lists of generators give them.
    #[test]
    fn the_generator_is_the_published_one() {
        let mut chance = Chance::from_seed(1_234_567);
        let numbers = [(); 3].map(|()| chance.number());
        assert_eq!(numbers, [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423]);
    }

    #[test]
    fn a_fraction_is_below_one_and_its_mean_a_half() {
        let mut chance = Chance::from_seed(1);
        let fractions: Vec<f64> = (0..100_000).map(|_| chance.fraction()).collect();
        assert!(fractions.iter().all(|fraction| (0.0..1.0).contains(fraction)));
        let mean = fractions.iter().sum::<f64>() / 100_000.0;
        assert!((mean - 0.5).abs() < 0.005, "{mean}");
        assert_eq!(Chance::from_seed(1).below(0), 0);
    }
}
