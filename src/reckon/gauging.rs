//! Gauging: what a lying barrel holds, from the depth of its headspace under the bung.
//!
//! The stave is taken as a parabola from head to bilge. At each point along the barrel the empty part is a segment of a
//! circle; the segments are summed along the stave. Sines and roots come from `libm`, so that every machine finds the
//! same microlitre.

use std::f64::consts::PI;

/// How many slices the barrel is cut into along its length: the sum is then right to about a millionth of the volume.
const SLICES: u32 = 400;

/// The inside of a lying barrel.
#[allow(clippy::struct_field_names)] // each says its unit
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LyingBarrel {
    bilge_radius_mm: f64,
    head_radius_mm: f64,
    length_mm: f64,
}

impl LyingBarrel {
    /// A barrel of the given inside diameters at bilge and head and inside length, mm. `None` unless all are above
    /// zero, finite, and the head no wider than the bilge.
    #[must_use]
    pub fn new(bilge_mm: f64, head_mm: f64, length_mm: f64) -> Option<LyingBarrel> {
        let sound = [bilge_mm, head_mm, length_mm].iter().all(|side| side.is_finite() && *side > 0.0);
        (sound && head_mm <= bilge_mm).then_some(LyingBarrel {
            bilge_radius_mm: bilge_mm / 2.0,
            head_radius_mm: head_mm / 2.0,
            length_mm,
        })
    }

    /// The reference barrel: inside 650 mm at the bilge, 540 mm at the head, 770 mm long; 228 L. Its shares serve every
    /// barrel whose own measures are not known, scaled by the barrel's capacity.
    #[must_use]
    pub const fn reference() -> LyingBarrel {
        LyingBarrel { bilge_radius_mm: 325.0, head_radius_mm: 270.0, length_mm: 770.0 }
    }

    /// Inside diameter at the bilge, mm.
    #[must_use]
    pub fn bilge_mm(&self) -> f64 {
        self.bilge_radius_mm * 2.0
    }

    /// The whole volume, litres: π h (3 r₁² + 4 r₁ r₂ + 8 r₂²) / 15 with end radius r₁ and middle radius r₂ (Weisstein,
    /// `MathWorld`, "Barrel").
    #[must_use]
    pub fn litres(&self) -> f64 {
        let (end, middle) = (self.head_radius_mm, self.bilge_radius_mm);
        PI * self.length_mm * (3.0 * end * end + 4.0 * end * middle + 8.0 * middle * middle) / 15.0 / 1e6
    }

    /// Litres missing when the wine stands `dip_mm` below the inside of the bilge under the bung. `None` for a dip that
    /// is no number, below zero or deeper than the barrel.
    #[must_use]
    pub fn missing_litres(&self, dip_mm: f64) -> Option<f64> {
        if !(0.0..=self.bilge_mm()).contains(&dip_mm) {
            return None;
        }
        let level = self.bilge_radius_mm - dip_mm;
        let step = self.length_mm / 2.0 / f64::from(SLICES);
        // Simpson's rule over one half of the barrel, from the bilge to a head.
        let sum: f64 = (0..=SLICES)
            .map(|slice| {
                let weight = match slice {
                    0 | SLICES => 1.0,
                    odd if odd % 2 == 1 => 4.0,
                    _ => 2.0,
                };
                weight * empty_segment(self.radius_at(f64::from(slice) / f64::from(SLICES)), level)
            })
            .sum();
        Some(2.0 * sum * step / 3.0 / 1e6)
    }

    /// The share of the barrel's volume that is missing at a dip, 0 to 1.
    #[must_use]
    pub fn missing_share(&self, dip_mm: f64) -> Option<f64> {
        self.missing_litres(dip_mm).map(|litres| (litres / self.litres()).clamp(0.0, 1.0))
    }

    /// Radius at a fraction of the way from bilge (0) to head (1).
    fn radius_at(&self, way: f64) -> f64 {
        self.bilge_radius_mm - (self.bilge_radius_mm - self.head_radius_mm) * way * way
    }
}

/// Area of a circle above a level measured from its centre, mm².
fn empty_segment(radius: f64, level: f64) -> f64 {
    let height = level.clamp(-radius, radius);
    radius * radius * libm::acos(height / radius) - height * libm::sqrt(radius * radius - height * height)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn within(value: f64, expected: f64, part: f64) -> bool {
        (value - expected).abs() <= expected.abs() * part
    }

    /// Parabolic volume of the reference barrel, computed from the closed formula: 228.15 L.
    #[test]
    fn the_reference_barrel_holds_228_litres() {
        assert!(within(LyingBarrel::reference().litres(), 228.15, 1e-4));
    }

    /// Litres missing at a headspace depth, integrated independently for the reference barrel.
    #[test]
    fn litres_missing_under_the_bung() {
        let barrel = LyingBarrel::reference();
        for (dip, litres) in [(5.0, 0.05), (10.0, 0.21), (20.0, 0.82), (30.0, 1.84), (50.0, 5.03), (100.0, 18.4)] {
            let missing = barrel.missing_litres(dip).unwrap();
            assert!((missing - litres).abs() < 0.006_f64.max(litres * 2e-3), "{dip} mm: {missing} L, not {litres} L");
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

    #[test]
    fn a_full_barrel_lacks_nothing_and_an_empty_one_all() {
        let barrel = LyingBarrel::reference();
        assert_eq!(barrel.missing_litres(0.0), Some(0.0));
        assert!(within(barrel.missing_litres(650.0).unwrap(), barrel.litres(), 1e-5));
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let barrel = LyingBarrel::reference();
        for dip in [-1.0, 651.0, f64::NAN, f64::INFINITY] {
            assert_eq!(barrel.missing_litres(dip), None);
        }
        assert_eq!(LyingBarrel::new(500.0, 600.0, 700.0), None);
        assert_eq!(LyingBarrel::new(f64::NAN, 600.0, 700.0), None);
    }
}
