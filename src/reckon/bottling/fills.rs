//! How full bottles are: published tolerances of fill, and where the wine stands in the neck.

use thiserror::Error;

use crate::reckon::label_share::Rules;
use crate::units::{Volume, exact_millilitres};

/// Where wine is to stand below the top of a 750 mL bottle at 68 °F, in millimetres, and how much higher it stands for
/// every degree Fahrenheit that it is warmer (a cork maker's figures).
const FILL_POINT_MM: f64 = 63.5;
const FILL_POINT_FAHRENHEIT: f64 = 68.0;
const FILL_POINT_MM_A_DEGREE: f64 = 0.55;

/// How far below the top of a 750 mL bottle wine of a temperature in °C is to stand, in millimetres, so that it holds
/// 750 mL at 20 °C. The bottle's own mark goes before it.
#[must_use]
pub fn fill_point_mm(temperature_c: f64) -> f64 {
    let fahrenheit = temperature_c * 1.8 + 32.0;
    FILL_POINT_MM - FILL_POINT_MM_A_DEGREE * (fahrenheit - FILL_POINT_FAHRENHEIT)
}

/// By how much a single bottle may differ from what it is said to hold: above and below in the United States (27 CFR
/// 24.255), below in the European Union (Directive 76/211, the tolerable negative error).
///
/// 27 CFR 24.255: 1 L to 14.9 L 1.5 %, 750 mL 2.0 %, 375 mL 3.0 %. A size that is not printed there is judged by the next
/// larger one, which is the stricter; from 15 L on 1.0 % (from memory). Directive 76/211: 500 mL to 1 L 15 mL; the other
/// steps of its table from memory. Percentages are rounded up to a tenth of a millilitre, as the directive says.
#[must_use]
pub fn tolerance(nominal: Volume, rules: Rules) -> Volume {
    let nominal_ul = nominal.as_ul();
    let per_mille = |parts: u64| nominal_ul.saturating_mul(parts) / 1_000;
    let tenth_up = |microlitres: u64| microlitres.div_ceil(100).saturating_mul(100);
    let ml = nominal_ul / 1_000;
    Volume::from_ul(match rules {
        Rules::Us if ml >= 15_000 => per_mille(10),
        Rules::Us if ml > 750 => per_mille(15),
        Rules::Us if ml > 375 => per_mille(20),
        Rules::Us => per_mille(30),
        Rules::Eu if ml < 50 => tenth_up(per_mille(90)),
        Rules::Eu if ml < 100 => 4_500,
        Rules::Eu if ml < 200 => tenth_up(per_mille(45)),
        Rules::Eu if ml < 300 => 9_000,
        Rules::Eu if ml < 500 => tenth_up(per_mille(30)),
        Rules::Eu if ml < 1_000 => 15_000,
        Rules::Eu => tenth_up(per_mille(15)),
    })
}

/// How measured bottles stand to what they are said to hold.
#[derive(Clone, Debug, PartialEq)]
pub struct FillCheck {
    /// By which rules.
    pub rules: Rules,
    /// How many were measured.
    pub measured: usize,
    /// What they hold on average, rounded down.
    pub mean: Volume,
    /// The standard deviation of single bottles, mL; none of one.
    pub deviation_ml: Option<f64>,
    /// The least and the most.
    pub range: (Volume, Volume),
    /// By how much a single one may differ.
    pub tolerance: Volume,
    /// Whether they hold less than said on average.
    pub short: bool,
    /// How many hold too little.
    pub too_little: usize,
    /// How many are beyond twice what is tolerated: those may not be sold under the European Union's mark.
    pub far_too_little: usize,
    /// How many hold too much, where rules say that.
    pub too_much: usize,
}

impl FillCheck {
    /// Whether the fill holds. Of a check of a few bottles at the line none may be beyond the tolerance (the directive's own
    /// test of a batch would let a few pass: a line is set before it comes to that). The average binds in the European Union;
    /// in the United States there must be about as many over as under, which few bottles cannot tell.
    #[must_use]
    pub const fn holds(&self) -> bool {
        let on_average = !self.short || matches!(self.rules, Rules::Us);
        on_average && self.too_little == 0 && self.too_much == 0
    }

    /// What it comes to, in a sentence.
    #[must_use]
    pub fn words(&self) -> String {
        let (side, section) = match self.rules {
            Rules::Us => ("off", "27 CFR 24.255"),
            Rules::Eu => ("short", "Directive 76/211"),
        };
        let tolerance = exact_millilitres(self.tolerance);
        let mut faults = Vec::new();
        if self.short {
            faults.push("on average the bottles hold less than is stated".to_owned());
        }
        let beyond = self.too_little + self.too_much;
        if beyond > 0 {
            faults.push(format!("{beyond} of {} are more than {tolerance} {side}", self.measured));
        }
        let faults = faults.join(", and ");
        match (self.holds(), faults.is_empty()) {
            (true, true) => format!("The fill holds: none is more than {tolerance} {side} ({section})."),
            (true, false) => format!("The fill holds, but {faults} ({section})."),
            (false, _) => format!("The fill does not hold: {faults} ({section}). Stop and set the filler."),
        }
    }
}

/// Why no fill can be judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum NoFills {
    /// Nothing was measured.
    #[error("No bottle was measured. Give what single bottles hold, for example 748 751.")]
    Nothing,
    /// A bottle of nothing.
    #[error("A bottle must hold something. Give its size, for example 750 mL.")]
    NoBottle,
}

