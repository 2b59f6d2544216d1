//! The stave: how a barrel's radius falls from the bilge to a head.

use std::f64::consts::PI;

use serde::Serialize;

/// The curve of a stave, seen from the side. Between the same bilge and head the three differ by half a hundredth of the
/// volume: more than a topping's litre, so a measured capacity goes before any of them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Curve {
    /// An arc of a circle: what a bent stave of even thickness comes to.
    Arc,
    /// A parabola whose top is at the bilge (Hutton's "middle frustum of a parabolic spindle").
    #[default]
    Parabola,
    /// Half an ellipse whose axis is the barrel's (Hutton's "middle frustum of a spheroid"). It holds most.
    Ellipse,
}

/// A stave this flat, bulge over half length, is taken as a parabola where it is an arc: the arc's formula is then a
/// small difference of large numbers, and the two curves agree to a millionth.
const FLAT: f64 = 1e-3;

/// A stave of some curve: radius at the bilge and at the heads, and half the length between the heads, all in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stave {
    /// The curve.
    pub curve: Curve,
    /// Inside radius at the bilge.
    pub bilge: f64,
    /// Inside radius at a head, at most that at the bilge.
    pub head: f64,
    /// Half the inside length.
    pub half_length: f64,
}

impl Stave {
    /// Whether there is such a stave: an arc that bulges by more than half its length would turn back under itself.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.head <= self.bilge && (self.curve != Curve::Arc || self.bulge() <= self.half_length)
    }

    /// Inside radius at a part of the way from bilge (0) to head (1), mm.
    #[must_use]
    pub fn radius_at(&self, way: f64) -> f64 {
        match self.curve {
            Curve::Parabola => self.bilge - self.bulge() * way * way,
            Curve::Ellipse => {
                let (bilge, head) = (self.bilge * self.bilge, self.head * self.head);
                libm::sqrt(bilge - (bilge - head) * way * way)
            }
            Curve::Arc => {
                let along = self.half_length * way;
                let radius = self.arc_radius();
                // ρ − √(ρ² − x²), written so that a nearly straight stave loses no digits.
                let fall = if radius.is_finite() { along * along / (radius + root(radius, along)) } else { 0.0 };
                self.bilge - fall
            }
        }
    }

    /// The volume between the heads, mm³.
    ///
    /// With length h, end radius r₁ and middle radius r₂: ellipse π h (r₁² + 2 r₂²)/3, parabola
    /// π h (3 r₁² + 4 r₁ r₂ + 8 r₂²)/15 (Weisstein, `MathWorld`, "Barrel"). Arc, with s = r₂ − r₁, H = h/2,
    /// ρ = (H² + s²)/2s and c = ρ − r₂: 2π [ρ²H − H³/3 + c²H − c (H √(ρ² − H²) + ρ² asin(H/ρ))], which is the integral of
    /// π r² for r = √(ρ² − x²) − c.
    #[must_use]
    pub fn volume(&self) -> f64 {
        let (end, middle, length) = (self.head, self.bilge, 2.0 * self.half_length);
        match self.curve {
            Curve::Ellipse => PI * length * (end * end + 2.0 * middle * middle) / 3.0,
            Curve::Arc if self.bulge() > FLAT * self.half_length => self.arc_volume(),
            Curve::Arc | Curve::Parabola => {
                PI * length * (3.0 * end * end + 4.0 * end * middle + 8.0 * middle * middle) / 15.0
            }
        }
    }

    fn arc_volume(&self) -> f64 {
        let (half, radius) = (self.half_length, self.arc_radius());
        let centre = radius - self.bilge;
        let sector = half * root(radius, half) + radius * radius * libm::asin((half / radius).min(1.0));
        2.0 * PI * (radius * radius * half - half * half * half / 3.0 + centre * centre * half - centre * sector)
    }

    /// How far the stave bulges, mm.
    fn bulge(&self) -> f64 {
        self.bilge - self.head
    }

    /// The radius of the circle that an arc is part of, mm: from its chord and its height; endless where it is straight.
    fn arc_radius(&self) -> f64 {
        (self.half_length * self.half_length + self.bulge() * self.bulge()) / (2.0 * self.bulge())
    }
}

