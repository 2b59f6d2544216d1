//! The dose: how much to add to a volume for a wanted rise of sulfur dioxide.

use super::material::Form;
use super::wine::{SulfurError, within};
use crate::units::{Mass, Volume};

/// The share of an addition that is bound at once: about a third (common practice and extension literature; a share free
/// of 35 to 75 % is met). A wine's own is better: test it before and some days after an addition.
pub const USUAL_BOUND_SHARE: f64 = 1.0 / 3.0;

/// A share that is bound, in words: `a third` for the usual one, else `40 %`.
#[must_use]
pub fn bound_words(share: f64) -> String {
    if (share - USUAL_BOUND_SHARE).abs() < 1e-9 {
        return "a third".to_owned();
    }
    format!("{} %", (share * 1_000.0).round() / 10.0)
}

/// Bound shares that leave something free.
const BOUND_SHARES: (f64, f64) = (0.0, 0.9);

/// The largest rise in total, mg/L: the most that any wine may hold (OIV resolution OENO 9/98, special sweet whites).
const MOST_RISE_MG_L: f64 = 400.0;

/// What is to be added to a volume, whatever it is added as.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Addition {
    sulfur_dioxide: Mass,
    total_rise_mg_l: f64,
    bound_share: f64,
}

impl Addition {
    /// An addition that raises the free by so many mg/L, the bound share of it being lost to the free.
    pub fn raising_free(volume: Volume, free_rise_mg_l: f64, bound_share: f64) -> Result<Addition, SulfurError> {
        within(bound_share, BOUND_SHARES, SulfurError::BoundShare)?;
        Addition::raising_total(volume, free_rise_mg_l / (1.0 - bound_share), bound_share)
    }

    /// An addition that raises the total by so many mg/L, whatever of it stays free.
    pub fn raising_total(volume: Volume, total_rise_mg_l: f64, bound_share: f64) -> Result<Addition, SulfurError> {
        within(bound_share, BOUND_SHARES, SulfurError::BoundShare)?;
        if volume.is_zero() {
            return Err(SulfurError::NoVolume);
        }
        if !(total_rise_mg_l > 0.0 && total_rise_mg_l <= MOST_RISE_MG_L) {
            return Err(SulfurError::Rise(total_rise_mg_l));
        }
        let sulfur_dioxide = Mass::nearest_to_grams(total_rise_mg_l * volume.as_litres() / 1e3);
        Ok(Addition { sulfur_dioxide, total_rise_mg_l, bound_share })
    }

    /// What an amount of sulfur dioxide that went into a volume did.
    pub fn of(sulfur_dioxide: Mass, volume: Volume, bound_share: f64) -> Result<Addition, SulfurError> {
        within(bound_share, BOUND_SHARES, SulfurError::BoundShare)?;
        if volume.is_zero() {
            return Err(SulfurError::NoVolume);
        }
        let total_rise_mg_l = sulfur_dioxide.as_grams() * 1e3 / volume.as_litres();
        Ok(Addition { sulfur_dioxide, total_rise_mg_l, bound_share })
    }

    /// Sulfur dioxide itself.
    #[must_use]
    pub const fn sulfur_dioxide(&self) -> Mass {
        self.sulfur_dioxide
    }

    /// By how much the total rises, mg/L.
    #[must_use]
    pub const fn total_rise_mg_l(&self) -> f64 {
        self.total_rise_mg_l
    }

    /// By how much the free rises once the bound share is bound, mg/L.
    #[must_use]
    pub fn free_rise_mg_l(&self) -> f64 {
        self.total_rise_mg_l * (1.0 - self.bound_share)
    }

    /// The share that is bound, 0 to 1.
    #[must_use]
    pub const fn bound_share(&self) -> f64 {
        self.bound_share
    }

    /// The dose in a form.
    #[must_use]
    pub fn given_as(&self, form: Form) -> Dose {
        let amount = form.material().amount_for(self.sulfur_dioxide);
        let solution = match form {
            Form::Solution(solution) => Some(solution.volume_of(amount)),
            Form::Gas | Form::Powder | Form::Sulfur => None,
        };
        Dose { form, amount, solution }
    }
}