/// Judges what was measured in single bottles.
pub fn check_fills(fills: &[Volume], nominal: Volume, rules: Rules) -> Result<FillCheck, NoFills> {
    if nominal.is_zero() {
        return Err(NoFills::NoBottle);
    }
    let (Some(&least), Some(&most)) = (fills.iter().min(), fills.iter().max()) else { return Err(NoFills::Nothing) };
    let measured = fills.len();
    let sum: u128 = fills.iter().map(|fill| u128::from(fill.as_ul())).sum();
    let tolerance = tolerance(nominal, rules);
    let below = |by: Volume| fills.iter().filter(|&&fill| fill + by < nominal).count();
    let too_much = fills.iter().filter(|&&fill| fill > nominal + tolerance).count();
    Ok(FillCheck {
        rules,
        measured,
        mean: Volume::from_ul(u64::try_from(sum / measured as u128).unwrap_or(u64::MAX)),
        deviation_ml: deviation_ml(fills),
        range: (least, most),
        tolerance,
        short: sum < u128::from(nominal.as_ul()) * measured as u128,
        too_little: below(tolerance),
        far_too_little: below(tolerance + tolerance),
        too_much: if rules == Rules::Us { too_much } else { 0 },
    })
}

fn deviation_ml(fills: &[Volume]) -> Option<f64> {
    let ml: Vec<f64> = fills.iter().map(|fill| fill.as_litres() * 1e3).collect();
    let mean = ml.iter().sum::<f64>() / ml.len() as f64;
    let squares: f64 = ml.iter().map(|fill| (fill - mean).powi(2)).sum();
    (ml.len() > 1).then(|| (squares / (ml.len() - 1) as f64).sqrt())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn ml(millilitres: u64) -> Volume {
        Volume::from_ml(millilitres)
    }

    /// 27 CFR 24.255: 750 mL 2.0 %, 375 mL 3.0 %, 1 to 14.9 L 1.5 %. Directive 76/211: 750 mL 15 mL.
    #[test]
    fn tolerances_are_as_printed() {
        let us = |nominal| tolerance(ml(nominal), Rules::Us).as_ul();
        assert_eq!([750, 375, 1_000, 1_500].map(us), [15_000, 11_250, 15_000, 22_500]);
        let eu = |nominal| tolerance(ml(nominal), Rules::Eu).as_ul();
        assert_eq!([750, 500, 1_500, 375].map(eu), [15_000, 15_000, 22_500, 11_300]);
    }

    /// A cork maker's figures: 63.5 mm at 68 °F, 0.55 mm for a degree.
    #[test]
    fn warm_wine_stands_higher() {
        assert!((fill_point_mm(20.0) - 63.5).abs() < 1e-9);
        assert!((fill_point_mm(20.0 + 10.0 / 1.8) - 58.0).abs() < 1e-9);
        assert!((fill_point_mm(10.0) - 73.4).abs() < 1e-9);
    }

    #[test]
    fn the_european_union_asks_for_the_average_too() {
        let check = |fills: &[u64], rules| {
            let fills: Vec<Volume> = fills.iter().map(|&fill| ml(fill)).collect();
            check_fills(&fills, ml(750), rules).unwrap()
        };
        let good = check(&[748, 751, 752], Rules::Eu);
        assert!(good.holds() && !good.short && good.mean == Volume::from_ul(750_333), "{good:?}");
        assert!((good.deviation_ml.unwrap() - 2.0817).abs() < 1e-4);
        let short = check(&[748, 751, 750], Rules::Eu);
        assert!(short.short && !short.holds());
        assert!(check(&[748, 751, 750], Rules::Us).holds(), "in the United States a single bottle is judged");
        let low = check(&[734, 780, 719], Rules::Eu);
        assert_eq!((low.too_little, low.far_too_little, low.too_much), (2, 1, 0));
        let us = check(&[734, 780, 735, 765], Rules::Us);
        assert_eq!((us.too_little, us.too_much, us.holds()), (1, 1, false));
    }

    #[test]
    fn a_bottle_at_the_tolerance_is_within_it() {
        for rules in [Rules::Us, Rules::Eu] {
            let found = check_fills(&[ml(735), ml(765)], ml(750), rules).unwrap();
            assert!(found.holds(), "{found:?}");
        }
    }

    #[test]
    fn nothing_measured_is_said() {
        assert_eq!(check_fills(&[], ml(750), Rules::Eu), Err(NoFills::Nothing));
        assert_eq!(check_fills(&[ml(750)], Volume::ZERO, Rules::Eu), Err(NoFills::NoBottle));
    }

    proptest! {
        #[test]
        fn a_larger_bottle_is_allowed_no_less_under_the_directive(one in 5_u64..10_000, other in 5_u64..10_000) {
            let (small, large) = (one.min(other), one.max(other));
            prop_assert!(tolerance(ml(small), Rules::Eu) <= tolerance(ml(large), Rules::Eu));
        }

        #[test]
        fn a_fill_that_holds_has_no_bottle_below(fills in prop::collection::vec(700_u64..800, 1..20)) {
            let fills: Vec<Volume> = fills.into_iter().map(ml).collect();
            let found = check_fills(&fills, ml(750), Rules::Eu).unwrap();
            prop_assert!(!found.holds() || (found.range.0 >= ml(735) && found.mean >= ml(750)));
            prop_assert!(found.range.0 <= found.mean && found.mean <= found.range.1);
        }
    }
}
