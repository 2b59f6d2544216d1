//! The lying barrel: litres missing at a dip under its bung, and the dip at which they are missing.
//!
//! At each point along the barrel the empty part is a segment of a circle; the segments are summed along the stave.
//! Sines and roots come from `libm`, so that every machine finds the same microlitre.

use thiserror::Error;

use super::stave::{Curve, Stave};

/// How many slices half the barrel is cut into along its length: from a dip of 1 mm on the sum is then right to a hundred
/// thousandth.
const SLICES: u32 = 400;

/// How often the dip is bracketed: half of the bilge's width 45 times over is below a millionth of a millimetre.
const HALVINGS: u32 = 45;

/// The smallest and largest side of a barrel, mm: from a keg for the table to the largest casks that lie.
pub const SIDES_MM: (f64, f64) = (10.0, 10_000.0);

/// Why sizes are no barrel.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum Unsound {
    /// A side is no number or out of range.
    #[error("A {side} of {mm} mm is out of range. Give the inside size in millimetres, from 10 to 10000.")]
    Side {
        /// Which side.
        side: &'static str,
        /// What was said.
        mm: f64,
    },
    /// The head is wider than the bilge.
    #[error(
        "A head of {head_mm} mm is wider than the bilge of {bilge_mm} mm. Measure again, or change the two if they are mixed up."
    )]
    HeadWiderThanBilge {
        /// The head.
        head_mm: f64,
        /// The bilge.
        bilge_mm: f64,
    },
    /// An arc that turns back under itself.
    #[error("No arc of a circle bulges that much over so short a length. Check the sizes, or take another curve.")]
    NoArc,
}

/// The inside of a lying barrel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LyingBarrel {
    stave: Stave,
}

impl LyingBarrel {
    /// A barrel of the given inside diameters at bilge and head and inside length, mm, its staves taken as parabolas.
    pub fn new(bilge_mm: f64, head_mm: f64, length_mm: f64) -> Result<LyingBarrel, Unsound> {
        Self::curved(Curve::default(), bilge_mm, head_mm, length_mm)
    }

    /// A barrel whose staves have a curve.
    pub fn curved(curve: Curve, bilge_mm: f64, head_mm: f64, length_mm: f64) -> Result<LyingBarrel, Unsound> {
        for (side, mm) in [("bilge", bilge_mm), ("head", head_mm), ("length", length_mm)] {
            if !(SIDES_MM.0..=SIDES_MM.1).contains(&mm) {
                return Err(Unsound::Side { side, mm });
            }
        }
        if head_mm > bilge_mm {
            return Err(Unsound::HeadWiderThanBilge { head_mm, bilge_mm });
        }
        let stave = Stave { curve, bilge: bilge_mm / 2.0, head: head_mm / 2.0, half_length: length_mm / 2.0 };
        if stave.is_sound() { Ok(LyingBarrel { stave }) } else { Err(Unsound::NoArc) }
    }

    /// The reference barrel: inside 650 mm at the bilge, 540 mm at the head, 770 mm long; 228 L. Its shares serve every
    /// barrel whose own measures are not known, scaled by the barrel's capacity.
    #[must_use]
    pub const fn reference() -> LyingBarrel {
        LyingBarrel { stave: Stave { curve: Curve::Parabola, bilge: 325.0, head: 270.0, half_length: 385.0 } }
    }

    /// The curve of its staves.
    #[must_use]
    pub const fn curve(&self) -> Curve {
        self.stave.curve
    }

    /// Inside diameter at the bilge, mm: the deepest dip.
    #[must_use]
    pub fn bilge_mm(&self) -> f64 {
        self.stave.bilge * 2.0
    }

    /// Inside diameter at a head, mm.
    #[must_use]
    pub fn head_mm(&self) -> f64 {
        self.stave.head * 2.0
    }

