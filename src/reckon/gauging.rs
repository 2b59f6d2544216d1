//! Gauging: what a lying barrel holds, from the depth of its headspace under the bung.
//!
//! Three steps, a file each: [`stave`] is the curve from head to bilge, [`lying`] the barrel on its side and the litres
//! that are missing at a dip, [`shape`] the barrels of the trade by name. A [`Gauge`] is a lying barrel with the
//! capacity that was measured: outside sizes alone give a barrel's volume to about 4 % only, so its own capacity scales
//! the table.
//!
//! **A barrel's table is its shape's, scaled to its capacity**: own sizes before the label's shape before the reference barrel. Inside
//! lengths in `assets/shapes.json` are reckoned from the litres, because coopers publish outside sizes only.

pub mod lying;
pub mod shape;
pub mod stave;

pub use lying::{LyingBarrel, Unsound};
pub use shape::{Shape, shapes};
pub use stave::Curve;

/// A lying barrel whose table is scaled by what it truly holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gauge {
    barrel: LyingBarrel,
    capacity_litres: f64,
}

impl Gauge {
    /// A barrel with a measured capacity, litres. `None` unless that is finite and above zero.
    #[must_use]
    pub fn new(barrel: LyingBarrel, capacity_litres: f64) -> Option<Gauge> {
        (capacity_litres.is_finite() && capacity_litres > 0.0).then_some(Gauge { barrel, capacity_litres })
    }

    /// The barrel whose shape the table has.
    #[must_use]
    pub const fn barrel(&self) -> &LyingBarrel {
        &self.barrel
    }

    /// What it holds when brimful, litres.
    #[must_use]
    pub const fn capacity_litres(&self) -> f64 {
        self.capacity_litres
    }

    /// Litres missing at a dip. `None` for a dip that is no number, below zero or deeper than the barrel.
    #[must_use]
    pub fn missing_litres(&self, dip_mm: f64) -> Option<f64> {
        self.barrel.missing_share(dip_mm).map(|share| share * self.capacity_litres)
    }

    /// The dip at which so many litres are missing, mm. `None` for what is no number, below zero or more than it holds.
    #[must_use]
    pub fn dip_mm(&self, missing_litres: f64) -> Option<f64> {
        self.barrel.dip_of_share(missing_litres / self.capacity_litres)
    }

    /// The dips that a table names, mm: every 5 to 100, every 10 to 300, then as widely apart as leaves at most thirty
    /// more, and the whole depth at last. Litres change fast by the millimetre near the bung, where a table is used.
    #[must_use]
    pub fn table_dips_mm(&self) -> Vec<f64> {
        let depth = self.barrel.bilge_mm();
        let step = [20_u32, 50, 100, 200].into_iter().find(|step| depth <= f64::from(300 + 31 * step)).unwrap_or(500);
        let close = (5..=100).step_by(5).chain((110..=300).step_by(10));
        let far = (1..).map(|count| 300 + count * step);
        close.chain(far).map(f64::from).take_while(|dip| *dip < depth).chain([depth]).collect()
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn the_measured_capacity_scales_the_table() {
        let barrel = LyingBarrel::reference();
        let gauge = Gauge::new(barrel, 225.0).unwrap();
        for dip in [0.0, 1.0, 30.0, 325.0, 600.0, 650.0] {
            let expected = barrel.missing_litres(dip).unwrap() * 225.0 / barrel.litres();
            assert!((gauge.missing_litres(dip).unwrap() - expected).abs() < 1e-9);
        }
        assert_eq!(gauge.missing_litres(650.0), Some(225.0));
    }

    #[test]
    fn a_capacity_that_cannot_be_is_refused() {
        for litres in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(Gauge::new(LyingBarrel::reference(), litres), None);
        }
    }

    #[test]
    fn a_table_is_close_near_the_bung_and_ends_with_the_whole_depth() {
        let dips = Gauge::new(LyingBarrel::reference(), 225.0).unwrap().table_dips_mm();
        assert_eq!(dips[..3], [5.0, 10.0, 15.0]);
        assert_eq!(dips[19..22], [100.0, 110.0, 120.0]);
        assert_eq!(dips[38..41], [290.0, 300.0, 320.0]);
        assert_eq!(dips[55..], [620.0, 640.0, 650.0]);
    }

    proptest! {
        #[test]
        fn a_table_climbs_and_fits_a_page(bilge in 10.0_f64..=10_000.0) {
            let barrel = LyingBarrel::new(bilge, bilge, bilge).unwrap();
            let dips = Gauge::new(barrel, 1.0).unwrap().table_dips_mm();
            prop_assert!(dips.windows(2).all(|pair| pair[0] < pair[1]) && dips.last() == Some(&bilge));
            prop_assert!(dips.len() <= 72, "{}", dips.len());
        }

        #[test]
        fn the_dip_of_what_a_dip_lacks_is_the_dip(dip in 0.0_f64..=650.0, capacity in 1.0_f64..1_000.0) {
            let gauge = Gauge::new(LyingBarrel::reference(), capacity).unwrap();
            let back = gauge.dip_mm(gauge.missing_litres(dip).unwrap()).unwrap();
            prop_assert!((back - dip).abs() < 1e-3, "{} back {}", dip, back);
        }

        #[test]
        fn no_number_gives_what_is_none(a in any::<f64>(), b in any::<f64>()) {
            if let Some(gauge) = Gauge::new(LyingBarrel::reference(), a) {
                prop_assert!(gauge.missing_litres(b).is_none_or(|litres| (0.0..=a).contains(&litres)));
                prop_assert!(gauge.dip_mm(b).is_none_or(|dip| (0.0..=650.0).contains(&dip)));
            }
        }
    }
}
