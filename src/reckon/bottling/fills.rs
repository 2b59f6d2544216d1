//! How full bottles are: published tolerances of fill, and where the wine stands in the neck.

use std::ops::RangeInclusive;

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

/// What Directive 76/211/EEC covers: 5 mL to 10 L.
pub const DIRECTIVE_REACH: RangeInclusive<Volume> = Volume::from_ml(5)..=Volume::from_ml(10_000);

/// Steps of 27 CFR 24.255(b), up to and with a size in mL: so many thousandths either way. Printed are 50 mL (9.0 %), 100 and
/// 187 mL (4.5), 375 (3.0), 750 (2.0), 1 L to 14.9 L (1.5) and 15 L on (1.0). A size that is not printed takes the step of
/// the next larger one that is, which is the stricter (our own reading).
const US_STEPS: [(u64, u64); 5] = [(50, 90), (187, 45), (375, 30), (750, 20), (14_900, 15)];
/// From 15 L on.
const US_LARGEST: u64 = 10;

/// By how much a single bottle may differ from what it is said to hold: above and below in the United States (27 CFR
/// 24.255(b)), below in the European Union (Directive 76/211/EEC, Annex I, the tolerable negative error; a percentage is
/// rounded up to a tenth of a millilitre, as it says there). Beyond [`DIRECTIVE_REACH`] its last and first steps go on as this
/// house's own.
#[must_use]
pub fn tolerance(nominal: Volume, rules: Rules) -> Volume {
    let nominal_ul = nominal.as_ul();
    let per_mille = |parts: u64| nominal_ul.saturating_mul(parts) / 1_000;
    let tenth_up = |parts: u64| nominal_ul.saturating_mul(parts).div_ceil(100_000).saturating_mul(100);
    let below = |ml: u64| nominal_ul < ml * 1_000;
    Volume::from_ul(match rules {
        Rules::Us => {
            let step = US_STEPS.iter().find(|(up_to_ml, _)| nominal_ul <= up_to_ml * 1_000);
            per_mille(step.map_or(US_LARGEST, |(_, parts)| *parts))
        }
        Rules::Eu if below(50) => tenth_up(90),
        Rules::Eu if below(100) => 4_500,
        Rules::Eu if below(200) => tenth_up(45),
        Rules::Eu if below(300) => 9_000,
        Rules::Eu if below(500) => tenth_up(30),
        Rules::Eu if below(1_000) => 15_000,
        Rules::Eu => tenth_up(15),
    })
}

/// Sizes in which wine is bottled, mL: 27 CFR 4.72 (from 4 L on whole litres besides; as a notice of 2025 names them, not read
/// there), and Directive 2007/45/EC for still wine from 100 mL to 1.5 L (unverified).
const US_SIZES_ML: [u64; 25] = [
    50, 100, 180, 187, 200, 250, 300, 330, 355, 360, 375, 473, 500, 550, 568, 600, 620, 700, 720, 750, 1_000, 1_500,
    1_800, 2_250, 3_000,
];
const EU_SIZES_ML: [u64; 8] = [100, 187, 250, 375, 500, 750, 1_000, 1_500];

/// What is said of a size that is not among those of the rules; nothing of one that is.
#[must_use]
pub fn odd_size(nominal: Volume, rules: Rules) -> Option<String> {
    let ul = nominal.as_ul();
    let is_among = |sizes: &[u64]| sizes.iter().any(|ml| ml * 1_000 == ul);
    let whole_litres = ul >= 4_000_000 && ul.is_multiple_of(1_000_000);
    let (is_odd, section) = match rules {
        Rules::Us => (!is_among(&US_SIZES_ML) && !whole_litres, "27 CFR 4.72"),
        Rules::Eu => {
            let in_range = (100_000..=1_500_000).contains(&ul);
            (in_range && !is_among(&EU_SIZES_ML), "Directive 2007/45/EC for still wine, unverified")
        }
    };
    is_odd.then(|| format!("{} is none of the sizes of {section}.", exact_millilitres(nominal)))
}