/// √(ρ² − x²), and nothing where rounding has put x beyond ρ.
fn root(radius: f64, along: f64) -> f64 {
    libm::sqrt(((radius - along) * (radius + along)).max(0.0))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const CURVES: [Curve; 3] = [Curve::Arc, Curve::Parabola, Curve::Ellipse];
    /// Cubic inches in the US wine gallon (NIST SP 811, Appendix B).
    const WINE_GALLON: f64 = 231.0;
    /// Cubic inches in the imperial gallon as Hutton's cask table takes it.
    const IMPERIAL_GALLON: f64 = 277.274;

    fn stave(curve: Curve, bilge: f64, head: f64, length: f64) -> Stave {
        Stave { curve, bilge: bilge / 2.0, head: head / 2.0, half_length: length / 2.0 }
    }

    /// Charles Hutton's worked examples: length 20, bung 16, head 12 inches, in wine gallons.
    #[test]
    fn huttons_casks() {
        for (curve, gallons) in [(Curve::Ellipse, 14.869), (Curve::Parabola, 14.724)] {
            let found = stave(curve, 16.0, 12.0, 20.0).volume() / WINE_GALLON;
            assert!((found - gallons).abs() < 0.0005, "{curve:?}: {found}, not {gallons}");
        }
    }

    /// Hutton's cask table for bung diameter and length 1 inch, by head over bung, in imperial gallons: spheroid and
    /// parabolic spindle. His other two varieties, the frusta of a paraboloid and of a cone, have an edge at the bung,
    /// which no bent stave has; they lie below ours.
    #[test]
    fn huttons_table() {
        for (head, spheroid, spindle, paraboloid, cones) in [
            (0.8, 0.002_492_7, 0.002_477_6, 0.002_322_7, 0.002_303_8),
            (0.9, 0.002_653_2, 0.002_649_4, 0.002_563_5, 0.002_558_8),
        ] {
            let found = |curve| stave(curve, 1.0, head, 1.0).volume() / IMPERIAL_GALLON;
            assert!((found(Curve::Ellipse) - spheroid).abs() < 0.000_000_05, "{}", found(Curve::Ellipse));
            assert!((found(Curve::Parabola) - spindle).abs() < 0.000_000_05, "{}", found(Curve::Parabola));
            assert!(spindle < found(Curve::Arc) && found(Curve::Arc) < spheroid);
            assert!(cones < paraboloid && paraboloid < found(Curve::Parabola));
        }
    }

    /// The reference barrel, 650, 540, 770 mm, by each closed formula.
    #[test]
    fn the_reference_barrel_by_three_curves() {
        for (curve, litres) in [(Curve::Parabola, 228.15), (Curve::Ellipse, 229.12), (Curve::Arc, 228.36)] {
            let found = stave(curve, 650.0, 540.0, 770.0).volume() / 1e6;
            assert!((found - litres).abs() < 0.005, "{curve:?}: {found}, not {litres}");
        }
    }

    /// A ball is an arc with no head that bulges by half its length, and an ellipse with none: 4/3 π r³.
    #[test]
    fn a_ball_is_a_ball() {
        for curve in [Curve::Arc, Curve::Ellipse] {
            let found = stave(curve, 2.0, 0.0, 2.0).volume();
            assert!((found - 4.0 / 3.0 * PI).abs() < 1e-12, "{curve:?}: {found}");
        }
    }

    #[test]
    fn an_arc_that_turns_back_is_no_stave() {
        assert!(!stave(Curve::Arc, 600.0, 100.0, 400.0).is_sound());
        assert!(stave(Curve::Parabola, 600.0, 100.0, 400.0).is_sound());
        assert!(!stave(Curve::Parabola, 600.0, 601.0, 400.0).is_sound());
    }

    proptest! {
        /// Each closed formula is the integral of the circles along its curve. Shapes are those of a barrel: for a hoop or a
        /// pipe the closed form of the arc is a small difference of large numbers.
        #[test]
        fn the_formula_is_the_integral(bilge in 100.0_f64..2_000.0, head in 0.5_f64..0.98, length in 0.5_f64..4.0) {
            const SLICES: u32 = 2_000;
            for curve in CURVES {
                let stave = stave(curve, bilge, bilge * head, bilge * length);
                if !stave.is_sound() {
                    continue;
                }
                let step = 2.0 * stave.half_length / f64::from(SLICES);
                let sum: f64 = (0..SLICES)
                    .map(|slice| stave.radius_at((f64::from(slice) + 0.5) / f64::from(SLICES)))
                    .map(|radius| PI * radius * radius * step)
                    .sum();
                prop_assert!((sum - stave.volume()).abs() <= 1e-5 * sum, "{:?}: {} and {}", curve, sum, stave.volume());
            }
        }

        /// The radius falls from the bilge to the head and meets both.
        #[test]
        fn the_radius_falls(bilge in 10.0_f64..5_000.0, head in 0.01_f64..=1.0, length in 10.0_f64..5_000.0) {
            for curve in CURVES {
                let stave = stave(curve, bilge, bilge * head, length);
                if !stave.is_sound() {
                    continue;
                }
                let radii: Vec<f64> = (0..=50).map(|way| stave.radius_at(f64::from(way) / 50.0)).collect();
                prop_assert!((radii[0] - stave.bilge).abs() < 1e-9 && (radii[50] - stave.head).abs() < 1e-6);
                prop_assert!(radii.windows(2).all(|pair| pair[1] <= pair[0] + 1e-9), "{:?}", curve);
            }
        }
    }
}