/// How much to weigh or to measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dose {
    /// In which form.
    pub form: Form,
    /// How much of its material, also where that is dissolved. Of sulfur it is the least: not all that burns reaches the
    /// wine, and a wick that drips gives less.
    pub amount: Mass,
    /// The volume of solution to measure, which also adds to the wine.
    pub solution: Option<Volume>,
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::material::Solution;
    use super::*;

    fn grams(litres: u64, rise: f64, form: Form) -> f64 {
        Addition::raising_total(Volume::from_litres(litres), rise, 0.0).unwrap().given_as(form).amount.as_grams()
    }

    /// Computed from 57.6 %: 50 mg/L in 100 L 8.68 g; 225 L + 20 mg/L 7.81 g, or 78.1 mL of 10 %; 228 L + 25 9.90 g.
    #[test]
    fn worked_doses() {
        for (litres, rise, expected) in [(100, 50.0, 8.68), (225, 20.0, 7.81), (228, 25.0, 9.90)] {
            let powder = grams(litres, rise, Form::Powder);
            assert!((powder - expected).abs() < 0.005, "{litres} L + {rise} mg/L: {powder} g");
        }
        let addition = Addition::raising_total(Volume::from_litres(225), 20.0, 0.0).unwrap();
        let dose = addition.given_as(Form::Solution(Solution::USUAL));
        assert_eq!((dose.amount, dose.solution), (Mass::from_ug(7_812_500), Some(Volume::from_ul(78_125))));
        assert_eq!(addition.given_as(Form::Gas).amount, Mass::from_mg(4_500));
        assert_eq!(addition.given_as(Form::Sulfur).amount, Mass::from_mg(2_250));
        assert_eq!(addition.given_as(Form::Powder).solution, None);
    }

    /// Computed from 57.6 %: who takes the powder for 50 % weighs 15 % too much.
    #[test]
    fn powder_is_not_half_sulfur_dioxide() {
        let (weighed, right) = (225.0 * 0.020 / 0.5, grams(225, 20.0, Form::Powder));
        assert!((weighed / right - 1.15).abs() < 0.005, "{}", weighed / right);
    }

    #[test]
    fn the_bound_share_is_added_on_top() {
        let addition = Addition::raising_free(Volume::from_litres(225), 20.0, USUAL_BOUND_SHARE).unwrap();
        assert!((addition.total_rise_mg_l() - 30.0).abs() < 1e-9 && (addition.free_rise_mg_l() - 20.0).abs() < 1e-9);
        assert_eq!(addition.sulfur_dioxide(), Mass::from_mg(6_750));
        let back = Addition::of(Mass::from_mg(6_750), Volume::from_litres(225), USUAL_BOUND_SHARE).unwrap();
        assert!((back.total_rise_mg_l() - 30.0).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_added_is_refused() {
        let barrel = Volume::from_litres(225);
        let free = |volume, rise, bound| Addition::raising_free(volume, rise, bound).unwrap_err();
        assert_eq!(free(Volume::ZERO, 20.0, 0.3), SulfurError::NoVolume);
        assert_eq!(Addition::of(Mass::from_grams(1), Volume::ZERO, 0.3), Err(SulfurError::NoVolume));
        assert_eq!(free(barrel, 0.0, 0.0), SulfurError::Rise(0.0));
        assert_eq!(free(barrel, -5.0, 0.0), SulfurError::Rise(-5.0));
        assert_eq!(free(barrel, 401.0, 0.0), SulfurError::Rise(401.0));
        assert_eq!(free(barrel, 20.0, 1.0), SulfurError::BoundShare(1.0));
        assert!(matches!(free(barrel, f64::NAN, 0.3), SulfurError::Rise(_)));
        assert!(matches!(free(barrel, 20.0, f64::NAN), SulfurError::BoundShare(_)));
    }

    proptest! {
        #[test]
        fn a_dose_is_in_proportion(litres in 1_u64..10_000, rise in 0.1_f64..40.0, bound in 0.0_f64..0.9, times in 2_u32..5) {
            let dose = |litres, rise| {
                Addition::raising_free(Volume::from_litres(litres), rise, bound).ok().map(|it| it.given_as(Form::Powder).amount.as_ug())
            };
            let one = dose(litres, rise).unwrap();
            // Each dose is rounded once for its sulfur dioxide and once for its powder.
            let near = |many: u64| many.abs_diff(one * u64::from(times)) <= 3 * (u64::from(times) + 1);
            prop_assert!(near(dose(litres * u64::from(times), rise).unwrap()));
            if let Some(larger) = dose(litres, rise * f64::from(times)) {
                prop_assert!(near(larger));
            }
        }
    }
}