/// How measured bottles stand to what they are said to hold.
#[derive(Clone, Debug, PartialEq)]
pub struct FillCheck {
    /// By which rules.
    pub rules: Rules,
    /// What they are said to hold.
    pub nominal: Volume,
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
    /// How many hold less than said, however little.
    pub under: usize,
    /// How many hold more.
    pub over: usize,
    /// How many hold too little.
    pub too_little: usize,
    /// How many are beyond twice what is tolerated: those may not be sold under the European Union's mark.
    pub far_too_little: usize,
    /// How many hold too much, where rules say that.
    pub too_much: usize,
}

/// Fewer bottles on one side than would be there by chance once in so many lots are not "about as many" (our choice: the sign
/// test, one in twenty).
const ONE_SIDED: f64 = 0.05;

impl FillCheck {
    /// Whether the bottles are within this house's check at the line, which is stricter than either law: none beyond the
    /// tolerance (the batch test of the directive lets a few pass, see `batch`) and on average none short; in the United States
    /// about as many under as over besides, as far as so few can tell. It is no finding on a lot.
    #[must_use]
    pub fn is_within(&self) -> bool {
        !self.short && self.too_little == 0 && self.too_much == 0 && !self.is_one_sided()
    }

    /// Whether more lie on one side than chance would put there, where rules ask for both sides alike (27 CFR 24.255(b)).
    #[must_use]
    pub fn is_one_sided(&self) -> bool {
        self.rules == Rules::Us && by_chance(self.under.min(self.over), self.under + self.over) < ONE_SIDED
    }

    /// What it comes to, in a sentence.
    #[must_use]
    pub fn words(&self) -> String {
        let tolerance = exact_millilitres(self.tolerance);
        let side = if self.rules == Rules::Us { "off" } else { "short" };
        let mut faults = Vec::new();
        if self.short {
            faults.push("on average the bottles hold less than is stated".to_owned());
        }
        let beyond = self.too_little + self.too_much;
        if beyond > 0 {
            faults.push(format!("{beyond} of {} are more than {tolerance} {side}", self.measured));
        }
        if self.is_one_sided() {
            faults.push(format!(
                "{} are under and {} over, where about as many of each are wanted",
                self.under, self.over
            ));
        }
        let sides = match self.rules {
            Rules::Us => format!("; {} under, {} over", self.under, self.over),
            Rules::Eu => ", and on average they are not short".to_owned(),
        };
        let figure = self.figure();
        if faults.is_empty() {
            return format!("Within this house's check: none is more than {tolerance} {side} ({figure}){sides}.");
        }
        format!("Beyond this house's check: {} ({figure}). Stop and set the filler.", faults.join(", and "))
    }

    /// Where its figure for a single bottle stands.
    fn figure(&self) -> &'static str {
        match self.rules {
            Rules::Us => "27 CFR 24.255(b)",
            Rules::Eu if DIRECTIVE_REACH.contains(&self.nominal) => "Directive 76/211/EEC, Annex I",
            Rules::Eu => "this house's figure: Directive 76/211/EEC is for 5 mL to 10 L",
        }
    }

    /// What the law asks beyond a few bottles at the line.
    #[must_use]
    pub const fn beyond_it(&self) -> &'static str {
        match self.rules {
            Rules::Us => US_BEYOND,
            Rules::Eu => EU_BEYOND,
        }
    }
}

/// What the United States ask of a lot and of a year (27 CFR 24.255(b), (c) and (d), as of 2015; amended in 2025, not read).
const US_BEYOND: &str = "27 CFR 24.255 asks for about as many over as under in a lot, and by tax class for an average within 0.5 % over six tax \
     returns: a few bottles tell neither.";
/// What the European Union asks of a batch.
const EU_BEYOND: &str = "The batch test is that of Directive 76/211/EEC, Annex II: 30 bottles or more.";