    /// Inside length, mm.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        self.stave.half_length * 2.0
    }

    /// The whole volume by its sizes, litres; see [`Stave::volume`] for the formulas and their source.
    #[must_use]
    pub fn litres(&self) -> f64 {
        self.stave.volume() / 1e6
    }

    /// Litres missing when the wine stands `dip_mm` below the inside of the bilge under the bung, by the barrel's sizes.
    /// `None` for a dip that is no number, below zero or deeper than the barrel.
    #[must_use]
    pub fn missing_litres(&self, dip_mm: f64) -> Option<f64> {
        (0.0..=self.bilge_mm()).contains(&dip_mm).then(|| self.empty_litres(dip_mm))
    }

    /// The share of the barrel's volume that is missing at a dip, 0 to 1.
    #[must_use]
    pub fn missing_share(&self, dip_mm: f64) -> Option<f64> {
        // The sum and the closed formula may differ in the last digits: an empty barrel lacks all of itself.
        if dip_mm >= self.bilge_mm() {
            return self.missing_litres(dip_mm).map(|_| 1.0);
        }
        self.missing_litres(dip_mm).map(|litres| (litres / self.litres()).clamp(0.0, 1.0))
    }

    /// The dip at which a share of the volume is missing, mm: the one between two dips that is halved until they meet.
    /// `None` for a share that is no number or not from 0 to 1.
    #[must_use]
    pub fn dip_of_share(&self, share: f64) -> Option<f64> {
        if !(0.0..=1.0).contains(&share) {
            return None;
        }
        if share <= 0.0 {
            return Some(0.0);
        }
        if share >= 1.0 {
            return Some(self.bilge_mm());
        }
        let wanted = share * self.litres();
        let (mut shallow, mut deep) = (0.0, self.bilge_mm());
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(shallow, deep);
            if self.empty_litres(middle) < wanted {
                shallow = middle;
            } else {
                deep = middle;
            }
        }
        Some(f64::midpoint(shallow, deep))
    }

    /// Simpson's rule over one half of the barrel, from the bilge to a head; the other half is the same.
    fn empty_litres(&self, dip_mm: f64) -> f64 {
        let level = self.stave.bilge - dip_mm;
        let step = self.stave.half_length / f64::from(SLICES);
        let sum: f64 = (0..=SLICES)
            .map(|slice| {
                let weight = match slice {
                    0 | SLICES => 1.0,
                    odd if odd % 2 == 1 => 4.0,
                    _ => 2.0,
                };
                weight * empty_segment(self.stave.radius_at(f64::from(slice) / f64::from(SLICES)), level)
            })
            .sum();
        2.0 * sum * step / 3.0 / 1e6
    }
}

