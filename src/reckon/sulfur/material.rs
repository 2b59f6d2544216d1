//! What sulfur dioxide is added as, and how much of it each holds.

use super::wine::{SulfurError, within};
use crate::units::{Mass, Volume};

/// Grams of metabisulfite in 100 mL of a solution. From memory: about 45 g dissolve at 20 °C, less in the cold.
pub const STRENGTH_PCT: (f64, f64) = (0.1, 40.0);

/// A material that gives sulfur dioxide.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Material {
    /// Sulfur dioxide itself, from a bottle.
    Gas,
    /// Potassium metabisulfite, K₂S₂O₅, which holds 57.6 % of it: as powder or dissolved.
    Metabisulfite,
    /// Sulfur that is burnt in an empty vessel: 1 g gives 2 g at most, and what of it reaches the wine is less.
    Sulfur,
}

impl Material {
    /// All.
    pub const ALL: [Material; 3] = [Material::Gas, Material::Metabisulfite, Material::Sulfur];

    /// Its name in a `treated` fact.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Material::Gas => "sulfur dioxide",
            Material::Metabisulfite => "potassium metabisulfite",
            Material::Sulfur => "burnt sulfur",
        }
    }

    /// Parts of sulfur dioxide, and of the material that gives them. Metabisulfite 57.6 % (the trade's figure; 57.63 by
    /// its atoms); sulfur twice its mass (1.998 by its atoms).
    const fn parts(self) -> (u64, u64) {
        match self {
            Material::Gas => (1, 1),
            Material::Metabisulfite => (576, 1_000),
            Material::Sulfur => (2, 1),
        }
    }

    /// The sulfur dioxide that an amount gives, to the nearest microgram; of burnt sulfur at most.
    #[must_use]
    pub fn sulfur_dioxide_in(self, amount: Mass) -> Mass {
        let (gives, of) = self.parts();
        amount.part(gives, of)
    }

    /// The amount that gives so much sulfur dioxide, to the nearest microgram; of burnt sulfur at least.
    #[must_use]
    pub fn amount_for(self, sulfur_dioxide: Mass) -> Mass {
        let (gives, of) = self.parts();
        sulfur_dioxide.part(of, gives)
    }
}

/// A solution of metabisulfite, grams in 100 mL (% w/v). One of 10 % holds 5.76 % of sulfur dioxide.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Solution {
    percent: f64,
}

impl Solution {
    /// What most cellars keep (common practice).
    pub const USUAL: Solution = Solution { percent: 10.0 };

    /// A solution of a strength that can be made.
    pub fn new(percent: f64) -> Result<Solution, SulfurError> {
        within(percent, STRENGTH_PCT, SulfurError::Strength).map(|percent| Solution { percent })
    }

    /// Its strength, grams in 100 mL.
    #[must_use]
    pub const fn percent(self) -> f64 {
        self.percent
    }

    /// The volume that holds so much metabisulfite, to the nearest microlitre.
    #[must_use]
    pub fn volume_of(self, metabisulfite: Mass) -> Volume {
        Volume::nearest_to_litres(metabisulfite.as_grams() / self.grams_a_litre())
    }

    /// The metabisulfite that a volume holds, to the nearest microgram.
    #[must_use]
    pub fn holds(self, volume: Volume) -> Mass {
        Mass::nearest_to_grams(volume.as_litres() * self.grams_a_litre())
    }

    fn grams_a_litre(self) -> f64 {
        self.percent * 10.0
    }
}

/// In which form it is added.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Form {
    /// From a bottle of gas.
    Gas,
    /// Metabisulfite, weighed.
    Powder,
    /// Metabisulfite in solution, measured by volume.
    Solution(Solution),
    /// Sulfur, burnt in the empty vessel before it is filled.
    Sulfur,
}

impl Form {
    /// The short name.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Form::Gas => "gas",
            Form::Powder => "powder",
            Form::Solution(_) => "solution",
            Form::Sulfur => "sulfur",
        }
    }

    /// What is weighed or dissolved.
    #[must_use]
    pub const fn material(self) -> Material {
        match self {
            Form::Gas => Material::Gas,
            Form::Powder | Form::Solution(_) => Material::Metabisulfite,
            Form::Sulfur => Material::Sulfur,
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// K₂S₂O₅ holds 57.6 % (57.63 by atoms); a 10 % stock holds 5.7 % in the source, 5.76 by that share; 1 g of sulfur
    /// gives 2 g (trade descriptions).
    #[test]
    fn what_each_holds() {
        let ten_grams = Mass::from_grams(10);
        assert_eq!(Material::Metabisulfite.sulfur_dioxide_in(ten_grams), Mass::from_mg(5_760));
        assert_eq!(Material::Sulfur.sulfur_dioxide_in(ten_grams), Mass::from_grams(20));
        assert_eq!(Material::Gas.sulfur_dioxide_in(ten_grams), ten_grams);
        let stock = Solution::USUAL.holds(Volume::from_ml(100));
        assert_eq!(Material::Metabisulfite.sulfur_dioxide_in(stock), Mass::from_mg(5_760));
        let by_atoms = 2.0 * 64.064 / 222.31;
        assert!((by_atoms - 0.5763_f64).abs() < 1e-4);
    }

    #[test]
    fn the_list_of_materials_says_the_same() {
        for material in Material::ALL {
            let named = crate::reckon::material::named(material.word()).unwrap();
            let of_a_gram = material.sulfur_dioxide_in(Mass::from_grams(1)).as_ug();
            assert_eq!(named.so2_ppm.map(u64::from), Some(of_a_gram), "{}", material.word());
        }
    }

    #[test]
    fn a_solution_that_cannot_be_made_is_refused() {
        for percent in [0.0, -10.0, 60.0, f64::NAN] {
            assert!(matches!(Solution::new(percent), Err(SulfurError::Strength(_))), "{percent}");
        }
        assert_eq!(Solution::new(10.0), Ok(Solution::USUAL));
    }

    proptest! {
        #[test]
        fn an_amount_is_what_it_gives_and_back(ug in 0_u64..=1_000_000_000_000) {
            for material in Material::ALL {
                let back = material.sulfur_dioxide_in(material.amount_for(Mass::from_ug(ug)));
                prop_assert!(back.as_ug().abs_diff(ug) <= 1, "{:?}", material);
            }
        }

        #[test]
        fn a_solution_holds_what_its_volume_was_taken_for(ug in 0_u64..=1_000_000_000, percent in 0.1_f64..=40.0) {
            let solution = Solution::new(percent).unwrap();
            let back = solution.holds(solution.volume_of(Mass::from_ug(ug)));
            // A microlitre of the strongest holds 400 µg.
            prop_assert!(back.as_ug().abs_diff(ug) <= 201);
        }
    }
}