/// With what chance so few or fewer of some bottles lie on the side where fewer are, either side, if each is as likely.
fn by_chance(fewer: usize, all: usize) -> f64 {
    // From one bottle to the next the number of ways grows by (n − k) / (k + 1); beyond some hundreds the first is nothing.
    let mut ways = 0.5_f64.powi(i32::try_from(all).unwrap_or(i32::MAX));
    if ways == 0.0 {
        return if fewer * 5 < all * 2 { 0.0 } else { 1.0 };
    }
    let mut sum = ways;
    for number in 0..fewer {
        ways *= (all - number) as f64 / (number + 1) as f64;
        sum += ways;
    }
    (2.0 * sum).min(1.0)
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
        nominal,
        measured,
        mean: Volume::from_ul(u64::try_from(sum / measured as u128).unwrap_or(u64::MAX)),
        deviation_ml: deviation_ml(fills),
        range: (least, most),
        tolerance,
        short: sum < u128::from(nominal.as_ul()) * measured as u128,
        under: fills.iter().filter(|&&fill| fill < nominal).count(),
        over: fills.iter().filter(|&&fill| fill > nominal).count(),
        too_little: below(tolerance),
        far_too_little: below(tolerance + tolerance),
        too_much: if rules == Rules::Us { too_much } else { 0 },
    })
}