/// Area of a circle above a level measured from its centre, mm².
fn empty_segment(radius: f64, level: f64) -> f64 {
    let height = level.clamp(-radius, radius);
    radius * radius * libm::acos(height / radius) - height * libm::sqrt(radius * radius - height * height)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const CURVES: [Curve; 3] = [Curve::Arc, Curve::Parabola, Curve::Ellipse];

    fn within(value: f64, expected: f64, part: f64) -> bool {
        (value - expected).abs() <= expected.abs() * part
    }

    /// Litres missing at a headspace depth, integrated independently for the reference barrel, to the printed digits.
    #[test]
    fn litres_missing_under_the_bung() {
        let barrel = LyingBarrel::reference();
        for (dip, litres, digit) in [
            (5.0, 0.05, 0.01),
            (10.0, 0.21, 0.01),
            (20.0, 0.82, 0.01),
            (30.0, 1.84, 0.01),
            (50.0, 5.03, 0.01),
            (100.0, 18.4, 0.1),
        ] {
            let missing = barrel.missing_litres(dip).unwrap();
            // Half of the last printed digit, and a thousandth.
            assert!((missing - litres).abs() <= digit / 2.0 + litres * 1e-3, "{dip} mm: {missing} L, not {litres} L");
        }
    }

    /// Litres at a wet depth, the same barrel.
    #[test]
    fn litres_at_a_wet_depth() {
        let barrel = LyingBarrel::reference();
        for (wet, litres) in [(600.0, 223.12), (500.0, 191.97), (325.0, 114.07), (150.0, 36.18), (50.0, 5.03)] {
            let held = barrel.litres() - barrel.missing_litres(650.0 - wet).unwrap();
            assert!(within(held, litres, 1e-3), "{wet} mm: {held} L, not {litres} L");
        }
    }

    /// The same sum with a hundred times the slices, by an independent program.
    #[test]
    fn finer_slices_say_the_same() {
        let barrel = LyingBarrel::reference();
        for (dip, litres) in [
            (0.5, 0.000_519_585_117_971_888_5),
            (1.0, 0.002_077_673_748_071_198_7),
            (5.0, 0.051_808_272_869_844_25),
            (30.0, 1.834_708_139_847_177_8),
            (55.0, 6.062_471_450_858_264),
            (100.0, 18.378_870_657_919_39),
            (640.0, 227.939_874_896_429_33),
        ] {
            assert!(within(barrel.missing_litres(dip).unwrap(), litres, 2e-5), "{dip} mm");
        }
    }

    /// The old ullage rule: with q the wet depth over the bung diameter, q + (q − ½)/4 of the capacity above the middle
    /// and q − (½ − q)/4 below; 17 and 15 of 32 inches are 64.040625 and 54.759375 of 118.80 gallons in an old book of
    /// gauging. It is good between a quarter and three quarters only, to about a hundredth of the capacity.
    #[test]
    fn the_old_rule_agrees_between_a_quarter_and_three_quarters() {
        let rule = |wet: f64| wet + (wet - 0.5) / 4.0;
        assert!((118.80 * rule(17.0 / 32.0) - 64.040_625).abs() < 1e-9);
        assert!((118.80 * rule(15.0 / 32.0) - 54.759_375).abs() < 1e-9);
        let barrel = LyingBarrel::reference();
        for wet in (25..=75).map(|percent| f64::from(percent) / 100.0) {
            let held = 1.0 - barrel.missing_share(650.0 * (1.0 - wet)).unwrap();
            assert!((held - rule(wet)).abs() < 0.015, "{wet}: {held}, by the rule {}", rule(wet));
        }
        assert!(rule(0.95) > 1.0, "near full the rule gives more than the barrel");
    }

    #[test]
    fn a_full_barrel_lacks_nothing_and_an_empty_one_all() {
        let barrel = LyingBarrel::reference();
        assert_eq!(barrel.missing_share(0.0), Some(0.0));
        assert_eq!(barrel.missing_share(650.0), Some(1.0));
        assert!(within(barrel.missing_litres(650.0).unwrap(), barrel.litres(), 1e-9));
        assert_eq!((barrel.dip_of_share(0.0), barrel.dip_of_share(1.0)), (Some(0.0), Some(650.0)));
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let barrel = LyingBarrel::reference();
        for dip in [-1.0, 650.1, f64::NAN, f64::INFINITY] {
            assert_eq!((barrel.missing_litres(dip), barrel.missing_share(dip)), (None, None));
        }
        for share in [-0.1, 1.1, f64::NAN] {
            assert_eq!(barrel.dip_of_share(share), None);
        }
        let told = |unsound: Result<LyingBarrel, Unsound>| unsound.unwrap_err().to_string();
        assert!(told(LyingBarrel::new(500.0, 600.0, 700.0)).starts_with("A head of 600 mm is wider"));
        assert!(told(LyingBarrel::new(f64::NAN, 600.0, 700.0)).starts_with("A bilge of NaN mm is out of range"));
        assert!(told(LyingBarrel::new(65.0, 54.0, 7.7)).starts_with("A length of 7.7 mm is out of range"));
        assert!(told(LyingBarrel::curved(Curve::Arc, 600.0, 100.0, 400.0)).starts_with("No arc"));
    }

    /// Barrels of any curve, none wider or longer than a number of millimetres. The bulge of a stave is at most half its
    /// length, so that an arc can follow it, less a thousandth for what rounding adds.
    fn barrels_up_to(most_mm: f64) -> impl Strategy<Value = LyingBarrel> {
        let curve = prop::sample::select(CURVES.to_vec());
        (curve, SIDES_MM.0..=most_mm, 0.0_f64..=1.0, SIDES_MM.0..=most_mm).prop_map(|(curve, bilge, part, length)| {
            let least = (bilge - 0.999 * length).max(SIDES_MM.0);
            LyingBarrel::curved(curve, bilge, least + part * (bilge - least), length).unwrap()
        })
    }

    fn barrels() -> impl Strategy<Value = LyingBarrel> {
        barrels_up_to(SIDES_MM.1)
    }

    proptest! {
        #[test]
        fn a_deeper_dip_never_lacks_less(barrel in barrels(), a in 0.0_f64..=1.0, b in 0.0_f64..=1.0) {
            let share = |part: f64| barrel.missing_share(part * barrel.bilge_mm()).unwrap();
            let (shallow, deep) = (share(a.min(b)), share(a.max(b)));
            // The last digits of an arc cosine may waver.
            prop_assert!(shallow <= deep + 1e-12 && (0.0..=1.0).contains(&shallow) && deep <= 1.0);
        }

        /// What lacks above the middle is held below it.
        #[test]
        fn upside_down_it_is_the_same(barrel in barrels(), part in 0.0_f64..=1.0) {
            let share = |part: f64| barrel.missing_share(part * barrel.bilge_mm()).unwrap();
            prop_assert!((share(part) + share(1.0 - part) - 1.0).abs() < 1e-4);
        }

        #[test]
        fn the_dip_of_a_share_has_that_share(barrel in barrels(), share in 0.0_f64..=1.0) {
            let dip = barrel.dip_of_share(share).unwrap();
            prop_assert!((0.0..=barrel.bilge_mm()).contains(&dip));
            prop_assert!((barrel.missing_share(dip).unwrap() - share).abs() < 1e-6);
        }

        /// A barrel twice as large in each direction lacks eight times as much at twice the dip.
        #[test]
        fn it_grows_as_a_body_grows(barrel in barrels_up_to(SIDES_MM.1 / 2.0), part in 0.0_f64..=1.0) {
            let twice = |mm: f64| mm * 2.0;
            let larger = LyingBarrel::curved(
                barrel.curve(), twice(barrel.bilge_mm()), twice(barrel.head_mm()), twice(barrel.length_mm()),
            );
            let larger = larger.unwrap();
            let dip = part * barrel.bilge_mm();
            let (one, eight) = (barrel.missing_litres(dip).unwrap(), larger.missing_litres(twice(dip)).unwrap());
            prop_assert!((eight - 8.0 * one).abs() <= 1e-9 * eight + 1e-12);
        }

        #[test]
        fn no_number_makes_what_is_none(bilge in any::<f64>(), head in any::<f64>(), length in any::<f64>(), dip in any::<f64>()) {
            for curve in CURVES {
                if let Ok(barrel) = LyingBarrel::curved(curve, bilge, head, length) {
                    prop_assert!(barrel.litres().is_finite() && barrel.litres() > 0.0);
                    prop_assert!(barrel.missing_share(dip).is_none_or(|share| (0.0..=1.0).contains(&share)));
                }
            }
            prop_assert!(LyingBarrel::reference().missing_share(dip).is_none_or(|share| (0.0..=1.0).contains(&share)));
        }
    }
}