/// The standard deviation of single bottles, mL; none of one.
pub(super) fn deviation_ml(fills: &[Volume]) -> Option<f64> {
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

    /// 27 CFR 24.255(b), each printed size and one beside it: 50 mL 9.0 %; 100 and 187 mL 4.5; 375 3.0; 750 2.0; 1 L to 14.9 L
    /// 1.5; 15 L and more 1.0.
    #[test]
    fn a_bottle_in_the_united_states_is_judged_by_its_size() {
        for (nominal, off_ul) in [
            (49, 4_410),
            (50, 4_500),
            (51, 2_295),
            (100, 4_500),
            (101, 4_545),
            (186, 8_370),
            (187, 8_415),
            (188, 5_640),
            (374, 11_220),
            (375, 11_250),
            (376, 7_520),
            (749, 14_980),
            (750, 15_000),
            (751, 11_265),
            (1_000, 15_000),
            (1_500, 22_500),
            (14_900, 223_500),
            (14_901, 149_010),
            (15_000, 150_000),
            (18_000, 180_000),
        ] {
            assert_eq!(tolerance(ml(nominal), Rules::Us).as_ul(), off_ul, "{nominal} mL");
        }
    }

    /// Directive 76/211/EEC, Annex I: 9 % below 50 mL, 4.5 mL, 4.5 % from 100, 9 mL from 200, 3 % from 300, 15 mL from 500, 1.5 %
    /// from 1 L on; percentages rounded up to a tenth of a millilitre.
    #[test]
    fn a_bottle_in_the_european_union_is_judged_by_its_size() {
        for (nominal, short_ul) in [
            (49, 4_500),
            (50, 4_500),
            (99, 4_500),
            (100, 4_500),
            (101, 4_600),
            (187, 8_500),
            (199, 9_000),
            (200, 9_000),
            (299, 9_000),
            (300, 9_000),
            (301, 9_100),
            (375, 11_300),
            (499, 15_000),
            (500, 15_000),
            (750, 15_000),
            (999, 15_000),
            (1_000, 15_000),
            (1_001, 15_100),
            (1_500, 22_500),
            (10_000, 150_000),
        ] {
            assert_eq!(tolerance(ml(nominal), Rules::Eu).as_ul(), short_ul, "{nominal} mL");
        }
    }

    /// 27 CFR 4.72 and Directive 2007/45/EC: 720 mL is a size in the United States alone, 3.5 L in neither, 2 L in the European
    /// Union, which leaves all above 1.5 L free.
    #[test]
    fn sizes_are_those_of_the_rules() {
        let odd = |size, rules| odd_size(ml(size), rules).is_some();
        assert!(
            US_SIZES_ML.iter().all(|&size| !odd(size, Rules::Us))
                && EU_SIZES_ML.iter().all(|&size| !odd(size, Rules::Eu))
        );
        assert_eq!(
            [720, 749, 3_500, 4_000, 4_500, 18_000].map(|size| odd(size, Rules::Us)),
            [false, true, true, false, true, false]
        );
        assert_eq!(
            [50, 99, 720, 749, 1_500, 2_000].map(|size| odd(size, Rules::Eu)),
            [false, false, true, true, false, false]
        );
        assert_eq!(
            odd_size(ml(720), Rules::Eu).unwrap(),
            "720 mL is none of the sizes of Directive 2007/45/EC for still wine, unverified."
        );
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
        assert!(good.is_within() && !good.short && good.mean == Volume::from_ul(750_333), "{good:?}");
        assert!((good.deviation_ml.unwrap() - 2.0817).abs() < 1e-4);
        let short = check(&[748, 751, 750], Rules::Eu);
        assert!(short.short && !short.is_within());
        assert!(!check(&[748, 751, 750], Rules::Us).is_within(), "short on average is never within");
        assert!(check(&[748, 751, 752], Rules::Us).is_within());
        let low = check(&[734, 780, 719], Rules::Eu);
        assert_eq!((low.too_little, low.far_too_little, low.too_much), (2, 1, 0));
        let us = check(&[734, 780, 735, 765], Rules::Us);
        assert_eq!((us.too_little, us.too_much, us.is_within()), (1, 1, false));
    }

    #[test]
    fn a_bottle_at_the_tolerance_is_within_it() {
        for rules in [Rules::Us, Rules::Eu] {
            let found = check_fills(&[ml(735), ml(765)], ml(750), rules).unwrap();
            assert!(found.is_within(), "{found:?}");
        }
    }

    /// 27 CFR 24.255(b): about as many over as under. Five of five on one side happen once in 16 by chance, six of six once in 32.
    #[test]
    fn bottles_on_one_side_are_said() {
        let of = |fills: &[u64]| {
            let fills: Vec<Volume> = fills.iter().map(|&fill| ml(fill)).collect();
            check_fills(&fills, ml(750), Rules::Us).unwrap()
        };
        let short = of(&[738; 10]);
        assert!(!short.is_within());
        assert_eq!(
            short.words(),
            "Beyond this house's check: on average the bottles hold less than is stated, and 10 are under and 0 over, where about as \
             many of each are wanted (27 CFR 24.255(b)). Stop and set the filler."
        );
        assert!(of(&[752; 5]).is_within() && !of(&[752; 6]).is_within());
        assert!((by_chance(0, 6) - 2.0 / 64.0).abs() < 1e-12 && (by_chance(1, 10) - 22.0 / 1024.0).abs() < 1e-12);
        assert!(by_chance(900, 2_000) > 0.0 && by_chance(0, 5_000) < ONE_SIDED, "many are told too");
    }

    #[test]
    fn nothing_is_said_to_hold_by_law() {
        for rules in [Rules::Us, Rules::Eu] {
            let found = check_fills(&[ml(749), ml(752)], ml(750), rules).unwrap();
            let told = format!("{} {}", found.words(), found.beyond_it());
            assert!(told.contains("house's check") && !told.contains("holds") && !told.contains("legal"), "{told}");
        }
        let large = check_fills(&[ml(12_000)], ml(12_000), Rules::Eu).unwrap().words();
        assert!(large.contains("this house's figure: Directive 76/211/EEC is for 5 mL to 10 L"), "{large}");
    }

    #[test]
    fn nothing_measured_is_said() {
        assert_eq!(check_fills(&[], ml(750), Rules::Eu), Err(NoFills::Nothing));
        assert_eq!(check_fills(&[ml(750)], Volume::ZERO, Rules::Eu), Err(NoFills::NoBottle));
    }

    proptest! {
        #[test]
        fn a_larger_bottle_is_tolerated_no_less_under_the_directive(one in 5_u64..10_000, other in 5_u64..10_000) {
            let (small, large) = (one.min(other), one.max(other));
            prop_assert!(tolerance(ml(small), Rules::Eu) <= tolerance(ml(large), Rules::Eu));
        }

        #[test]
        fn a_fill_within_the_check_has_no_bottle_below(fills in prop::collection::vec(700_u64..800, 1..20)) {
            let fills: Vec<Volume> = fills.into_iter().map(ml).collect();
            let found = check_fills(&fills, ml(750), Rules::Eu).unwrap();
            prop_assert!(!found.is_within() || (found.range.0 >= ml(735) && found.mean >= ml(750)));
            prop_assert!(found.range.0 <= found.mean && found.mean <= found.range.1);
        }
    }
}
